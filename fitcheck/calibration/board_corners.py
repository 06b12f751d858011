"""Find the board's inner corners in one photograph: chained finders, then a fine placing at full size.

The corners, not the solver, are where a calibration goes wrong: two finders differ by several times the error that a
solver states. So every corner carries the place that a second finder gives it, and the difference goes into the stated
covariance.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.calibration.glance import blurred, look, runs_out, unseen
from fitcheck.calibration.grid import at_full_size, is_a_grid, ordered, shrunk, spacing_px
from fitcheck.calibration.target import Board

WORK_SIDE_PX, EXHAUSTIVE_SIDE_PX = 2048, 1280
#: Half-width of the window of the fine placing, in the smallest spacing about the corner: a wider one reaches the next.
WINDOW = 0.27
SECOND_WINDOW = 0.2
#: A light smoothing before the fine placing halves its error under noise.
SMOOTH_PX = 1.0
LEAST_WINDOW_PX, LEAST_WINDOW = 4, 0.6
#: A view of which fewer corners than this share can be placed lies half outside the picture.
FEWEST_USED = 0.6
#: An edge wider than this share of a square leaves its corners no place of their own.
MOST_RISE = 0.4
_EXHAUSTIVE = cv2.CALIB_CB_EXHAUSTIVE | cv2.CALIB_CB_ACCURACY
_CLASSIC = cv2.CALIB_CB_ADAPTIVE_THRESH | cv2.CALIB_CB_FAST_CHECK


@dataclass(frozen=True, eq=False)
class Corners:
    """The corners of one view, in the board's order: row by row, the first inner square dark.

    ``points_px`` (N, 2) as finely placed; ``second_px`` (N, 2) the same corners by a second finder; ``used`` (N,) false
    for corners too near the rim of the picture to be placed. ``rise_px`` is how wide an edge of a square is, from
    10 % to 90 %.
    """

    points_px: np.ndarray
    second_px: np.ndarray
    used: np.ndarray
    rise_px: float


def find_corners(gray: np.ndarray, board: Board) -> Corners:
    """The board's corners in ``gray`` (H, W) uint8.

    Raises :class:`Refused`: ``board-none``, ``board-blurred``, ``board-cut`` (it runs out of the picture),
    ``board-count`` (another count of corners).
    """
    second_px = found = sector_corners(gray, board.size)
    if found is None:
        glance = look(gray)
        if glance is not None and glance.is_larger(board):
            raise glance.refused(board)
        found = classic_corners(gray, board.size)
        if found is None:
            second_px = found = sector_corners(gray, board.size, exhaustive=True)
        if found is None:
            raise unseen(gray, board, glance)
    if not is_a_grid(found, board):
        raise unseen(gray, board, None)
    found = ordered(found, board, gray)
    points_px, used = place(gray, found, board.size)
    if np.mean(used) < FEWEST_USED:
        raise runs_out()
    if second_px is not None:
        second_px = ordered(second_px, board, gray)
    else:
        second_px = place(gray, found, board.size, window=SECOND_WINDOW, smooth_px=0.0)[0]
    sharpness = cv2.estimateChessboardSharpness(gray, board.size, points_px.astype(np.float32).reshape(-1, 1, 2))
    rise_px = float(sharpness[0][0])
    if rise_px > MOST_RISE * float(np.median(spacing_px(points_px, board.size))):
        raise blurred(rise_px)
    return Corners(points_px, second_px, used, rise_px)


def sector_corners(gray: np.ndarray, size: tuple[int, int], *, exhaustive: bool = False) -> np.ndarray | None:
    """Corners (N, 2) by the sector-based finder (Duda & Frese, BMVC 2018), or None; searched at a working size.

    The exhaustive search is ten times slower. Never with the picture normalised, which shifts corners by up to several
    pixels.
    """
    small, scale = shrunk(gray, EXHAUSTIVE_SIDE_PX if exhaustive else WORK_SIDE_PX)
    found, corners = cv2.findChessboardCornersSB(small, size, flags=_EXHAUSTIVE if exhaustive else 0)
    return at_full_size(corners, scale) if found else None


def classic_corners(gray: np.ndarray, size: tuple[int, int]) -> np.ndarray | None:
    """Corners (N, 2) by the finder that joins dark squares, or None; coarse, to be placed finely by :func:`place`."""
    small, scale = shrunk(gray, WORK_SIDE_PX)
    found, corners = cv2.findChessboardCorners(small, size, flags=_CLASSIC)
    return at_full_size(corners, scale) if found else None


def place(
    gray: np.ndarray,
    corners: np.ndarray,
    size: tuple[int, int],
    *,
    window: float = WINDOW,
    smooth_px: float = SMOOTH_PX,
) -> tuple[np.ndarray, np.ndarray]:
    """Place each corner (N, 2) finely, and say (N,) which had room to be.

    The window is a share of the smallest spacing about that corner, and stays inside the picture.
    """
    if smooth_px > 0:
        gray = cv2.GaussianBlur(gray, (0, 0), smooth_px)
    room = np.minimum(corners, np.array(gray.shape[::-1]) - 1.0 - corners).min(axis=1) - 2.0
    wanted_px = np.round(window * spacing_px(corners, size))
    half_px = np.minimum(wanted_px, room).astype(int)
    used = half_px >= np.maximum(LEAST_WINDOW_PX, LEAST_WINDOW * wanted_px)
    placed = corners.astype(np.float32)
    stop = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 60, 1e-3)
    for at in np.flatnonzero(used):
        one = np.ascontiguousarray(placed[at : at + 1])
        placed[at] = cv2.cornerSubPix(gray, one, (int(half_px[at]),) * 2, (-1, -1), stop).reshape(2)
    moved = np.linalg.norm(placed - corners, axis=1)
    used &= moved < half_px
    return placed.astype(float), used
