"""Places where a clamp or another thing covers the lap, or the edge does not look like itself."""

from __future__ import annotations

import numpy as np

from fitcheck.lap.edge.common_profile import SPACING_MM, Aligned

LEAST_LIKENESS = 0.55
LEAST_SIGHT = 0.5
#: Tone and colour that wood does not change by within a hand's breadth along one plank.
STRANGE = np.array([0.35, 0.20, 0.20])
AROUND_MM = 150.0
GROW = 1


def covered(aligned: Aligned) -> np.ndarray:
    """Which windows (N,) are covered: out of sight, unlike the common profile, or strange in colour above and below
    the edge."""
    from scipy.ndimage import binary_dilation, median_filter

    wide = 2 * int(AROUND_MM / SPACING_MM) + 1
    odd = np.zeros(len(aligned.along_mm), bool)
    for side in (aligned.across_mm < -2.0, aligned.across_mm > aligned.across_mm[-1] - 2.0):
        tone = np.median(aligned.windows[:, side], axis=1)
        usual = np.stack([median_filter(channel, wide, mode="nearest") for channel in tone.T], axis=1)
        odd |= (np.abs(tone - usual) > STRANGE).any(axis=1)
    bad = (aligned.likeness < LEAST_LIKENESS) | odd
    return np.asarray(binary_dilation(bad, iterations=GROW) | (aligned.seen < LEAST_SIGHT))
