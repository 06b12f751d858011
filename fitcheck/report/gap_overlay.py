"""The edge-on photograph with the answer drawn on it, and below it the lap straightened and magnified."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.lap.gap_measurement import GapMeasurement
from fitcheck.report.canvas import Letters, draw_line, draw_ribbon, text_size
from fitcheck.report.gap_looks import GAP_LOOKS
from fitcheck.report.gap_words import (
    LEAST_TOLD_MM,
    GapRun,
    gap_cell,
    gap_runs,
    gap_verdict,
    gap_wording,
    joint_word,
    told_runs,
)
from fitcheck.report.palette import BLACK, REFERENCE

LONGEST_SIDE_PX = 2400
#: The magnified lap: so many pixels of the photograph to the sheer's and the keel's side of the corner.
ABOVE_PX, BELOW_PX, ROWS = 26, 14, 3
ROWS_WORDS = "rows: the {}, magnified"


def gap_overlay(pixels: np.ndarray, measurement: GapMeasurement) -> np.ndarray:
    """The marked picture, (H', W', 3) uint8 BGR, at most :data:`LONGEST_SIDE_PX` wide in its photograph.

    ``pixels`` is the photograph upright, (H, W, 3) uint8 BGR. From the top: the verdict, the photograph with a ribbon
    that says what each stretch of the lap is, the lap magnified, and a legend.

    >>> gap_overlay(np.full((300, 400, 3), 90, np.uint8), GapMeasurement("refused", {})).shape[1]
    400
    """
    scale = min(1.0, LONGEST_SIDE_PX / max(pixels.shape[:2]))
    small = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    photo = np.ascontiguousarray(small[..., ::-1])
    unit = max(photo.shape[:2]) / LONGEST_SIDE_PX
    parts = [_header(measurement, photo.shape[1], unit)]
    parts.append(_photo(photo, measurement, scale, unit))
    if len(measurement.samples) > 1:
        parts.append(_magnified(pixels, measurement, photo.shape[1], unit))
        parts.append(_legend(measurement, photo.shape[1], unit))
    return np.ascontiguousarray(np.concatenate(parts)[..., ::-1])


def _header(measurement: GapMeasurement, width: int, unit: float) -> np.ndarray:
    size = max(11, round(56 * unit))
    headline, means = gap_verdict(measurement)
    lines = _folded(f"{headline}   {means}", size, width - 2 * size)
    bar = np.full((round(size * (1.35 * len(lines) + 0.6)), width, 3), 255, np.uint8)
    letters = Letters()
    for number, line in enumerate(lines):
        letters.write((size * 0.6, size * (0.3 + 1.35 * number)), line, size, BLACK, None)
    return letters.onto(bar)


def _folded(text: str, size: int, width: int) -> list[str]:
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_size(longer, size)[0] > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _photo(photo: np.ndarray, measurement: GapMeasurement, scale: float, unit: float) -> np.ndarray:
    outline = np.array((measurement.reference or {}).get("corners_px", []), float).reshape(-1, 2)
    if len(outline):
        draw_line(photo, (np.vstack([outline, outline[:1]]) + 0.5) * scale - 0.5, REFERENCE, max(1, round(6 * unit)))
    letters = Letters()
    places, edge = _edge(measurement)
    edge = (edge + 0.5) * scale - 0.5
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
            _label(words, middle_u, edge, float(away[1]), unit, taken, letters, photo.shape[1])
    return letters.onto(photo)


def _label(
    words: str,
    middle_u: float,
    edge: np.ndarray,
    away_v: float,
    unit: float,
    taken: list[float],
    letters: Letters,
    width: int,
) -> None:
    """Words about ``middle_u``, clear of the ribbon all along them, on the first step that has room."""
    size = max(10, round(50 * unit))
    wide, high = text_size(words, size)
    left = float(np.clip(middle_u - wide / 2, size, max(size, width - wide - size)))
    step = next((number for number, end in enumerate(taken) if left > end + size), len(taken) - 1)
    taken[step] = left + wide
    order = np.argsort(edge[:, 0])
    under = np.interp([left, left + wide], edge[order, 0], edge[order, 1])
    clear = 150 * unit + step * high * 1.4
    top = float(under.min()) - clear - high if away_v < 0 else float(under.max()) + clear
    letters.write((left, top), words, size, GAP_LOOKS["open"].colour)


def _edge(measurement: GapMeasurement) -> tuple[np.ndarray, np.ndarray]:
    """Places (N,) rising, and the inner corner (N, 2) in the picture."""
    ordered = sorted(measurement.samples, key=lambda sample: sample.place_mm())
    places = np.array([sample.place_mm() for sample in ordered])
    return places, np.array([sample.edge_px for sample in ordered], float).reshape(-1, 2)


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


def _magnified(pixels: np.ndarray, measurement: GapMeasurement, width: int, unit: float) -> np.ndarray:
    """The lap in rows from left to right, the edge straightened, the plank above, with its ribbon under each row."""
    places, edge = _edge(measurement)
    order = np.argsort(edge[:, 0])
    places, edge = places[order], edge[order]
    away = _toward_sheer(measurement, edge)
    count = int(edge[-1, 0] - edge[0, 0]) // ROWS
    zoom = width / max(count, 1)
    parts = []
    for row in range(ROWS):
        u = edge[0, 0] + row * count + np.arange(width) / zoom
        v = np.interp(u, edge[:, 0], edge[:, 1])
        off = np.arange(ABOVE_PX, -BELOW_PX, -1.0 / zoom)
        at = np.stack([u[None, :] + off[:, None] * away[0], v[None, :] + off[:, None] * away[1]], axis=-1)
        strip = cv2.remap(pixels, at.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        strip = np.ascontiguousarray(strip[..., ::-1])
        bar = np.full((round(44 * unit), width, 3), 255, np.uint8)
        _ribbons(bar, measurement, np.interp(u, edge[:, 0], places))
        parts += [strip, bar, np.full((max(2, round(14 * unit)), width, 3), 255, np.uint8)]
    return np.concatenate(parts)


def _ribbons(bar: np.ndarray, measurement: GapMeasurement, places: np.ndarray) -> None:
    for run in gap_runs(measurement.samples):
        inside = np.flatnonzero((places >= run.from_mm - 2.5) & (places <= run.to_mm + 2.5))
        if len(inside) > 1:
            ends = np.array([[inside[0], 2.0], [inside[-1], 2.0]])
            look = GAP_LOOKS[run.state]
            draw_ribbon(bar, ends, ends + np.array([0.0, bar.shape[0] - 5.0]), look.colour, look.hatch, 4)


def _legend(measurement: GapMeasurement, width: int, unit: float) -> np.ndarray:
    size = max(10, round(44 * unit))
    states = list(dict.fromkeys(run.state for run in gap_runs(measurement.samples)))
    whole = sum(size * 5 + text_size(GAP_LOOKS[state].words, size)[0] for state in states)
    rows = ROWS_WORDS.format(joint_word(measurement))
    whole += text_size(rows, size)[0] + 2 * size
    size = max(8, int(size * min(1.0, width / whole)))
    bar = np.full((round(size * 1.9), width, 3), 225, np.uint8)
    letters = Letters()
    left = float(size)
    for state in states:
        look, middle = GAP_LOOKS[state], bar.shape[0] / 2
        ends = np.array([[left, middle - size * 0.4], [left + size * 2.4, middle - size * 0.4]])
        draw_ribbon(bar, ends, ends + np.array([0.0, size * 0.8]), look.colour, look.hatch, 4)
        letters.write((left + size * 3, middle - size * 0.6), look.words, size, BLACK, None)
        left += size * 5 + text_size(look.words, size)[0]
    letters.write((left, bar.shape[0] / 2 - size * 0.6), rows, size, BLACK, None)
    return letters.onto(bar)
