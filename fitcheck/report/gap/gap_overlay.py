"""The edge-on photograph with the answer drawn on it, and below it the lap straightened and magnified."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.contract.gap_measurement import GapMeasurement
from fitcheck.report.drawing.canvas import Letters, draw_line, draw_ribbon, folded, legend_bar, letter_size, text_size
from fitcheck.report.drawing.found import draw_found, found_words
from fitcheck.report.drawing.level import levelled
from fitcheck.report.drawing.palette import BLACK, EDGE, GREY, LINE, REFERENCE, WHITE
from fitcheck.report.gap.gap_rows import magnified, traced
from fitcheck.report.gap.gap_stretch_style import GAP_LOOKS
from fitcheck.report.gap.gap_wording import GapRun, gap_runs, gap_wording, joint_word
from fitcheck.report.gap.gap_words import LEAST_TOLD_MM, gap_cell, gap_verdict, told_runs

LONGEST_SIDE_PX = 2400
ROWS_WORDS = "rows: the {}, magnified"


def gap_overlay(pixels: np.ndarray, measurement: GapMeasurement) -> np.ndarray:
    """The marked picture, (H', W', 3) uint8 BGR, at most :data:`LONGEST_SIDE_PX` wide in its photograph.

    ``pixels`` is the photograph upright, (H, W, 3) uint8 BGR. From the top: the verdict, the photograph with a ribbon
    that says what each stretch of the lap is, edge and slit as traced, the lap magnified, and a legend. A refused one
    shows, lettered, the card and the edges that were found. A lap that runs up and down is turned to lie level.

    >>> gap_overlay(np.full((300, 400, 3), 90, np.uint8), GapMeasurement("refused", {})).shape[1]
    400
    """
    pixels, measurement = levelled(pixels, measurement)
    scale = min(1.0, LONGEST_SIDE_PX / max(pixels.shape[:2]))
    small = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    photo = np.ascontiguousarray(small[..., ::-1])
    width = photo.shape[1]
    unit, size = width / LONGEST_SIDE_PX, letter_size(width)
    parts = [_header(measurement, width, size), _photo(photo, measurement, scale, unit, size)]
    if len(measurement.samples) > 1:
        corner = _corner(measurement)
        parts.append(magnified(pixels, measurement, corner, _toward_sheer(measurement, corner), width, size))
    if len(measurement.samples) > 1 or measurement.candidates:
        parts.append(_legend(measurement, width, size))
    return np.ascontiguousarray(np.concatenate(parts)[..., ::-1])


def _header(measurement: GapMeasurement, width: int, size: int) -> np.ndarray:
    headline, means = gap_verdict(measurement)
    lines = folded(f"{headline}   {means}", size, width - 2 * size)
    bar = np.full((round(size * (1.35 * len(lines) + 0.6)), width, 3), 255, np.uint8)
    letters = Letters()
    for number, line in enumerate(lines):
        letters.write((size * 0.6, size * (0.3 + 1.35 * number)), line, size, BLACK, None)
    return letters.onto(bar)


def _photo(photo: np.ndarray, measurement: GapMeasurement, scale: float, unit: float, size: int) -> np.ndarray:
    def shown(points: np.ndarray) -> np.ndarray:
        return (points + 0.5) * scale - 0.5

    outline = np.array((measurement.reference or {}).get("corners_px", []), float).reshape(-1, 2)
    if len(outline):
        draw_line(photo, shown(np.vstack([outline, outline[:1]])), REFERENCE, max(1, round(6 * unit)))
    letters = Letters()
    draw_found(photo, measurement.candidates, shown, letters, size=size)
    places, corner, slit = traced(measurement)
    draw_line(photo, shown(corner), EDGE, max(1, round(4 * unit)), casing=WHITE)
    draw_line(photo, shown(slit), LINE, max(1, round(3 * unit)))
    edge = shown(_corner(measurement))
    away = _toward_sheer(measurement, edge)
    taken = [-np.inf] * 3
    for run in _left_to_right(gap_runs(measurement.samples), places, edge):
        at = np.unique(np.clip(np.linspace(run.from_mm, run.to_mm, 40), places[0], places[-1]))
        path = np.column_stack([np.interp(at, places, edge[:, axis]) for axis in (0, 1)])
        if len(path) < 2:
            path = np.vstack([path - np.array([2.0, 0.0]), path + np.array([2.0, 0.0])])
        look = GAP_LOOKS[run.state]
        draw_ribbon(photo, path + away * 90 * unit, path + away * 126 * unit, look.colour, look.hatch, 5)
    for run in _left_to_right(told_runs(measurement.samples), places, edge):
        if run.state == "open" and run.widest is not None and run.to_mm - run.from_mm >= LEAST_TOLD_MM:
            words = gap_cell(run.widest, gap_wording(measurement).units)
            middle_u = float(np.interp(run.widest.place_mm(), places, edge[:, 0]))
            _label(words, middle_u, edge, float(away[1]), unit, size, taken, letters, photo.shape[1])
    return letters.onto(photo)


def _label(
    words: str,
    middle_u: float,
    edge: np.ndarray,
    away_v: float,
    unit: float,
    size: int,
    taken: list[float],
    letters: Letters,
    width: int,
) -> None:
    """Words about ``middle_u``, clear of the ribbon all along them, on the first step that has room."""
    wide, high = text_size(words, size)
    left = float(np.clip(middle_u - wide / 2, size, max(size, width - wide - size)))
    step = next((number for number, end in enumerate(taken) if left > end + size), len(taken) - 1)
    taken[step] = left + wide
    order = np.argsort(edge[:, 0])
    under = np.interp([left, left + wide], edge[order, 0], edge[order, 1])
    clear = 150 * unit + step * high * 1.4
    top = float(under.min()) - clear - high if away_v < 0 else float(under.max()) + clear
    letters.write((left, top), words, size, GAP_LOOKS["open"].colour)


def _corner(measurement: GapMeasurement) -> np.ndarray:
    """The inner corner (N, 2) in the picture all along, in the order of the places, under clamps too."""
    ordered = sorted(measurement.samples, key=lambda sample: sample.place_mm())
    return np.array([sample.edge_px for sample in ordered], float).reshape(-1, 2)


def _left_to_right(runs: list[GapRun], places: np.ndarray, edge: np.ndarray) -> list[GapRun]:
    return sorted(runs, key=lambda run: float(np.interp(run.from_mm, places, edge[:, 0])))


def _toward_sheer(measurement: GapMeasurement, edge: np.ndarray) -> np.ndarray:
    """Unit vector (2,) in the picture from the edge toward the plank."""
    up = -1.0 if measurement.settings.get("keel") != "up" else 1.0
    if len(edge) < 2:
        return np.array([0.0, up])
    along = edge[-1] - edge[0]
    normal = np.array([-along[1], along[0]]) / np.linalg.norm(along)
    return np.asarray(normal * (np.sign(normal[1]) * up))


def _legend(measurement: GapMeasurement, width: int, size: int) -> np.ndarray:
    """What the lines, the ribbons and the letters are, as many rows as it takes."""
    entries: list[tuple[str, str]] = []
    if len(measurement.samples) > 1:
        entries = [("edge", "plank's edge, inner corner")]
        if np.isfinite(traced(measurement)[2]).any():
            entries.append(("slit", "other side of the slit"))
        states = list(dict.fromkeys(run.state for run in gap_runs(measurement.samples)))
        entries += [(state, GAP_LOOKS[state].words) for state in states]
        entries.append(("", ROWS_WORDS.format(joint_word(measurement))))
    if any(one.kind == "card" for one in measurement.candidates):
        entries.append(("card", "card, as found"))
    entries += found_words(measurement.candidates).items()
    return legend_bar(entries, width, size, _swatch)


def _swatch(bar: np.ndarray, kind: str, ends: np.ndarray, size: int) -> None:
    if kind in ("edge", "slit", "card"):
        colour, casing = {"edge": (EDGE, WHITE), "slit": (LINE, BLACK), "card": (REFERENCE, GREY)}[kind]
        draw_line(bar, ends, colour, max(2, size // 14), casing=casing)
    elif kind:
        half = np.array([0.0, size * 0.4])
        draw_ribbon(bar, ends - half, ends + half, GAP_LOOKS[kind].colour, GAP_LOOKS[kind].hatch, max(2, size // 14))
