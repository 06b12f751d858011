"""Graphite tells itself from grain by its roughness: a pencil catches the tops of the fibres, so its darkness flickers from
millimetre to millimetre along the line, where a streak of grain is smooth along its own fibres."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.lap.band import ROW_MM, Band
from fitcheck.lap.ridge import NARROWEST_MM, SIGMA_PX

CELL_MM = 1.0
FLICKER_MM = 5.0
BESIDE_MM = (1.2, 1.8)


def speckle(band: Band, blocks_mm: np.ndarray, off_mm: np.ndarray, px_mm: float) -> float:
    """Flicker of the ridge along a path against that of the wood beside it: about 1 for grain, 1.3 to 3 for pencil.

    ``off_mm`` (B,) is the path at ``blocks_mm`` (B,).
    """
    from scipy.ndimage import gaussian_filter1d

    reach = max(BESIDE_MM) + 1.0
    across = np.arange(-reach, reach + ROW_MM / 2, ROW_MM)
    path = np.interp(band.along_mm, blocks_mm, off_mm)
    rows = ((across[:, None] + path[None, :] - band.off_mm[0]) / ROW_MM).astype(np.float32)
    columns = np.ascontiguousarray(np.broadcast_to(np.arange(len(path), dtype=np.float32), rows.shape))
    straight = cv2.remap(band.tone, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    ridge = gaussian_filter1d(straight, max(NARROWEST_MM, SIGMA_PX * px_mm) / ROW_MM, axis=0, order=2)
    near = np.clip(np.round(rows[len(across) // 2]).astype(int), 0, len(band.off_mm) - 1)
    clear = band.seen[near, np.arange(len(path))]
    if clear.sum() < 40:
        return 1.0
    on_line = _flicker(ridge[np.abs(across) < 0.2][:, clear], band)
    beside = [_flicker(ridge[np.abs(across - side * off) < 0.2][:, clear], band) for off in BESIDE_MM for side in (-1, 1)]
    return float(np.sqrt(on_line / max(float(np.mean(beside)), 1e-12)))


def _flicker(rows: np.ndarray, band: Band) -> float:
    """Variance along the lap of what a 5 mm average leaves."""
    from scipy.ndimage import gaussian_filter1d

    cell = max(1, round(CELL_MM / float(band.along_mm[1] - band.along_mm[0])))
    mean = rows.mean(axis=0)
    cells = mean[: len(mean) // cell * cell].reshape(-1, cell).mean(axis=1)
    return float(np.var(cells - gaussian_filter1d(cells, FLICKER_MM / CELL_MM)))
