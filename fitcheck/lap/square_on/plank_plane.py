"""The bevel from two looks at a lap: how the plank's face leans against the strake's, by the grain on both.

What lies at a height over the strake shifts between two looks from different heights by that height and the looks'
slopes. So both photographs are laid on the plank's face where thickness and bevel expect it: if it leans more or less,
its grain shifts between them, the more the further up the plank. The strake's own grain, laid on the plane of the card,
tells what of that is the plane's and not the plank's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.lap.section import Section
from fitcheck.reference.pose import FacePose

#: The faces are laid out in cells so high and wide, so far up the plank and down the strake, clear of the corner.
ROW_MM, COLUMN_MM = 0.2, 1.0
PLANK_MM, STRAKE_MM = (1.0, 45.0), (-34.0, -1.5)
#: The grain is compared in windows of this size (rows, columns), shifted by up to so much.
WINDOW_MM, MOST_MM = (6.0, 30.0), 2.4
#: A window that agrees less, or that is not all wood, tells nothing; so many must tell something.
LEAST_CORRELATION, LEAST_SEEN, FEWEST = 0.45, 0.98, 8
#: Looks whose slopes (height over distance) differ by less show no lean.
LEAST_APART = 0.1
#: Wood nearer the reference than this is not used: its rim and shadow.
RIM_PX = 9
#: What no number of windows makes smaller, one standard uncertainty: a face is not quite flat across.
U_FLAT_DEG = 0.35


@dataclass(frozen=True, eq=False)
class Seen:
    """A photograph (H, W, 3) BGR, its pose, outlines that hide wood, and how far (C,) along the lap the strake stands
    aside in it (:mod:`.registered`)."""

    pixels: np.ndarray
    pose: FacePose
    outlines_px: tuple[np.ndarray, ...]
    aside_mm: np.ndarray


def bevel_between_looks(
    looks: Sequence[Seen], along_mm: np.ndarray, inner_y_mm: np.ndarray, section: Section
) -> tuple[float, float] | None:
    """The bevel and its standard uncertainty in degrees, from the two looks furthest apart in height.

    ``inner_y_mm`` (C,) is the plank's inner corner at ``along_mm`` (C,) on the strake's face, ``section`` the lap as
    given. None where the looks are too near each other or the grain is too even to tell.
    """
    middle = float(np.median(along_mm)), float(np.median(inner_y_mm))
    slopes = [_slope(one.pose, *middle) for one in looks]
    first, other = int(np.argmin(slopes)), int(np.argmax(slopes))
    apart = slopes[first] - slopes[other]
    if abs(apart) < LEAST_APART:
        return None
    pair = (looks[first], looks[other])

    def grown(face: Section, reach_mm: tuple[float, float]) -> tuple[float, float] | None:
        up_mm = np.arange(*reach_mm, ROW_MM)
        return _lag_slope(*(_laid_out(one, along_mm, inner_y_mm, face, up_mm) for one in pair))

    strake, u = grown(section, STRAKE_MM), np.inf
    # Far from what was expected the shifts do not grow evenly: laid out once more by the first answer, they do.
    for _ in range(2):
        plank = grown(section, PLANK_MM)
        if strake is None or plank is None:
            return None
        section = replace(section, bevel_rad=section.bevel_rad - (plank[0] - strake[0]) / apart)
        u = float(np.hypot(plank[1], strake[1])) / abs(apart)
    return float(np.degrees(section.bevel_rad)), float(np.hypot(np.degrees(u), U_FLAT_DEG))


def _slope(pose: FacePose, along_mm: float, y_mm: float) -> float:
    camera = pose.camera_over(np.array([along_mm]), np.array([y_mm])).reshape(3, -1)[:, 0]
    return float((camera[1] - y_mm) / camera[2])


def _laid_out(
    one: Seen, along_mm: np.ndarray, inner_y_mm: np.ndarray, section: Section, up_mm: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The grain (R, C) on the plank's face, or below the edge on the strake's, and where it is seen (R, C).

    ``up_mm`` (R,) counts from the corner toward the sheer.
    """
    columns = np.arange(along_mm[0], along_mm[-1], COLUMN_MM)
    inner, aside = (np.interp(columns, along_mm, value) for value in (inner_y_mm, one.aside_mm))
    on_plank = up_mm[0] > 0.0
    out = section.thickness_mm * section.normal if on_plank else np.zeros(2)
    up = section.inward if on_plank else np.array([1.0, 0.0])
    points = np.zeros((len(up_mm), len(columns), 3))
    points[..., 0] = columns
    points[..., 1] = (inner + aside + out[0])[None, :] + up_mm[:, None] * up[0]
    points[..., 2] = out[1] + up_mm[:, None] * up[1]
    place = one.pose.px_from_face(points.reshape(-1, 3)).reshape(len(up_mm), len(columns), 2).astype(np.float32)
    tone = np.log(cv2.remap(one.pixels, place, None, cv2.INTER_LINEAR).mean(axis=2) + 8.0).astype(np.float32)
    seen = np.asarray((place > 2).all(axis=2) & (place < np.array(one.pixels.shape[1::-1]) - 3).all(axis=2))
    for outline in one.outlines_px:
        seen &= ~_under(outline, place)
    even = cv2.GaussianBlur(tone, (0, 0), sigmaX=2.0, sigmaY=0.7)
    return even - cv2.GaussianBlur(even, (0, 0), sigmaX=1.0, sigmaY=2.0 / ROW_MM), seen


