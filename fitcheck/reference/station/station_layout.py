"""What a station card looks like: sizes, places of its markers and their ids, for printing and for finding."""

from __future__ import annotations

import cv2
import numpy as np

DICTIONARY = cv2.aruco.DICT_5X5_250
CARD_MM, MARKER_MM, INSET_MM = (90.0, 60.0), 20.0, 4.0
MARKERS_ON_CARD = 4
#: Signs of x and y of four corners, clockwise from the top left.
CORNER_SIGNS = np.array([(-1.0, 1.0), (1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)])


def marker_corners_mm(place: int) -> np.ndarray:
    """Corners (4, 2) in mm of marker ``place`` (0 top left, 1 top right, 2 bottom right, 3 bottom left) of a card.

    The card's frame has its origin at the centre, x right and y up as the number reads; corners run clockwise from the
    top left.

    >>> marker_corners_mm(0)[0].tolist(), marker_corners_mm(2)[2].tolist()
    ([-41.0, 26.0], [41.0, -26.0])
    """
    x = CARD_MM[0] / 2.0 - INSET_MM - MARKER_MM / 2.0
    y = CARD_MM[1] / 2.0 - INSET_MM - MARKER_MM / 2.0
    centre = CORNER_SIGNS[place] * (x, y)
    return np.asarray(centre + CORNER_SIGNS * MARKER_MM / 2.0)


def card_corners_mm() -> np.ndarray:
    """Corners (4, 2) in mm of the card itself, in its own frame, clockwise from the top left."""
    return np.asarray(CORNER_SIGNS * CARD_MM / 2.0)
