"""Grids of corners: their order, their spacing, and the sizes at which they are looked for."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.calibration.target import Board

#: A lens bends a true grid by less than this, in squares; a misread board is off by whole ones.
MOST_MISFIT = 0.35


def spacing_px(corners: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """The smallest distance (N,) of each corner to its neighbours in the grid of ``size`` (columns, rows)."""
    grid = corners.reshape(size[1], size[0], 2)
    nearest = np.full(grid.shape[:2], np.inf)
    across = np.linalg.norm(np.diff(grid, axis=1), axis=2)
    down = np.linalg.norm(np.diff(grid, axis=0), axis=2)
    for part, gaps in ((np.s_[:, 1:], across), (np.s_[:, :-1], across), (np.s_[1:], down), (np.s_[:-1], down)):
        nearest[part] = np.minimum(nearest[part], gaps)
    return nearest.ravel()


def ordered(corners: np.ndarray, board: Board, gray: np.ndarray) -> np.ndarray:
    """Corners (N, 2) in the board's order, whatever order the finder gave: finders start at either end.

    The grid is made right-handed in the picture, and the first inner square dark where the board's ends differ.
    """
    grid = corners.reshape(board.rows, board.columns, 2)
    along, down = grid[0, -1] - grid[0, 0], grid[-1, 0] - grid[0, 0]
    if along[0] * down[1] - along[1] * down[0] < 0:
        grid = grid[:, ::-1]
    first = _level(gray, grid[:2, :2])
    last = _level(gray, grid[-2:, -2:])
    if board.told_apart and first > last:
        grid = grid[::-1, ::-1]
    return np.ascontiguousarray(grid.reshape(-1, 2))


def shrunk(gray: np.ndarray, side_px: int) -> tuple[np.ndarray, int]:
    """``gray`` made smaller by a whole number, so that its longer side is at most ``side_px``; and that number."""
    scale = -(-max(gray.shape) // side_px)
    if scale == 1:
        return gray, 1
    height, width = (side // scale for side in gray.shape)
    whole = gray[: height * scale, : width * scale]
    return cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA), scale


def at_full_size(corners: np.ndarray, scale: int) -> np.ndarray:
    """From the small picture's pixel centres to the full picture's."""
    return (corners.reshape(-1, 2).astype(float) + 0.5) * scale - 0.5


def _level(gray: np.ndarray, square: np.ndarray) -> float:
    u, v = square.reshape(-1, 2).mean(axis=0).round().astype(int)
    return float(gray[max(v - 2, 0) : v + 3, max(u - 2, 0) : u + 3].mean())


def is_a_grid(corners: np.ndarray, board: Board) -> bool:
    """Whether the corners lie as a flat grid in perspective, within what a lens bends: a misread board does not."""
    flat = board.points_mm()[:, :2]
    homography, _ = cv2.findHomography(flat, corners)
    if homography is None:
        return False
    fitted = cv2.perspectiveTransform(flat.reshape(-1, 1, 2), homography).reshape(-1, 2)
    misfit = np.linalg.norm(fitted - corners, axis=1)
    return bool(np.all(misfit < MOST_MISFIT * spacing_px(corners, board.size)))
