"""The two corners of the plank's edge in a photograph without a reference: a pair of long boundaries with wood on both
sides, as far apart as a plank this thick can look."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.edge_on.edge_on_paths import LongBoundary, grain_along, long_boundaries, step_gain
from fitcheck.lap.edge_on.find_edge import EdgeOn
from fitcheck.lap.edge_on_band import Band, EdgeLine, cut_band, edge_line

WORK_WIDTH_PX = 1000
BLOCK_PX, HALF_ROWS = 5, 4
MOST = 10
#: From how near and far such a photograph is taken, and how much of the thickness then shows.
NEAREST_MM, USUAL_MM, FURTHEST_MM, LEAST_SHOWN = 220.0, 470.0, 1000.0, 0.75
WOOD, CLEAR_ROWS, WOOD_ROWS = 1.0, 4, 12
LEAST_APART_PX = 7.0
#: How much more the boundary found from end to end counts than the one that only runs alike.
ANCHOR_SHARE = 1.5
#: What an edge twice as high as usual, or half, costs: about half of this, in noise units.
UNUSUAL = 5.0
CHANGES = (-0.2, -0.1, 0.0, 0.1, 0.2)
#: The dark of a slit or a crease must be this much deeper at one corner to tell which is the inner one.
DARKER = 0.06
DARK_REACH_PX, DARK_BLOCK_PX = 14, 12


@dataclass(frozen=True)
class _Pair:
    """Two corners in a band, rows (B,) each, and what speaks for them in noise units."""

    upper: np.ndarray
    lower: np.ndarray
    strength: float

    @property
    def corners(self) -> tuple[np.ndarray, np.ndarray]:
        """Upper and lower."""
        return self.upper, self.lower

    @property
    def apart_px(self) -> float:
        return float(np.median(self.lower - self.upper))


def find_by_thickness(pixels: np.ndarray, camera: Camera, thickness_mm: float, keel: str) -> EdgeOn:
    """The edge in an upright photograph (H, W, 3) BGR without a reference; ``keel`` "down", "up" or "auto".

    Raises :class:`Refused` ``no-edge`` where no pair of corners is found.
    """
    scale = min(1.0, WORK_WIDTH_PX / pixels.shape[1])
    small = pixels if scale == 1.0 else cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    across = _across(small)
    height = small.shape[0]
    band = cut_band(small, across, np.arange(-0.48 * height, 0.48 * height), BLOCK_PX)
    gain = step_gain(band.values, HALF_ROWS)
    found = long_boundaries(gain, MOST)
    shown_px = float(camera.matrix[0, 0]) * scale * thickness_mm
    heights = (max(LEAST_APART_PX, LEAST_SHOWN * shown_px / FURTHEST_MM), shown_px / NEAREST_MM)
    pair = _best_pair(found, gain, grain_along(band.values), heights)
    told = keel if keel != "auto" else _darker_side(pixels, [_line(across, band, one, scale) for one in pair.corners])
    warnings = () if told else (_assumed(),)
    points = _line(across, band, pair.upper if told == "up" else pair.lower, scale)
    keelward = across.keelward[0] * (-1.0 if told == "up" else 1.0)
    return EdgeOn(points, keelward, told or "down", pair.apart_px / scale, None, warnings)


def _across(small: np.ndarray) -> EdgeLine:
    """The straight line through the picture's middle, from side to side, in the direction the wood runs."""
    tone = cv2.GaussianBlur(np.log(small.mean(axis=2).astype(np.float32) + 8.0), (0, 0), 2.0)
    along_u = cv2.Sobel(tone, cv2.CV_32F, 1, 0, ksize=3)
    along_v = cv2.Sobel(tone, cv2.CV_32F, 0, 1, ksize=3)
    steepest = 0.5 * np.arctan2(2.0 * (along_u * along_v).sum(), (along_u**2).sum() - (along_v**2).sum())
    direction = np.array([np.sin(steepest), -np.cos(steepest)])
    if abs(direction[0]) < 0.5:
        raise Refused("no-edge", "The lap must run across the picture. Hold the camera level with the plank.")
    direction *= np.sign(direction[0])
    height, width = small.shape[:2]
    middle = np.array([width / 2.0, height / 2.0])
    half = (width / 2.0 - 3.0) / direction[0]
    return edge_line(np.array([middle - half * direction, middle + half * direction]), np.array([0.0, 1.0]))


