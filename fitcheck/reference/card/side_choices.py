"""A card's sides where several lines of light could be each: the four that together make the card.

About a rough outline, every straight line near a side is asked how surely one colour ends and another begins there,
in the scatter of the colours along it. Beside the card's own side stand streaks of grain, print and shadows; which
four lines belong together the card's known shape tells, seen by the calibrated camera. So evidence and shape add up,
and a side that hardly stands out is held by the others.
"""

from __future__ import annotations

from itertools import product

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.reference.card.card_kind import CardKind
from fitcheck.reference.sides.steps import linear_light

#: Places along a side, between these shares of its length; and how many of them are independent.
PLACES, KEEP, FREE_PLACES = 48, (0.08, 0.92), 12.0
#: Width of the strips compared on both sides of a line, and the grid of its ends, in pixels at most.
STRIP_PX, GRID_PX, GRID_STEPS = 4, 1.5, 16
CHOICES, NEAREST = 6, 3
#: No side is looked for further off than this share of the shortest one.
MOST_REACH = 0.2
#: Light that every colour is taken to scatter at least, of 255.
LEAST_SCATTER = 1.0
#: How well corners on the grid hold the shape: relative, one standard uncertainty.
U_SHAPE = 0.012


def likely_outlines(
    pixels: np.ndarray, rough: np.ndarray, camera: Camera, kind: CardKind, *, reach_px: float, most: int
) -> list[tuple[float, np.ndarray]]:
    """The likeliest outlines (4, 2) px of a card near a rough one, each with its log-odds, likeliest first.

    ``pixels`` (H, W, 3) BGR, ``rough`` (4, 2) corners clockwise in the picture, off by up to ``reach_px``.
    """
    shortest = float(np.linalg.norm(rough - np.roll(rough, 1, axis=0), axis=1).min())
    reach_px = min(reach_px, MOST_REACH * shortest)
    sides = [_choices(pixels, rough[i], rough[(i + 1) % 4], reach_px) for i in range(4)]
    combined = np.array(list(product(*(range(len(odds)) for odds, _ in sides))))
    odds = sum(sides[i][0][combined[:, i]] for i in range(4))
    lines = [sides[i][1][combined[:, i]] for i in range(4)]
    corners = np.stack([_crossing(lines[i - 1], lines[i]) for i in range(4)], axis=1)
    total = odds - 0.5 * _misshapen(corners, camera, kind)
    # Corners are seldom pointed at twice as badly as told; the prior settles which of two nested lines is meant.
    total = total - 0.5 * ((corners - rough) ** 2).sum(axis=2).max(axis=1) / (reach_px / 1.5) ** 2
    best = [at for at in np.argsort(-total)[:most] if np.isfinite(total[at])]
    return [(float(total[at]), corners[at]) for at in best]


def _choices(pixels: np.ndarray, start: np.ndarray, end: np.ndarray, reach_px: float) -> tuple[np.ndarray, np.ndarray]:
    """Log-odds (K,) of the lines near a side, and the lines (K, 2, 2) by two of their points, the likeliest first."""
    along = end - start
    inward = np.array([-along[1], along[0]]) / np.linalg.norm(along)
    step = max(GRID_PX, reach_px / GRID_STEPS)
    half = int(np.ceil(reach_px / step))
    grid = step * np.arange(-half, half + 1)
    apart = _steps_across(pixels, start, along, inward, grid)
    index = np.arange(len(grid))
    first, last = (ends.ravel() for ends in np.meshgrid(index, index, indexing="ij"))
    share = np.linspace(*KEEP, PLACES)
    at = np.rint(first[:, None] + (last - first)[:, None] * share).astype(int)
    differences = apart[np.arange(PLACES), at]
    mean = differences.mean(axis=1)
    off = differences - mean[:, None]
    scatter = np.einsum("lpc,lpd->lcd", off, off) / PLACES + LEAST_SCATTER**2 * np.eye(3)
    stands = np.einsum("lc,lc->l", mean, np.linalg.solve(scatter, mean[..., None])[..., 0])
    odds = 0.5 * FREE_PLACES * np.log1p(stands)
    kept = _peaks(odds.reshape(len(grid), len(grid)))
    ends = np.stack([start + grid[first[kept], None] * inward, end + grid[last[kept], None] * inward], axis=1)
    return odds[kept], ends


