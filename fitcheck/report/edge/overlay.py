"""The photograph with the answer drawn on it: edge, line, reference, and where to plane; below it the lap magnified."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.contract.measurement import Measurement
from fitcheck.report.drawing.canvas import Letters, draw_line, draw_ribbon, folded, legend_bar, letter_size, text_size
from fitcheck.report.drawing.found import draw_found, found_words
from fitcheck.report.drawing.level import levelled
from fitcheck.report.drawing.palette import BLACK, EDGE, GREY, LINE, LOOKS, REFERENCE, WHITE
from fitcheck.report.edge.answer import title, verdict_words
from fitcheck.report.edge.detail import can_be_straightened, detail_band
from fitcheck.report.edge.marked import Marked, marked, run_words
from fitcheck.report.edge.wording import Wording

LONGEST_SIDE_PX = 2400
#: Only these stretches are named beside their ribbon; the legend names the others.
NAMED_RUNS = ("plane", "short")


def overlay(
    pixels: np.ndarray,
    measurement: Measurement,
    *,
    photo_index: int = 0,
    units: str | None = None,
    fraction: int | None = None,
) -> np.ndarray:
    """The marked picture, (H', W', 3) uint8 BGR, at most :data:`LONGEST_SIDE_PX` wide or high in its photograph.

    ``pixels`` is the photograph upright, (H, W, 3) uint8 BGR, the one ``photo_index`` names among the measurement's.
    From the top: the verdict, the photograph with edge (solid), line (dashed), reference and a ribbon that says what
    each stretch asks for, the lap straightened and magnified, and a legend. What was found and not chosen is lettered:
    card, edges and lines of a refused photograph, which also shows its reasons, and those of ambiguous stretches. A
    lap that runs up and down is turned to lie level.

    >>> blank = np.full((300, 400, 3), 90, np.uint8)
    >>> overlay(blank, Measurement("refused", {})).shape[1]
    400
    """
    wording = Wording.of(measurement, units=units, fraction=fraction)
    pixels, measurement = levelled(pixels, measurement, photo_index)
    mark = marked(measurement, photo_index)
    scale = min(1.0, LONGEST_SIDE_PX / max(pixels.shape[:2]))
    small = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    photo = np.ascontiguousarray(small[..., ::-1])
    width = photo.shape[1]
    unit, size = width / LONGEST_SIDE_PX, letter_size(width)
    parts = [_header(measurement, photo_index, width, size), _photo(photo, mark, wording, scale, unit, size)]
    if can_be_straightened(mark):
        parts += [detail_band(pixels[..., ::-1], mark, wording, width, unit, size)]
    if mark.samples or mark.candidates:
        parts += [_legend(mark, width, size)]
    return np.ascontiguousarray(np.concatenate(parts)[..., ::-1])


def _header(measurement: Measurement, photo_index: int, width: int, size: int) -> np.ndarray:
    headline = verdict_words(measurement.planing)[0] if measurement else "NOT MEASURED"
    name = str(measurement.photos[photo_index].get("name", "")) if photo_index < len(measurement.photos) else ""
    said = [f"{headline}: {title(measurement)}", *([name] if name and name != title(measurement) else [])]
    said += [reason.text for reason in measurement.reasons]
    lines = [line for words in said for line in folded(words, size, width - 2 * size)]
    bar = np.full((round(size * (1.35 * len(lines) + 0.6)), width, 3), 255, np.uint8)
    letters = Letters()
    for i, line in enumerate(lines):
        letters.write((size * 0.6, size * (0.3 + 1.35 * i)), line, size, BLACK, None)
    return letters.onto(bar)


def _photo(photo: np.ndarray, mark: Marked, wording: Wording, scale: float, unit: float, size: int) -> np.ndarray:
    def shown(points: np.ndarray) -> np.ndarray:
        return (points + 0.5) * scale - 0.5

    wide = max(1, round(8 * unit))
    for outline in mark.outlines_px:
        draw_line(photo, shown(np.vstack([outline, outline[:1]])), REFERENCE, wide)
    draw_line(photo, shown(mark.line_px), LINE, wide, dash_px=30 * unit)
    draw_line(photo, shown(mark.traced_px), EDGE, wide, casing=WHITE)
    letters = Letters()
    draw_found(photo, mark.candidates, shown, letters, size=size, toward_sheer=mark.toward_sheer)
    if np.isfinite(mark.edge_px).all(axis=1).sum() >= 2:
        _ribbons(photo, mark, wording, shown(mark.edge_px), unit, size, letters)
    return letters.onto(photo)


def _ribbons(
    photo: np.ndarray, mark: Marked, wording: Wording, edge: np.ndarray, unit: float, size: int, letters: Letters
) -> None:
    """A ribbon along the plank above the edge, one look a run, its words above it, stepped up where they would meet."""
    places = mark.places_mm
    known = np.isfinite(edge).all(axis=1)
    taken = [-np.inf] * 4
    away = np.array([0.0, float(mark.toward_sheer)])
    runs = sorted(mark.runs, key=lambda run: float(np.interp(run.from_mm, places[known], edge[known, 0])))
    for run in runs:
        at = np.unique(
            np.concatenate([[run.from_mm], places[(places > run.from_mm) & (places < run.to_mm)], [run.to_mm]])
        )
        path = np.column_stack([np.interp(at, places[known], edge[known, axis]) for axis in (0, 1)])
        inner, outer = path + away * 40 * unit, path + away * 76 * unit
        look = LOOKS[run.label]
        if len(at) > 1:
            draw_ribbon(photo, inner, outer, look.colour, look.hatch, max(2, round(6 * unit)))
        words = run_words(run, mark, wording) if run.label in NAMED_RUNS else ""
        if words:
            _label(words, outer, away, size, look.colour, taken, photo.shape, letters)


def _label(
    words: str,
    outer: np.ndarray,
    away: np.ndarray,
    size: int,
    colour: tuple[int, int, int],
    taken: list[float],
    shape: tuple[int, ...],
    letters: Letters,
) -> None:
    wide, high = text_size(words, size)
    middle = outer[len(outer) // 2] if len(outer) > 2 else outer.mean(axis=0)
    left = float(np.clip(middle[0] - wide / 2, size / 2, max(size / 2, shape[1] - wide - size / 2)))
    step = next((i for i, end in enumerate(taken) if left > end + size), len(taken) - 1)
    taken[step] = left + wide
    top = middle[1] + away[1] * (size * 0.6 + step * high * 1.35) - (high if away[1] < 0 else 0)
    letters.write((left, float(np.clip(top, 0, shape[0] - high))), words, size, _dark(colour))


def _dark(colour: tuple[int, int, int]) -> tuple[int, int, int]:
    """The colour dark enough to read on white."""
    red, green, blue = (round(part * 0.72) for part in colour)
    return red, green, blue


def _legend(mark: Marked, width: int, size: int) -> np.ndarray:
    """What the lines, the ribbons and the letters are."""
    labels = list(dict.fromkeys(run.label for run in mark.runs))
    entries = [("edge", "plank's edge"), ("line", mark.line_words)] if mark.samples else []
    if mark.outlines_px or any(one.kind == "card" for one in mark.candidates):
        entries.append(("reference", "reference" if mark.outlines_px else "card, as found"))
    entries += [(label, LOOKS[label].words) for label in labels]
    entries += found_words(mark.candidates, mark.line_words).items()
    return legend_bar(entries, width, size, _swatch)


def _swatch(bar: np.ndarray, kind: str, ends: np.ndarray, size: int) -> None:
    wide = max(2, size // 14)
    if kind in ("edge", "reference"):
        colour, casing = (EDGE, WHITE) if kind == "edge" else (REFERENCE, GREY)
        draw_line(bar, ends, colour, wide, casing=casing)
    elif kind == "line":
        draw_line(bar, ends, LINE, wide, dash_px=size / 2.5)
    else:
        half = np.array([0.0, size * 0.4])
        draw_ribbon(bar, ends - half, ends + half, LOOKS[kind].colour, LOOKS[kind].hatch, wide)