def _under(outline_px: np.ndarray, place_px: np.ndarray) -> np.ndarray:
    """Which cells (R, C), seen at ``place_px`` (R, C, 2), lie under an outline or at its rim."""
    # A mask no larger than the outline: the photograph is many times that.
    corner = np.floor(outline_px.min(axis=0)).astype(int) - 2 * RIM_PX
    size = np.ceil(outline_px.max(axis=0)).astype(int) + 2 * RIM_PX - corner
    mask = np.zeros((size[1], size[0]), np.uint8)
    rim = [(np.round(outline_px).astype(np.int32) - corner).astype(np.int32)]
    cv2.polylines(mask, rim, True, (1,), 2 * RIM_PX)
    cv2.fillPoly(mask, rim, (1,))
    return cv2.remap(mask, place_px - corner.astype(np.float32), None, cv2.INTER_NEAREST) > 0


def _lag_slope(one: tuple[np.ndarray, np.ndarray], other: tuple[np.ndarray, np.ndarray]) -> tuple[float, float] | None:
    """How fast the shift of the grain between two layouts grows up the face, and its standard uncertainty."""
    rows, columns = round(WINDOW_MM[0] / ROW_MM), round(WINDOW_MM[1] / COLUMN_MM)
    most = round(MOST_MM / ROW_MM)
    up, lag, stretch = [], [], []
    for left in range(0, one[0].shape[1] - columns + 1, columns):
        for top in range(most, one[0].shape[0] - rows - most + 1, rows):
            window = np.s_[top : top + rows, left : left + columns]
            about = np.s_[top - most : top + rows + most, left : left + columns]
            if one[1][window].mean() < LEAST_SEEN or other[1][about].mean() < LEAST_SEEN:
                continue
            match = cv2.matchTemplate(other[0][about], one[0][window], cv2.TM_CCORR_NORMED)[:, 0]
            at = int(match.argmax())
            if match[at] < LEAST_CORRELATION or not 0 < at < len(match) - 1:
                continue
            low, high = match[at - 1], match[at + 1]
            lag.append((at + 0.5 * (low - high) / (low - 2.0 * match[at] + high) - most) * ROW_MM)
            up.append((top + 0.5 * rows) * ROW_MM)
            stretch.append(left)
    return _robust_slope(np.array(up), np.array(lag), np.array(stretch)) if len(up) >= FEWEST else None


def _robust_slope(up_mm: np.ndarray, lag_mm: np.ndarray, stretch: np.ndarray) -> tuple[float, float] | None:
    """Slope of ``lag_mm`` (N,) over ``up_mm`` (N,), each stretch having its own middle; outliers count less."""
    weight = np.ones(len(up_mm))
    groups = [stretch == one for one in np.unique(stretch)]
    slope, u = 0.0, np.inf
    for _ in range(12):
        x, y = up_mm.copy(), lag_mm.copy()
        for group in groups:
            for value in (x, y):
                value[group] -= np.average(value[group], weights=weight[group])
        spread = float(weight @ x**2)
        if spread < 1e-6:
            return None
        slope = float((weight * x) @ y) / spread
        off = np.abs(y - slope * x)
        scale = max(1.4826 * float(np.median(off)), 0.02)
        free = max(1.0, len(y) - len(groups) - 1.0)
        u = scale * np.sqrt(len(y) / free / spread)
        weight = 1.0 / (1.0 + (off / (2.0 * scale)) ** 2) ** 2
    return slope, float(u)
