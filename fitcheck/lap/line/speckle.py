"""Graphite tells itself from grain by its roughness: a pencil catches the tops of the fibres, so its darkness
flickers from
millimetre to millimetre along the line, where a streak of grain is smooth along its own fibres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.line.line_band import ROW_MM, Band, along_path, seen_along
from fitcheck.lap.line.ridge import NARROWEST_MM, SIGMA_PX

CELL_MM = 1.0
FLICKER_MM = 5.0
BESIDE_MM = (1.2, 1.8)
AROUND_MM = 30.0


@dataclass(frozen=True)
class Speckle:
    """``whole``: flicker of the ridge along a path against that of the wood beside it, about 1 for grain, 1.3 to 3
    for pencil; ``local`` (B,) the same within a hand's breadth."""

    whole: float
    local: np.ndarray


def speckle(band: Band, blocks_mm: np.ndarray, off_mm: np.ndarray, px_mm: float) -> Speckle:
    """The speckle of a path ``off_mm`` (B,) at ``blocks_mm`` (B,)."""
    from scipy.ndimage import gaussian_filter1d

    reach = max(BESIDE_MM) + 1.0
    across = np.arange(-reach, reach + ROW_MM / 2, ROW_MM)
    straight = along_path(band, blocks_mm, off_mm, across)
    ridge = gaussian_filter1d(straight, max(NARROWEST_MM, SIGMA_PX * px_mm) / ROW_MM, axis=0, order=2)
    cell = max(1, round(CELL_MM / float(band.along_mm[1] - band.along_mm[0])))
    clear = _cells(seen_along(band, blocks_mm, off_mm).astype(float), cell) > 0.99
    on_line = _flicker(ridge[np.abs(across) < 0.2].mean(axis=0), cell)
    beside = np.mean(
        [
            _flicker(ridge[np.abs(across - side * off) < 0.2].mean(axis=0), cell)
            for off in BESIDE_MM
            for side in (-1, 1)
        ],
        axis=0,
    )
    if clear.sum() < 20:
        return Speckle(1.0, np.ones(len(blocks_mm)))
    whole = float(np.sqrt(on_line[clear].mean() / max(beside[clear].mean(), 1e-12)))
    weight = np.where(clear, 1.0, 1e-3)
    around = lambda power: gaussian_filter1d(power * weight, AROUND_MM / CELL_MM, mode="nearest")  # noqa: E731
    local = np.sqrt(around(on_line) / np.maximum(around(beside), 1e-12))
    at = band.along_mm[: len(local) * cell].reshape(-1, cell).mean(axis=1)
    return Speckle(whole, np.interp(blocks_mm, at, local))


def _cells(row: np.ndarray, cell: int) -> np.ndarray:
    return np.asarray(row[: len(row) // cell * cell].reshape(-1, cell).mean(axis=1))


def _flicker(row: np.ndarray, cell: int) -> np.ndarray:
    """Square of what a 5 mm average along the lap leaves, in cells of a millimetre."""
    from scipy.ndimage import gaussian_filter1d

    cells = _cells(row, cell)
    return np.asarray((cells - gaussian_filter1d(cells, FLICKER_MM / CELL_MM)) ** 2)
