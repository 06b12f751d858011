"""The eight ways a camera may have been held: turning pixels, and the map that turns a camera with them.

Orientations are those of the EXIF tag (JEITA CP-3451, tag 0x0112), 1 to 8: how the stored pixels are turned to stand
as a person sees them.
"""

from __future__ import annotations

import cv2
import numpy as np

ORIENTATIONS = range(1, 9)
#: What is done to the stored pixels, in this order: mirror left to right, then turn clockwise.
_STEPS: dict[int, tuple[bool, int | None]] = {
    1: (False, None),
    2: (True, None),
    3: (False, cv2.ROTATE_180),
    4: (True, cv2.ROTATE_180),
    5: (True, cv2.ROTATE_90_COUNTERCLOCKWISE),
    6: (False, cv2.ROTATE_90_CLOCKWISE),
    7: (True, cv2.ROTATE_90_CLOCKWISE),
    8: (False, cv2.ROTATE_90_COUNTERCLOCKWISE),
}
#: The same as a 2 x 2 map of directions (u right, v down), upright from stored.
_DIRECTIONS = {
    1: ((1, 0), (0, 1)),
    2: ((-1, 0), (0, 1)),
    3: ((-1, 0), (0, -1)),
    4: ((1, 0), (0, -1)),
    5: ((0, 1), (1, 0)),
    6: ((0, -1), (1, 0)),
    7: ((0, -1), (-1, 0)),
    8: ((0, 1), (-1, 0)),
}


def turned_pixels(pixels: np.ndarray, orientation: int) -> np.ndarray:
    """The picture (H, W[, 3]) turned upright from its stored pixels. Raises KeyError for an orientation outside 1 to 8.

    >>> turned_pixels(np.array([[1, 2, 3]], np.uint8), 6)
    array([[1],
           [2],
           [3]], dtype=uint8)
    """
    mirror, turn = _STEPS[orientation]
    if mirror:
        pixels = cv2.flip(pixels, 1)
    return pixels if turn is None else cv2.rotate(pixels, turn)


def turned_size(size_px: tuple[int, int], orientation: int) -> tuple[int, int]:
    """The size (w, h) of the upright picture, from that of the stored one; and the other way round.

    >>> turned_size((4032, 3024), 6)
    (3024, 4032)
    """
    return (size_px[1], size_px[0]) if orientation >= 5 else size_px


def upright_from_stored(orientation: int, size_px: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """From stored to upright pixels, as ``(directions (2, 2), shift_px (2,))``: upright = directions @ stored + shift.

    ``size_px`` is (w, h) of the stored pixels; integers are pixel centres, so mirroring gives u' = w - 1 - u.

    >>> directions, shift_px = upright_from_stored(3, (640, 480))
    >>> print(directions @ [0, 0] + shift_px)
    [639. 479.]
    """
    directions = np.array(_DIRECTIONS[orientation], float)
    far_corner = directions @ (np.array(size_px, float) - 1.0)
    return directions, np.maximum(-far_corner, 0.0)