def _best_pair(
    found: list[LongBoundary], gain: np.ndarray, grain: np.ndarray, heights_px: tuple[float, float]
) -> _Pair:
    pairs = [_partnered(one, gain, grain, side, heights_px) for one in found for side in (-1, 1)]
    best = max(pairs, key=lambda pair: pair.strength)
    if best.strength <= 0.0:
        raise Refused(
            "no-edge",
            "No plank edge is in sight: its two corners, with wood above and below them, were not found. Fill the "
            "picture with the lap, look up along the face from the keel side, or lay a card on the strake below.",
        )
    return best


def _partnered(
    one: LongBoundary, gain: np.ndarray, grain: np.ndarray, side: int, heights_px: tuple[float, float]
) -> _Pair:
    """A boundary with the best other corner on its ``side`` (-1 above it), as far off as a plank's edge may look.

    The two corners run alike; their distance changes evenly along the lap, as perspective makes it. Without wood
    beyond the boundary, or beyond any other corner, the strength is 0.
    """
    best = _Pair(one.row, one.row, 0.0)
    if not _wood(grain, one.row, -side):
        return best
    along = np.linspace(-1.0, 1.0, len(one.row))
    usual_px = heights_px[1] * NEAREST_MM / USUAL_MM
    for apart in np.arange(np.ceil(heights_px[0]), heights_px[1] + 1.0):
        for change in CHANGES:
            rows = one.row + side * apart * (1.0 + change * along)
            strength = ANCHOR_SHARE * one.strength + _worth(gain, rows) - UNUSUAL * np.log(apart / usual_px) ** 2
            if strength > best.strength and _wood(grain, rows, side):
                upper, lower = (rows, one.row) if side < 0 else (one.row, rows)
                best = _Pair(upper, lower, strength)
    return best


def _worth(gain: np.ndarray, rows: np.ndarray) -> float:
    """Mean gain along rows (B,), each within a row; nothing beyond the band."""
    pick, at = np.arange(len(rows)), np.round(rows).astype(int)
    inside = (at > 0) & (at < len(gain) - 1)
    at = np.clip(at, 1, len(gain) - 2)
    near = np.maximum(np.maximum(gain[at - 1, pick], gain[at, pick]), gain[at + 1, pick])
    return float((near * inside).mean())


def _wood(grain: np.ndarray, rows: np.ndarray, toward: int) -> bool:
    """Does the picture just beyond a boundary (B,) look like wood."""
    at = np.round(rows).astype(int) + toward * np.arange(CLEAR_ROWS, CLEAR_ROWS + WOOD_ROWS)[:, None]
    if at.min() < 0 or at.max() >= len(grain):
        return False
    return float(np.median(grain[at, np.arange(len(rows))])) > WOOD


def _line(across: EdgeLine, band: Band, rows: np.ndarray, scale: float) -> np.ndarray:
    """Points (B, 2), pixels of the whole photograph, of rows (B,) of the band in the reduced one."""
    off = np.interp(rows, np.arange(len(band.at_px)), band.at_px)
    points = across.at_px[band.block] + off[:, None] * across.keelward[band.block]
    return np.asarray((points + 0.5) / scale - 0.5)


def _darker_side(pixels: np.ndarray, corners_px: list[np.ndarray]) -> str:
    """Which corner has the dark of a slit or crease beside it: "down" for the lower, "up" for the upper, else ""."""
    upper, lower = (_dark(pixels, points) for points in corners_px)
    if abs(lower - upper) < DARKER:
        return ""
    return "down" if lower > upper else "up"


def _dark(pixels: np.ndarray, points_px: np.ndarray) -> float:
    """How much darker than both sides the picture is along a corner, natural log, in its darkest fifth."""
    line = edge_line(points_px, np.array([0.0, 1.0]))
    band = cut_band(pixels, line, np.arange(-DARK_REACH_PX, DARK_REACH_PX + 1.0), DARK_BLOCK_PX)
    tone = np.log(band.values.mean(axis=2) + 8.0)
    darkest = np.argmin(tone[6:-6], axis=0) + 6
    pick = np.arange(tone.shape[1])
    sides = [np.maximum(tone[darkest + side * 4, pick], tone[darkest + side * 5, pick]) for side in (-1, 1)]
    return float(np.quantile(np.minimum(*sides) - tone[darkest, pick], 0.8))


def _assumed() -> Reason:
    return Reason(
        "keel-assumed",
        "Nothing in the picture tells which way the hull lies; the keel is taken to be down. Give --keel up for a "
        "hull lying upside down.",
    )
