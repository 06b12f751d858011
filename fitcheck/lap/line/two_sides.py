"""Is a path darker than the wood on both of its sides, as a line is, or on one side only, as the foot of a step?"""

from __future__ import annotations

import numpy as np

from fitcheck.lap.line.line_band import ROW_MM, Band, along_path, seen_along
from fitcheck.lap.line.ridge import FLANK_SIGMAS, NARROWEST_MM, SIGMA_PX

#: The path is known to so much; the darkest place within it counts.
OFF_PATH_MM = 0.3


def two_sided(band: Band, blocks_mm: np.ndarray, off_mm: np.ndarray, px_mm: float) -> float:
    """The lesser of the rises beside a path ``off_mm`` (B,) at ``blocks_mm`` (B,) as a share of the greater, at most 1.

    About 1 for a line on even wood, 0.2 to 0.6 where the shade changes at the line, none at the foot of a step.
    """
    from scipy.ndimage import gaussian_filter1d

    sigma_mm = max(NARROWEST_MM, SIGMA_PX * px_mm)
    away = FLANK_SIGMAS * sigma_mm
    across = np.arange(-away - 3 * sigma_mm, away + 3 * sigma_mm + ROW_MM / 2, ROW_MM)
    clear = seen_along(band, blocks_mm, off_mm)
    if not clear.any():
        return 0.0
    profile = np.median(along_path(band, blocks_mm, off_mm, across)[:, clear], axis=1)
    smooth = gaussian_filter1d(profile, sigma_mm / ROW_MM)
    darkest = smooth[np.abs(across) <= OFF_PATH_MM].min()
    rises = np.interp([-away, away], across, smooth) - darkest
    return float(rises.min() / max(rises.max(), 1e-6))
