"""Where a card might lie in the photograph: four-sided patches, found small, for the fine fit to judge.

A card differs from the wood around it in some channel at some level, whatever its colour, so the picture is cut at
many levels of lightness and of both colour axes and every four-sided patch is kept. Levels that let the card run into
the grain give no patch; others do.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from itertools import repeat

import cv2
import numpy as np

from fitcheck.ground.spread import robust_spread

WORK_WIDTH_PX = 1000
LEVELS = 22
#: The wood's colour about a place is the median over this much, in pixels of a picture reduced once more.
AROUND_SHRINK, AROUND_PX = 4, 81
BRIDGED_PX = (1, 5, 9, 13)
#: Two patches make one figure where they fill this share of it, and the smaller one is no less of the larger.
JOINED, JOINED_LEAST = (0.6, 0.97), 0.15
LEAST_SHARE, MOST_SHARE = 0.0008, 0.12
#: A card with rounded corners fills more than the four-sided figure through the ends of its straight sides.
MOST_FILLED = 1.18


def card_candidates(pixels: np.ndarray, longest_aspect: float = 3.0) -> list[np.ndarray]:
    """Corner quadrilaterals (4, 2) in full-size pixels, likeliest first.

    ``pixels`` is (H, W, 3) BGR. Corners run clockwise in the picture. A patch found at more levels stands earlier.

    >>> import numpy as np
    >>> picture = np.full((600, 800, 3), 90, np.uint8); picture[200:300, 300:460] = 230
    >>> [round(float(x)) for x in card_candidates(picture)[0].mean(axis=0)]
    [380, 250]
    """
    scale = min(1.0, WORK_WIDTH_PX / max(pixels.shape[:2]))
    small = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    lab = cv2.cvtColor(cv2.GaussianBlur(small, (0, 0), 1.2), cv2.COLOR_BGR2LAB)
    with ThreadPoolExecutor(3) as pool:
        each = pool.map(_quads_of_channel, cv2.split(lab), repeat(longest_aspect))
        quads = [quad for some in each for quad in some]
    return [(quad + 0.5) / scale - 0.5 for quad in _by_votes(quads)]


def unlike_candidates(pixels: np.ndarray, longest_aspect: float = 3.0) -> list[np.ndarray]:
    """As :func:`card_candidates`, cut where colours are unlike those of the wood around, whatever they are.

    A card of two colours, one lighter and one darker than the wood, has no level of its own; both are unlike the wood.
    """
    scale = min(1.0, WORK_WIDTH_PX / max(pixels.shape[:2]))
    small = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    lab = cv2.cvtColor(cv2.GaussianBlur(small, (0, 0), 1.2), cv2.COLOR_BGR2LAB)
    coarse = cv2.resize(lab, None, fx=1 / AROUND_SHRINK, fy=1 / AROUND_SHRINK, interpolation=cv2.INTER_AREA)
    around = cv2.resize(cv2.medianBlur(coarse, AROUND_PX), lab.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    off = lab.astype(np.float32) - around
    spread = robust_spread(off, axis=(0, 1)) + 1.0
    unlike = np.clip(12.0 * np.linalg.norm(off / spread, axis=2), 0, 255).astype(np.uint8)
    # Where one colour goes over into the other the card may pass through the wood's own.
    bridged = [cv2.morphologyEx(unlike, cv2.MORPH_CLOSE, np.ones((across, across), np.uint8)) for across in BRIDGED_PX]
    quads = [quad for channel in bridged for quad in _quads_of_channel(channel, longest_aspect)]
    return [(quad + 0.5) / scale - 0.5 for quad in _by_votes(quads)]


def joined(quads: list[np.ndarray]) -> list[np.ndarray]:
    """Four-sided figures (4, 2) px that two patches (4, 2) make together: a card on both sides of a clamp's bar.

    >>> left, right = (np.array([(u, 0), (u + 40, 0), (u + 40, 50), (u, 50)], float) for u in (0, 60))
    >>> joined([left, right])[0].tolist()
    [[0.0, 0.0], [100.0, 0.0], [100.0, 50.0], [0.0, 50.0]]
    """
    found = []
    for number, one in enumerate(quads):
        for other in quads[number + 1 :]:
            hull = cv2.convexHull(np.concatenate([one, other]).astype(np.float32))
            around = cv2.arcLength(hull, closed=True)
            corners = cv2.approxPolyDP(hull, 0.02 * around, closed=True).reshape(-1, 2)
            areas = [cv2.contourArea(quad.astype(np.float32)) for quad in (one, other)]
            filled = sum(areas) / cv2.contourArea(hull)
            if len(corners) == 4 and JOINED[0] < filled < JOINED[1] and min(areas) > JOINED_LEAST * max(areas):
                found.append(clockwise(corners.astype(float)))
    return found


def _quads_of_channel(channel: np.ndarray, longest_aspect: float) -> list[np.ndarray]:
    low, high = np.percentile(channel, (0.5, 99.5))
    levels = np.unique(np.linspace(low, high, LEVELS + 2)[1:-1].round().astype(int))
    quads = []
    for level in levels:
        contours, _ = cv2.findContours((channel > level).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
        for contour in contours:
            quad = _quad_of(contour, channel.size, longest_aspect)
            if quad is not None:
                quads.append(quad)
    return quads


def _quad_of(contour: np.ndarray, frame_px: int, longest_aspect: float) -> np.ndarray | None:
    if len(contour) < 4 or not LEAST_SHARE < _box_area(contour) / frame_px < 2 * MOST_SHARE:
        return None
    hull = cv2.convexHull(contour)
    hull_area = cv2.contourArea(hull)
    if not LEAST_SHARE < hull_area / frame_px < MOST_SHARE or cv2.contourArea(contour) < 0.9 * hull_area:
        return None
    around = cv2.arcLength(hull, closed=True)
    for tolerance in (0.02, 0.035, 0.05):
        corners = cv2.approxPolyDP(hull, tolerance * around, closed=True).reshape(-1, 2)
        if len(corners) == 4:
            break
    else:
        return None
    quad = clockwise(corners.astype(float))
    sides = np.linalg.norm(quad - np.roll(quad, -1, axis=0), axis=1)
    fills = hull_area / cv2.contourArea(quad.astype(np.float32))
    if sides.max() > longest_aspect * sides.min() or not 0.9 < fills < MOST_FILLED or _most_skewed(sides) > 1.4:
        return None
    return quad


def _box_area(contour: np.ndarray) -> int:
    _, _, width, height = cv2.boundingRect(contour)
    return width * height


def _most_skewed(sides: np.ndarray) -> float:
    pairs = sides.reshape(2, 2)
    return float((pairs.max(axis=0) / pairs.min(axis=0)).max())


def clockwise(quad: np.ndarray) -> np.ndarray:
    """Four places (4, 2) in any order as corners clockwise in the picture.

    >>> clockwise(np.array([(10, 0), (0, 5), (0, 0), (10, 5)])).tolist()
    [[0, 0], [10, 0], [10, 5], [0, 5]]
    """
    centred = quad - quad.mean(axis=0)
    return quad[np.argsort(np.arctan2(centred[:, 1], centred[:, 0]))]


def _by_votes(quads: list[np.ndarray]) -> list[np.ndarray]:
    """One quadrilateral a cluster: the median of those whose corners agree, most agreed first."""
    clusters: list[list[np.ndarray]] = []
    for quad in quads:
        reach = 0.06 * np.linalg.norm(quad[0] - quad[2])
        for cluster in clusters:
            if np.abs(cluster[0] - quad).max() < reach:
                cluster.append(quad)
                break
        else:
            clusters.append([quad])
    clusters.sort(key=len, reverse=True)
    return [np.median(cluster, axis=0) for cluster in clusters]
