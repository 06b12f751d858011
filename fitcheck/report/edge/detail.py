"""The lap cut out of the photograph, straightened and magnified: was it traced right?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.report.drawing.canvas import Letters, draw_line, folded, text_size
from fitcheck.report.drawing.found import draw_found
from fitcheck.report.drawing.palette import BLACK, EDGE, LINE, WHITE
from fitcheck.report.edge.answer import ROW_STEPS
from fitcheck.report.edge.marked import Marked
from fitcheck.report.edge.wording import Wording

#: Stretch across the lap, from strong to none: the strongest whose band is not too tall is taken.
STRETCHES = (6, 4, 3, 2, 1)
#: What is shown beside the traced lines, and how tall the band may be, as shares of the length and of the width.
AROUND_SHARE, TALLEST = 0.012, 0.3


@dataclass(frozen=True)
class Axis:
    """A smooth curve along the lap in the photograph's pixels: its direction, and across it a cubic of the place."""

    along: np.ndarray
    across: np.ndarray
    origin: np.ndarray
    curve: np.ndarray

    def straight(self, points_px: np.ndarray) -> np.ndarray:
        """Points (N, 2) px as (along, off the curve) in px."""
        at = (points_px - self.origin) @ np.column_stack([self.along, self.across])
        return np.column_stack([at[:, 0], at[:, 1] - np.polyval(self.curve, at[:, 0])])

    def pixels(self, along: np.ndarray, off: np.ndarray) -> np.ndarray:
        """The pixels (..., 2) of places along and off the curve."""
        across = np.polyval(self.curve, along) + off
        return self.origin + along[..., None] * self.along + across[..., None] * self.across


def axis_of(mark: Marked) -> Axis:
    """The smooth curve through everything traced, running to the right in the picture, across pointing down."""
    points = _traced(mark)
    origin = points.mean(axis=0)
    along = np.linalg.svd(points - origin, full_matrices=False)[2][0]
    along = along if along[0] >= 0 else -along
    across = np.array([-along[1], along[0]])
    at = (points - origin) @ np.column_stack([along, across])
    order = min(3, len(np.unique(at[:, 0].round())) - 1)
    reach = max(1.0, float(np.abs(at[:, 0]).max()))
    curve = np.polyfit(at[:, 0] / reach, at[:, 1], order) / reach ** np.arange(order, -1, -1.0)
    return Axis(along, across, origin, curve)


def _traced(mark: Marked) -> np.ndarray:
    """Every point (N, 2) of edge and line, and of what could be either."""
    shown = [np.array(one.points_px, float) for one in mark.candidates if one.kind != "card"]
    points = np.vstack([mark.edge_px, mark.line_px, *shown])
    return np.asarray(points[np.isfinite(points).all(axis=1)])


def can_be_straightened(mark: Marked) -> bool:
    """Whether there is one lap to straighten: nothing was traced, or edges far apart, where this is False."""
    if len(_traced(mark)) < 2:
        return False
    low, high, top, bottom = _extent(mark, axis_of(mark))
    return (bottom - top) <= TALLEST * (high - low)


def _extent(mark: Marked, axis: Axis) -> tuple[float, float, float, float]:
    """What the band shows: from and to along the curve, from and to across it, in px."""
    straight = axis.straight(_traced(mark))
    low, high = float(straight[:, 0].min()), float(straight[:, 0].max())
    around = AROUND_SHARE * (high - low)
    return low - around / 2, high + around / 2, straight[:, 1].min() - around, straight[:, 1].max() + around


def detail_band(pixels: np.ndarray, mark: Marked, wording: Wording, width: int, unit: float, size: int) -> np.ndarray:
    """The band (H', width, 3) RGB under the photograph, its letters ``size`` px high.

    ``pixels`` is the photograph at full size, RGB. Edge and line are drawn thin, broken by gaps in which the wood shows
    what was traced; the foot carries places along the lap; the head says how much the band is stretched across.
    """
    axis = axis_of(mark)
    low, high, top, bottom = _extent(mark, axis)
    scale = width / (high - low)
    stretch = next((k for k in STRETCHES if (bottom - top) * scale * k <= TALLEST * width), 1)
    tall = max(2, round((bottom - top) * scale * stretch))
    u = low + (np.arange(width) + 0.5) / scale
    v = top + (np.arange(tall) + 0.5) / (scale * stretch)
    where = axis.pixels(*np.meshgrid(u, v)).astype(np.float32)
    band = cv2.remap(pixels, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderValue=(128, 128, 128))

    def shown(points_px: np.ndarray) -> np.ndarray:
        return (axis.straight(points_px) - (low, top)) * (scale, scale * stretch) - 0.5

    wide = max(1, round(5 * unit))
    draw_line(band, shown(mark.line_px), LINE, wide, dash_px=18 * unit)
    draw_line(band, shown(mark.traced_px), EDGE, wide, dash_px=70 * unit, casing=WHITE)
    letters = Letters()
    apart = [one for one in mark.candidates if one.kind != "card"]
    draw_found(band, apart, shown, letters, size=size, toward_sheer=mark.toward_sheer)
    band = letters.onto(band)
    feet = [_foot(mark, wording, shown, width, size)] if np.isfinite(mark.edge_px).any() else []
    return np.concatenate([_head(width, stretch, mark.toward_sheer, size), band, *feet])


def _head(width: int, stretch: int, toward_sheer: int, size: int) -> np.ndarray:
    """What the band is, which of its sides is the plank, and what to look for."""
    said = f"stretched {stretch} times across" if stretch > 1 else "true shape"
    upper, lower = ("plank", "strake below") if toward_sheer < 0 else ("strake below", "plank")
    words = f"The lap, straightened: {said}. Top: {upper}. Bottom: {lower}. Is the edge traced right, and the line?"
    lines = folded(words, size, width - 2 * size)
    letters = Letters()
    for number, line in enumerate(lines):
        letters.write((size, size * (0.35 + 1.3 * number)), line, size, BLACK, None)
    return letters.onto(np.full((round(size * (0.6 + 1.3 * len(lines))), width, 3), 225, np.uint8))


def _foot(
    mark: Marked, wording: Wording, shown: Callable[[np.ndarray], np.ndarray], width: int, size: int
) -> np.ndarray:
    foot = np.full((round(size * 2.2), width, 3), 255, np.uint8)
    known = np.isfinite(mark.edge_px).all(axis=1)
    places = mark.places_mm[known]
    u = shown(mark.edge_px[known])[:, 0]
    step = _tick_step(places, wording, size, width)
    letters = Letters()
    for place in wording.round_places(places.min(), places.max(), step):
        at = float(np.interp(place, places, u))
        cv2.line(foot, (round(at), 0), (round(at), size // 2), BLACK, max(1, size // 10))
        words = wording.place(place)
        left = float(
            np.clip(at - text_size(words, size)[0] / 2, size / 4, width - text_size(words, size)[0] - size / 4)
        )
        letters.write((left, size * 0.6), words, size, BLACK, None)
    return letters.onto(foot)


def _tick_step(places: np.ndarray, wording: Wording, size: int, width: int) -> float:
    room = width / (text_size(wording.place(float(places.max())), size)[0] * 1.6)
    length = float(places.max() - places.min())
    return next((step for step in ROW_STEPS[wording.units] if length / step <= room), ROW_STEPS[wording.units][-1])
