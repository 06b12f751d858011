"""Long boundaries along a band of the photograph: where one face of wood gives way to another.

Grain runs along the lap too; a streak of it is narrow, and the wood on both its sides is alike. So the step is taken
between the means of a few rows on either side, in lightness and colour, in units of the picture's own unevenness.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.paths import best_path
from fitcheck.ground.spread import robust_spread
from fitcheck.lap.edge.edge_path import log_tone

CAP = 12.0
LEAST_NOISE = (0.02, 0.012, 0.012)
CLEAR_ROWS = 6
BEND_COST = 0.3
GRAIN_ROWS, GRAIN_BLOCKS = 5, 41


@dataclass(frozen=True)
class LongBoundary:
    """A boundary along a band: ``row`` (B,) for each block, ``strength`` its mean step in noise units."""

    row: np.ndarray
    strength: float


def step_gain(values: np.ndarray, half_rows: int) -> np.ndarray:
    """How far each cell of ``values`` (R, B, 3) is a step across the band, (R, B), in noise units, capped."""
    blocks = cv2.blur(log_tone(values), (3, 1))
    squares = np.zeros(blocks.shape[:2], np.float32)
    for channel, least in zip(np.moveaxis(blocks, 2, 0), LEAST_NOISE, strict=True):
        total = np.vstack([np.zeros((1, channel.shape[1]), np.float32), np.cumsum(channel, axis=0)])
        mean = (total[half_rows:] - total[:-half_rows]) / half_rows
        step = np.zeros_like(channel)
        step[half_rows : len(channel) - half_rows + 1] = mean[half_rows:] - mean[:-half_rows]
        noise = max(least, float(robust_spread(step)))
        squares += (step / noise) ** 2
    return np.asarray(np.minimum(np.sqrt(squares), CAP))


def long_boundaries(gain: np.ndarray, most: int) -> list[LongBoundary]:
    """The strongest boundaries from end to end of ``gain`` (R, B), strongest first."""
    left = gain.copy()
    found = []
    for _ in range(most):
        rows, strength = best_path(left, reach=2, bend_cost=BEND_COST)
        found.append(LongBoundary(rows, strength))
        for block, row in enumerate(rows):
            left[max(0, row - CLEAR_ROWS) : row + CLEAR_ROWS + 1, block] = 0.0
    return found


def grain_along(values: np.ndarray) -> np.ndarray:
    """How much the picture varies across the band more than along it, (R, B): natural log, wood well above 1."""
    tone = cv2.GaussianBlur(np.log(values.mean(axis=2) + 8.0), (0, 0), 1.0)
    across, along = (cv2.Sobel(tone, cv2.CV_32F, *order, ksize=3) ** 2 for order in ((0, 1), (1, 0)))
    around = [cv2.blur(part, (GRAIN_BLOCKS, GRAIN_ROWS)) + 1e-7 for part in (across, along)]
    return np.asarray(np.log(around[0] / around[1]))
