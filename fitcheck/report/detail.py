"""The lap cut out of the photograph, straightened and magnified: was it traced right?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.report.answer import ROW_STEPS
from fitcheck.report.canvas import Letters, draw_line, text_size
from fitcheck.report.marked import Marked
from fitcheck.report.palette import BLACK, EDGE, LINE, WHITE
from fitcheck.report.wording import Wording

#: Stretch across the lap, from strong to none: the strongest whose band is not too tall is taken.
STRETCHES = (6, 4, 3, 2, 1)
AROUND_MM = 7.0


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
    points = np.vstack([mark.edge_px, mark.line_px])
    points = points[np.isfinite(points).all(axis=1)]
    origin = points.mean(axis=0)
    along = np.linalg.svd(points - origin, full_matrices=False)[2][0]
    along = along if along[0] >= 0 else -along
    across = np.array([-along[1], along[0]])
    at = (points - origin) @ np.column_stack([along, across])
    order = min(3, len(np.unique(at[:, 0].round())) - 1)
    reach = max(1.0, float(np.abs(at[:, 0]).max()))
    curve = np.polyfit(at[:, 0] / reach, at[:, 1], order) / reach ** np.arange(order, -1, -1.0)
    return Axis(along, across, origin, curve)


def detail_band(pixels: np.ndarray, mark: Marked, wording: Wording, width: int, unit: float) -> np.ndarray:
    """The band (H', width, 3) RGB under the photograph.

    ``pixels`` is the photograph at full size, RGB. Edge and line are drawn thin, broken by gaps in which the wood shows
    what was traced; the foot carries places along the lap; the head says how much the band is stretched across.
    """
    axis = axis_of(mark)
    places, straight = mark.places_mm, axis.straight(mark.edge_px)
    known = np.isfinite(straight).all(axis=1)
    low, high = straight[known, 0].min(), straight[known, 0].max()
    px_per_mm = (high - low) / max(1e-6, places[known].max() - places[known].min())
    low, high = low - 4 * px_per_mm, high + 4 * px_per_mm
    scale = width / (high - low)
    off = np.concatenate([straight[known, 1], axis.straight(mark.line_px)[:, 1]])
    top, bottom = np.nanmin(off) - AROUND_MM * px_per_mm, np.nanmax(off) + AROUND_MM * px_per_mm
    stretch = next((k for k in STRETCHES if (bottom - top) * scale * k <= 0.24 * width), 1)
    tall = max(2, round((bottom - top) * scale * stretch))
    u = low + (np.arange(width) + 0.5) / scale
    v = top + (np.arange(tall) + 0.5) / (scale * stretch)
    where = axis.pixels(*np.meshgrid(u, v)).astype(np.float32)
    band = cv2.remap(pixels, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderValue=(128, 128, 128))

    def shown(points_px: np.ndarray) -> np.ndarray:
        return (axis.straight(points_px) - (low, top)) * (scale, scale * stretch) - 0.5

    wide = max(1, round(4 * unit))
    draw_line(band, shown(mark.line_px), LINE, wide, dash_px=18 * unit)
    draw_line(band, shown(mark.edge_px), EDGE, wide, dash_px=70 * unit, casing=WHITE)
    band = _named(band, mark.toward_sheer, unit)
    return np.concatenate([_head(width, stretch, unit), band, _foot(mark, wording, shown, width, unit)])


def _named(band: np.ndarray, toward_sheer: int, unit: float) -> np.ndarray:
    """The band with its two sides named: which is the plank, which the strake below."""
    size = max(9, round(40 * unit))
    upper, lower = ("plank", "strake below") if toward_sheer < 0 else ("strake below", "plank")
    letters = Letters()
    letters.write((size * 0.6, size * 0.4), upper, size)
    letters.write((size * 0.6, band.shape[0] - size * 1.8), lower, size)
    return letters.onto(band)


def _head(width: int, stretch: int, unit: float) -> np.ndarray:
    size = max(9, round(44 * unit))
    said = f"stretched {stretch} times across" if stretch > 1 else "true shape"
    letters = Letters()
    words = f"The lap, straightened: {said}. Is the edge traced right, and the line?"
    letters.write((size, size * 0.35), words, size, BLACK, None)
    return letters.onto(np.full((round(size * 2), width, 3), 225, np.uint8))


def _foot(
    mark: Marked, wording: Wording, shown: Callable[[np.ndarray], np.ndarray], width: int, unit: float
) -> np.ndarray:
    size = max(9, round(42 * unit))
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
        left = float(np.clip(at - text_size(words, size)[0] / 2, 2, width - text_size(words, size)[0] - 2))
        letters.write((left, size * 0.6), words, size, BLACK, None)
    return letters.onto(foot)


def _tick_step(places: np.ndarray, wording: Wording, size: int, width: int) -> float:
    room = width / (text_size(wording.place(float(places.max())), size)[0] * 1.6)
    length = float(places.max() - places.min())
    return next((step for step in ROW_STEPS[wording.units] if length / step <= room), ROW_STEPS[wording.units][-1])
