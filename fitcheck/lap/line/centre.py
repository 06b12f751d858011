"""The middle of a pencil line: the strongest dark ridge of a filter as wide as line and blur together.

The lap line lies on the knuckle, where the shade steps. The second derivative is blind to a step at its own middle,
so unlike sides hardly move it; reading
the mean profile as a bar between free levels and ramps instead moved it by up to 0.12 mm, after the grain beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.lap.line.line_band import ROW_MM, Band, along_path

WINDOW_MM, SPACING_MM = 10.0, 5.0
REACH_MM = 1.5
#: Grain beside the line draws the ridge for decimetres on end, the more the coarser the pixels: seen on made scenes.
LEAST_U_MM, U_PER_PX = 0.03, 0.12


@dataclass(frozen=True)
class Centres:
    """Line middles ``off_mm`` below the edge at ``along_mm`` (N,), with standard uncertainty ``u_mm`` (N,)."""

    along_mm: np.ndarray
    off_mm: np.ndarray
    u_mm: np.ndarray


def line_centres(band: Band, blocks_mm: np.ndarray, rough_off_mm: np.ndarray, px_mm: float) -> Centres:
    """Centres each 5 mm from a rough path ``rough_off_mm`` (B,) at ``blocks_mm`` (B,)."""
    from scipy.ndimage import gaussian_filter1d

    smooth = gaussian_filter1d(rough_off_mm, 1.5, mode="nearest")
    rough = np.interp(band.along_mm, blocks_mm, smooth)
    across = np.arange(-REACH_MM, REACH_MM + ROW_MM / 2, ROW_MM)
    straight = along_path(band, blocks_mm, smooth, across)
    wide = max(1, round(WINDOW_MM / (band.along_mm[1] - band.along_mm[0])))
    windows = cv2.blur(straight, (wide, 1))
    step = max(1, wide // 2)
    along = band.along_mm[wide // 2 :: step]
    peaks, height = _darkest(windows[:, wide // 2 :: step], across, px_mm)
    faired = _fair(peaks, height)
    scatter = gaussian_filter1d(np.abs(peaks - faired), 6.0, mode="nearest") * 1.25
    off = np.interp(along, band.along_mm, rough) + faired
    # Fairing over five windows leaves under half of the scatter.
    return Centres(along, off, np.hypot(0.5 * scatter, LEAST_U_MM + U_PER_PX * px_mm))


def _ridge_sigma(px_mm: float) -> float:
    return max(0.24, 0.8 * px_mm)


def _darkest(windows: np.ndarray, across: np.ndarray, px_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Sub-row place of the strongest dark ridge within 0.6 mm of the path, and its strength."""
    from scipy.ndimage import gaussian_filter1d

    curved = gaussian_filter1d(windows, _ridge_sigma(px_mm) / ROW_MM, axis=0, order=2, mode="nearest")
    near = np.abs(across) <= 0.6
    # The path is known to a few rows: a rival further off must be clearly darker to be taken.
    weighed = np.where(near[:, None], curved * (1.0 - 0.5 * (across[:, None] / 0.6) ** 2), -np.inf)
    top = np.clip(np.argmax(weighed, axis=0), 1, len(across) - 2)
    here = np.arange(windows.shape[1])
    left, mid, right = curved[top - 1, here], curved[top, here], curved[top + 1, here]
    bend = np.minimum(left - 2 * mid + right, -1e-9)
    return across[top] + np.clip(0.5 * (left - right) / bend, -1, 1) * ROW_MM, np.maximum(mid, 0.0)


def _fair(peaks: np.ndarray, height: np.ndarray) -> np.ndarray:
    from scipy.ndimage import gaussian_filter1d, median_filter

    steady = median_filter(peaks, 5, mode="nearest")
    weight = (height + 1e-4) * np.where(np.abs(peaks - steady) < 0.25, 1.0, 0.02)
    return np.asarray(
        gaussian_filter1d(weight * peaks, 1.3, mode="nearest") / gaussian_filter1d(weight, 1.3, mode="nearest")
    )
