"""How much each place looks like a pencil line: a thin dark ridge along the lap, in units of the wood's own ridges."""

from __future__ import annotations

import numpy as np

from fitcheck.ground.trellis import Trellis, search
from fitcheck.lap.line.line_band import ROW_MM, Band

BLOCK_MM = 6.0
CELL_MM = 1.0
NARROWEST_MM = 0.20
#: A ridge filter of 0.65 pixel is the narrowest that the picture's blur leaves anything for.
SIGMA_PX = 0.65
#: The step at the edge has its foot within so much of it.
FOOT_MM = 1.2
#: The wood beside a line is looked at so many filter widths off its middle. Elsewhere one side may rise less than the
#: other, where the knuckle's shade changes: the curve counts as far as that many times the lesser rise.
FLANK_SIGMAS, UNEVEN = 2.5, 2.0
CAP = 5.0
STEEPEST, BEND_COST = 4, 0.6
UNSEEN = -1.0


def ridge_gain(band: Band, px_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Evidence (R, B) for a dark ridge, and the blocks' places along the lap (B,).

    Each millimetre is capped before it is averaged over a block, so that one dark streak or rivet mark cannot win.
    Cells out of sight count as no line.
    """
    column_mm = float(band.along_mm[1] - band.along_mm[0])
    cell, block = max(1, round(CELL_MM / column_mm)), max(1, round(BLOCK_MM / CELL_MM))
    wide = cell * block
    columns = len(band.along_mm) // wide * wide
    sigma = max(NARROWEST_MM, SIGMA_PX * px_mm) / ROW_MM
    tone = band.tone[:, :columns].reshape(len(band.tone), -1, cell).mean(axis=2)
    curved, allowed = _curved(tone, sigma)
    foot = ((band.off_mm >= 0.0) & (band.off_mm < FOOT_MM))[:, None]
    cells = np.minimum(curved, np.where(foot, allowed, np.maximum(UNEVEN * allowed, 0.0)))
    seen = band.seen[:, :columns].reshape(len(cells), -1, cell).all(axis=2)
    spread = float(np.median(np.abs(curved[seen]))) / 0.6745 if seen.any() else 1.0
    scored = np.where(seen, np.clip(cells / max(spread, 1e-6), -CAP, CAP), UNSEEN)
    along = band.along_mm[:columns].reshape(-1, wide).mean(axis=1)
    return scored.reshape(len(cells), -1, block).mean(axis=2), along


def _curved(tone: np.ndarray, sigma: float) -> tuple[np.ndarray, np.ndarray]:
    """How far tone (R, C) curves up out of a dark ridge at each place, and how far the lesser rise beside it allows.

    At the foot of a step, the edge or a shadow's end, tone curves as well; a line is darker than the wood on both of
    its sides.
    """
    from scipy.ndimage import gaussian_filter1d

    away = max(1, round(FLANK_SIGMAS * sigma))
    curved = gaussian_filter1d(tone, sigma, axis=0, order=2, mode="nearest")
    smooth = np.pad(gaussian_filter1d(tone, sigma, axis=0, mode="nearest"), ((away, away), (0, 0)), mode="edge")
    rise = np.minimum(smooth[: -2 * away], smooth[2 * away :]) - smooth[away:-away]
    return curved, rise * _curve_of_rise(sigma, away)


def _curve_of_rise(sigma: float, away: int) -> float:
    """The curve at the middle of an even ridge as wide as the filter, for a rise of one on either side."""
    wide = np.sqrt(2.0) * sigma
    return float(1.0 / wide**2 / (1.0 - np.exp(-0.5 * (away / wide) ** 2)))


def best_ridges(gain: np.ndarray, count: int, away_mm: float = 0.9) -> list[Trellis]:
    """The best fair paths, each at least ``away_mm`` off those before it, best first."""
    left = gain.copy()
    paths = []
    rows = np.arange(len(gain))[:, None]
    for _ in range(count):
        path = search(left, steepest=STEEPEST, bend_cost=BEND_COST)
        paths.append(path)
        left = np.where(np.abs(rows - path.rows[None, :]) * ROW_MM < away_mm, UNSEEN, left)
    return paths
