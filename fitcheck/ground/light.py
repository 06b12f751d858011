"""How much light a level stored in a picture stands for: the one light curve, that of sRGB (IEC 61966-2-1).

Lenses mix light, not stored levels. What lies between two woods, or in a slit a pixel wide, is right only in amounts of
light.
"""

from __future__ import annotations

import numpy as np

#: The curve is a straight line up to this share of the highest level, and a power of 2.4 above it.
STRAIGHT_TO, STRAIGHT, OFFSET, POWER = 0.04045, 12.92, 0.055, 2.4
WHITE = 255.0


def light_of_levels(levels: np.ndarray) -> np.ndarray:
    """Amounts of light, 0 for black to 1 for white, of stored ``levels`` from 0 to 255, any shape.

    Bytes are looked up in a table and give float32. Floats, such as means of levels, are worked out; below 0, where
    interpolation may leave them, there is no light.

    >>> light_of_levels(np.array([0.0, 20.0, 188.0, 255.0])).round(3).tolist()
    [0.0, 0.007, 0.503, 1.0]
    """
    if levels.dtype == np.uint8:
        return np.asarray(_OF_BYTES[levels])
    return _worked_out(levels)


def _worked_out(levels: np.ndarray) -> np.ndarray:
    share = np.maximum(levels, 0.0) / WHITE
    bent = ((share + OFFSET) / (1.0 + OFFSET)) ** POWER
    return np.asarray(np.where(share <= STRAIGHT_TO, share / STRAIGHT, bent))


_OF_BYTES = _worked_out(np.arange(256.0)).astype(np.float32)