def _steps_across(
    pixels: np.ndarray, start: np.ndarray, along: np.ndarray, inward: np.ndarray, grid: np.ndarray
) -> np.ndarray:
    """Colour inside less colour outside (PLACES, offsets, 3), for a line at each place and offset."""
    reach = float(grid[-1]) + STRIP_PX + 2.0
    across = np.arange(-np.ceil(reach), np.ceil(reach) + 1.0)
    places = start + np.linspace(*KEEP, 4 * PLACES)[:, None] * along
    at = (places[:, None] + across[:, None] * inward).astype(np.float32)
    low = np.floor(at.min(axis=(0, 1))).astype(int).clip(0)
    high = np.ceil(at.max(axis=(0, 1))).astype(int) + 2
    light = linear_light(pixels[low[1] : high[1], low[0] : high[0]])
    band = cv2.remap(light, at - low.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    band = band.reshape(PLACES, 4, len(across), 3).mean(axis=1)
    summed = np.concatenate([np.zeros((PLACES, 1, 3)), np.cumsum(band, axis=1)], axis=1)
    middle = np.rint(grid + across[-1]).astype(int)
    # The pixel of the step itself is left out: it holds both colours.
    inside = (summed[:, middle + 1 + STRIP_PX] - summed[:, middle + 1]) / STRIP_PX
    outside = (summed[:, middle] - summed[:, middle - STRIP_PX]) / STRIP_PX
    return np.asarray(inside - outside)


def _peaks(odds: np.ndarray) -> np.ndarray:
    """Flat places of the highest local maxima of a map (N, N), the highest first."""
    highest = cv2.dilate(odds, np.ones((NEAREST, NEAREST), np.uint8))
    found = np.flatnonzero((odds >= highest).ravel())
    return np.asarray(found[np.argsort(-odds.ravel()[found])][:CHOICES])


def _crossing(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Where lines (N, 2, 2), each by two points, cross: (N, 2); far away where they are parallel."""
    one, two = first[:, 1] - first[:, 0], second[:, 1] - second[:, 0]
    between = second[:, 0] - first[:, 0]
    turn = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    turn = np.where(np.abs(turn) < 1e-6, 1e-6, turn)
    share = (between[:, 0] * two[:, 1] - between[:, 1] * two[:, 0]) / turn
    return np.asarray(first[:, 0] + share[:, None] * one)


def _misshapen(corners: np.ndarray, camera: Camera, kind: CardKind) -> np.ndarray:
    """How far (N,) outlines (N, 4, 2) are from the card's shape, squared, in standard uncertainties; either way round.

    The homography of a flat thing in true measure has two columns of one length at right angles.
    """
    seen = camera.undistort(corners.reshape(-1, 2)).reshape(-1, 4, 2)
    square = _square_to(seen)
    least = np.full(len(corners), np.inf)
    for width, height in ((kind.width_mm, kind.height_mm), (kind.height_mm, kind.width_mm)):
        one, two = square[:, :, 0] / width, square[:, :, 1] / height
        long = np.linalg.norm(one, axis=1) * np.linalg.norm(two, axis=1)
        stretch = np.log(np.linalg.norm(one, axis=1) / np.linalg.norm(two, axis=1))
        skew = (one * two).sum(axis=1) / long
        least = np.minimum(least, (stretch**2 + skew**2) / U_SHAPE**2)
    return np.where(np.isfinite(least), least, np.inf)


def _square_to(seen: np.ndarray) -> np.ndarray:
    """Homographies (N, 3, 3) that take the unit square to quadrilaterals (N, 4, 2), corners in order."""
    a, b, c, d = (seen[:, i] for i in range(4))
    bend, one, two = a - b + c - d, b - c, d - c
    turn = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    turn = np.where(np.abs(turn) < 1e-12, 1e-12, turn)
    g = (bend[:, 0] * two[:, 1] - bend[:, 1] * two[:, 0]) / turn
    h = (one[:, 0] * bend[:, 1] - one[:, 1] * bend[:, 0]) / turn
    right, down = b - a + g[:, None] * b, d - a + h[:, None] * d
    return np.stack(
        [np.column_stack([right, g]), np.column_stack([down, h]), np.column_stack([a, np.ones(len(a))])], axis=2
    )
