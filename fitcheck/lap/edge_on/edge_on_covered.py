"""Places of an edge-on view where a clamp, its shadow or another thing lies over plank or strake."""

from __future__ import annotations

import numpy as np

from fitcheck.lap.edge.covered import AROUND_MM, STRANGE
from fitcheck.lap.edge.edge_path import log_tone
from fitcheck.lap.edge_on_band import Band

#: A thing wider than half of what it is compared with would pass for the wood.
LEAST_BLOCKS = 9
EDGE_ROWS, FACE_ROWS, STRAKE_ROWS = (0.2, 0.8), (1.1, 1.5), 24
GROW = 2


def strange(tall: Band, beside: Band, height_px: np.ndarray, px_per_mm: float, block_px: int) -> np.ndarray:
    """Which blocks (B,) have a tone or colour that wood does not change to within a hand's breadth.

    Looked at are the edge face, the plank's face above it and the strake below it; ``tall`` has its rows toward the
    sheer of the edge, ``beside`` toward the keel, ``height_px`` (B,) is the edge face's full height.
    """
    from scipy.ndimage import binary_dilation, median_filter

    away = -tall.at_px[:, None] / height_px
    zones = [_tones(tall, (away > low) & (away < high)) for low, high in (EDGE_ROWS, FACE_ROWS)]
    below = np.broadcast_to(np.arange(len(beside.at_px))[:, None] < STRAKE_ROWS, beside.values.shape[:2])
    zones.append(_tones(beside, below))
    around = 2 * max(LEAST_BLOCKS, int(AROUND_MM * px_per_mm / block_px)) + 1
    odd = np.zeros(tall.values.shape[1], bool)
    for tone in zones:
        usual = np.stack([median_filter(channel, around, mode="nearest") for channel in tone.T], axis=1)
        odd |= (np.abs(tone - usual) > STRANGE).any(axis=1)
    return np.asarray(binary_dilation(odd, iterations=GROW)) if odd.any() else odd


def _tones(band: Band, inside: np.ndarray) -> np.ndarray:
    """Median tone (B, 3) of each block's rows ``inside`` (R, B)."""
    tone = np.where(inside[..., None], log_tone(band.values), np.nan)
    return np.asarray(np.nanmedian(tone, axis=0))
