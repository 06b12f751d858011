"""Line drawings of the documents, as SVG text: where to stand, and what the words mean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

INK, BLUE, RED = "#14181c", "#0072b2", "#b04000"
STRAKE, PLANK, CLAMP = "#d9b37c", "#c98d6a", "#7d858c"
FONT = 'font-family="sans-serif"'
Point = tuple[float, float]

THICKNESS_MM, LAP_MM, BEVEL_RAD, SHORT_MM = 12.7, 25.4, math.radians(6.0), 3.0
SCALE, LAP_AT = 5.5, (330.0, 360.0)


def _svg(width: int, height: int, parts: Sequence[str]) -> str:
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" {FONT}>'
    return "\n".join([head, f'<rect width="{width}" height="{height}" fill="#ffffff"/>', *parts, "</svg>"]) + "\n"


def _text(
    at: Point, words: str, *, size: int = 17, colour: str = INK, anchor: str = "start", bold: bool = False
) -> str:
    weight = ' font-weight="bold"' if bold else ""
    lines = "".join(
        f'<tspan x="{at[0]:.0f}" dy="{0 if k == 0 else size * 1.25:.0f}">{escape(line)}</tspan>'
        for k, line in enumerate(words.split("\n"))
    )
    place = f'x="{at[0]:.0f}" y="{at[1]:.0f}"'
    return f'<text {place} font-size="{size}" fill="{colour}" text-anchor="{anchor}"{weight}>{lines}</text>'


def _shape(points: Sequence[Point], fill: str, stroke: str = INK) -> str:
    listed = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polygon points="{listed}" fill="{fill}" stroke="{stroke}" stroke-width="1.5"/>'


def _line(a: Point, b: Point, colour: str = INK, width: float = 2.0, dash: str = "") -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    ends = f'x1="{a[0]:.1f}" y1="{a[1]:.1f}" x2="{b[0]:.1f}" y2="{b[1]:.1f}"'
    return f'<line {ends} stroke="{colour}" stroke-width="{width}"{dashed}/>'


def _dot(at: Point, colour: str = INK) -> str:
    return f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="5" fill="{colour}" stroke="#ffffff" stroke-width="1.5"/>'


def _at(y_mm: float, z_mm: float) -> Point:
    """A place in the section: y toward the sheer is up, z out of the face is to the right."""
    return LAP_AT[0] + SCALE * z_mm, LAP_AT[1] - SCALE * y_mm


def _camera(aim: Point, elevation_deg: float, reach: float, colour: str) -> tuple[Point, str]:
    """A camera ``reach`` away from ``aim``, and the picture of it."""
    angle = -math.degrees(math.radians(elevation_deg))
    x = aim[0] + reach * math.cos(math.radians(elevation_deg))
    y = aim[1] - reach * math.sin(math.radians(elevation_deg))
    body = (
        f'<g transform="translate({x:.1f},{y:.1f}) rotate({angle:.1f})"><rect x="0" y="-20" width="16" height="40" '
        f'rx="4" fill="{colour}"/><circle cx="-3" cy="0" r="7" fill="{colour}" stroke="#ffffff" stroke-width="2"/></g>'
    )
    return (x, y), body


def stand() -> str:
    """A lap cut across, and the three places to photograph it from."""
    sin, cos = math.sin(BEVEL_RAD), math.cos(BEVEL_RAD)
    on_bevel = lambda q, rise: (q * cos + rise * sin, -q * sin + rise * cos)  # noqa: E731
    top = on_bevel(LAP_MM, 0.0)
    strake = [(-36.0, -THICKNESS_MM), (-36.0, 0.0), (0.0, 0.0), top, (top[0], -THICKNESS_MM)]
    plank = [on_bevel(q, rise) for q, rise in ((SHORT_MM, 0), (SHORT_MM, THICKNESS_MM), (56, THICKNESS_MM), (56, 0))]
    inner, outer = _at(*plank[0]), _at(*plank[1])
    lap_line, witness = _at(0.0, 0.0), _at(-20.0, 0.0)
    # From 40° above, the sight line that grazes the outer corner meets the strake below the lap line.
    meets = _at(plank[1][0] - plank[1][1] * math.tan(math.radians(40.0)), 0.0)
    low, low_drawn = _camera(lap_line, -10.0, 420.0, BLUE)
    high, high_drawn = _camera(meets, 40.0, 420.0, RED)
    under, under_drawn = _camera(inner, -65.0, 225.0, BLUE)
    parts = [
        _shape([_at(*p) for p in strake], STRAKE),
        _shape([_at(*p) for p in plank], PLANK),
        _line(low, lap_line, BLUE, 2, "9 6"),
        _line(high, meets, RED, 2, "9 6"),
        _line(under, inner, BLUE, 2, "9 6"),
        _line(under, outer, BLUE, 1.2, "4 5"),
        _line(inner, meets, RED, 7),
        *(low_drawn, high_drawn, under_drawn),
        *(_dot(lap_line), _dot(inner), _dot(outer), _dot(witness)),
        _text((250, 120), "plank", size=19, anchor="end", bold=True),
        _text((245, 500), "strake\nbelow", size=19, anchor="end", bold=True),
        _text((outer[0] + 14, outer[1] - 10), "outer corner"),
        _text((190, inner[1] - 6), "inner corner", anchor="end"),
        _line((194, inner[1] - 10), inner, INK, 1),
        _text((190, lap_line[1] + 22), "lap line", anchor="end"),
        _line((194, lap_line[1] + 16), lap_line, INK, 1),
        _text((190, witness[1] + 8), "witness line", anchor="end"),
        _line((194, witness[1] + 2), witness, INK, 1),
        _text(
            (high[0] + 26, high[1] - 4),
            "From above: the outer corner\nhides the strip in red,\nand the line with it.",
            colour=RED,
        ),
        _text(
            (low[0] + 30, low[1] - 12),
            "Square-on, or a little\non the keel's side:\nedge and line both show.",
            colour=BLUE,
        ),
        _text(
            (under[0] + 34, under[1] - 12),
            "Edge-on, looking up along the face:\nan open lap shows as a dark slit.",
            colour=BLUE,
        ),
        _text((60, 40), "sheer ↑", size=16),
        _text((60, 590), "keel ↓", size=16),
    ]
    return _svg(980, 620, parts)


def _panel(left: float, top: float, title: str, words: str, inside: Sequence[str]) -> list[str]:
    frame = f'<rect x="{left}" y="{top}" width="230" height="236" fill="#ffffff" stroke="#c8ccd0"/>'
    title_at, words_at = (left + 12, top + 26), (left + 12, top + 186)
    return [frame, *inside, _text(title_at, title, size=20, bold=True), _text(words_at, words, size=15)]


def _face(left: float, top: float, edge: float, line: float | None = None, *, line_dash: str = "") -> list[str]:
    """A lap seen square-on: plank over strake, the edge and the line, if any, at these heights of the picture."""
    x, y = left + 12, top + 40
    return [
        f'<rect x="{x}" y="{y}" width="206" height="122" fill="{STRAKE}"/>',
        f'<rect x="{x}" y="{y}" width="206" height="{edge}" fill="{PLANK}"/>',
        _line((x, y + edge), (x + 206, y + edge), INK, 2.5),
        *([] if line is None else [_line((x, y + line), (x + 206, y + line), INK, 2, line_dash)]),
    ]


def _span(left: float, top: float, a: float, b: float, colour: str) -> str:
    x, y = left + 60, top + 40
    return _line((x, y + a), (x, y + b), colour, 7)


def _unsure(left: float, top: float) -> list[str]:
    """The doubt of a value lying across the limit."""
    x, y = left + 12, top + 40
    inside = [
        _line((x + 10, y + at), (x + 196, y + at), INK, width, dash)
        for at, width, dash in ((61, 2, ""), (26, 1.5, "6 5"), (96, 1.5, "6 5"))
    ]
    inside += [_text((x + 110, y + 55), "line", size=14), _text((x + 110, y + 20), "limit", size=14)]
    return [*inside, _line((x + 60, y + 4), (x + 60, y + 56), BLUE, 9), _dot((x + 60, y + 30), BLUE)]


def _clamped(left: float, top: float) -> list[str]:
    x, y = left + 12, top + 40
    return [
        *_face(left, top, 55, 80),
        f'<rect x="{x + 82}" y="{y + 12}" width="46" height="96" rx="5" fill="{CLAMP}"/>',
    ]


def _two_lines(left: float, top: float) -> list[str]:
    x, y = left + 12, top + 40
    return [
        *_face(left, top, 50, 72),
        _line((x, y + 90), (x + 206, y + 86), INK, 2),
        _text((x + 150, y + 115), "?", size=24, bold=True),
    ]


def words() -> str:
    """What is said of a place along the lap."""
    grid = [(12 + 242 * (k % 4), 12 + 248 * (k // 4)) for k in range(8)]
    key_at = grid[7]
    parts = [
        *_panel(
            *grid[0],
            "past",
            "The edge has run beyond\nthe line: wood to come off.",
            [*_face(*grid[0], 80, 52, line_dash="7 6"), _span(*grid[0], 52, 80, RED)],
        ),
        *_panel(
            *grid[1],
            "short",
            "The edge has not reached\nthe line.",
            [*_face(*grid[1], 48, 84), _span(*grid[1], 48, 84, BLUE)],
        ),
        *_panel(*grid[2], "on", "Surely within the limit of\nthe line, either way.", _face(*grid[2], 60, 64)),
        *_panel(*grid[3], "unsure", "The doubt reaches across\nthe limit: look again.", _unsure(*grid[3])),
        *_panel(
            *grid[4],
            "hidden",
            "No line in sight: behind the\nedge, under it, or not drawn.",
            _face(*grid[4], 66),
        ),
        *_panel(*grid[5], "covered", "A clamp or another thing\nis in the way.", _clamped(*grid[5])),
        *_panel(*grid[6], "ambiguous", "Edge or line could be more\nthan one thing.", _two_lines(*grid[6])),
        f'<rect x="{key_at[0] + 14}" y="{key_at[1] + 20}" width="34" height="22" fill="{PLANK}"/>',
        _text((key_at[0] + 60, key_at[1] + 37), "plank"),
        f'<rect x="{key_at[0] + 14}" y="{key_at[1] + 56}" width="34" height="22" fill="{STRAKE}"/>',
        _text((key_at[0] + 60, key_at[1] + 73), "strake below"),
        _line((key_at[0] + 14, key_at[1] + 102), (key_at[0] + 48, key_at[1] + 102), INK, 2),
        _text((key_at[0] + 60, key_at[1] + 108), "line in sight"),
        _line((key_at[0] + 14, key_at[1] + 136), (key_at[0] + 48, key_at[1] + 136), INK, 2, "7 6"),
        _text((key_at[0] + 60, key_at[1] + 142), "line under the plank"),
    ]
    return _svg(980, 508, parts)


def bevel() -> str:
    """A lap open at the plank's edge, cut across: the wedge that comes off the strake below, and the lap after it."""
    parts = []
    for number, (open_px, title) in enumerate(((16.0, "open at the edge: the bevel is too flat"), (0.0, "bevelled"))):
        left, face = 40.0 + 600.0 * number, 190.0
        line, upper, thick = left + 90.0, left + 250.0, 52.0
        lean = math.atan2(16.0, upper - line)
        along, out = (math.cos(lean), math.sin(lean)), (math.sin(lean), -math.cos(lean))
        # Bevelled, the strake's lap runs along the plank's lean.
        lap = [(line, face), (upper, face)] if open_px else [(line, face), (upper, face + 16.0)]
        parts.append(_shape([(left, face), *lap, (upper, face + 70.0), (left, face + 70.0)], STRAKE))
        foot = (line, face - open_px)
        far = (foot[0] + 340.0 * along[0], foot[1] + 340.0 * along[1])
        raised = [(x + thick * out[0], y + thick * out[1]) for x, y in (far, foot)]
        parts.append(_shape([foot, far, *raised], PLANK))
        if open_px:
            parts.append(_shape([(line, face), (upper, face), (upper, face + 16.0)], "#ffffff", RED))
            words = "comes off the strake below:\nthe told depth at its upper edge,\nnothing at the lap line"
            parts.append(_text((upper + 52, face + 56), words, colour=RED, size=15))
            parts.append(_line((upper + 46, face + 50), (upper - 20, face + 8), RED, 1.5))
            parts.append(_text((line - 8, face - 4), "open", anchor="end", bold=True, colour=RED))
        parts.append(_text((left, 40), title, bold=True, size=19))
        parts.append(_text((line + 90, face - 36 + 12 * number), "plank"))
        parts.append(_text((left + 10, face + 44), "strake below"))
        parts.append(_text((line, face + 92), "lap line", anchor="middle", size=15))
        parts.append(_text((upper, face + 92), "upper edge", anchor="middle", size=15))
    return _svg(1080, 300, parts)


DRAWINGS = {"stand.svg": stand, "words.svg": words, "bevel.svg": bevel}
