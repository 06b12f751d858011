"""A quick look at a photograph in which the board was not found: how much of a board is there, and what is wrong."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.calibration.grid import at_full_size, shrunk
from fitcheck.calibration.target import Board
from fitcheck.ground.refusal import Refused
from fitcheck.picture.focus import blur_px

SIDE_PX = 1024
#: Over this blur no finder is expected to see the board.
BLIND_BLUR_PX = 5.0
#: How near the rim of the picture a corner can lie and still be seen as one, in squares.
RIM_SQUARES = 0.2


@dataclass(frozen=True, eq=False)
class Glance:
    """The largest grid of corners found: ``grid_px`` (rows, columns, 2), in a picture of ``size_px`` (w, h)."""

    grid_px: np.ndarray
    size_px: tuple[int, int]

    @property
    def count(self) -> tuple[int, int]:
        """Corners seen, the larger count first."""
        rows, columns = self.grid_px.shape[:2]
        return max(rows, columns), min(rows, columns)

    def is_larger(self, board: Board) -> bool:
        """Whether a larger board is in sight. One row more does not say so: the paper's corners can look like one."""
        columns, rows = self.count
        return columns > board.columns and rows > board.rows

    def refused(self, board: Board) -> Refused:
        """The refusal that tells what was seen."""
        columns, rows = self.count
        if (columns < board.columns or rows < board.rows) and self._runs_out():
            return runs_out()
        text = f"{columns} x {rows} inner corners were seen and {board.columns} x {board.rows} were asked for."
        what = "Count the inner corners, where four squares meet; look for glare or a thing in the way."
        return Refused("board-count", f"{text} {what}")

    def _runs_out(self) -> bool:
        """Whether the next row or column of corners, on any side, would lie outside the picture or at its very rim."""
        grid = self.grid_px
        sides = [(grid[0], grid[1]), (grid[-1], grid[-2]), (grid[:, 0], grid[:, 1]), (grid[:, -1], grid[:, -2])]
        points = np.concatenate([2 * last - before for last, before in sides])
        rim_px = RIM_SQUARES * float(np.median(np.linalg.norm(np.diff(grid, axis=1), axis=2)))
        return bool(np.any(points < rim_px) or np.any(points > np.array(self.size_px) - 1 - rim_px))


def look(gray: np.ndarray) -> Glance | None:
    """The largest grid of corners that a quick look at ``gray`` (H, W) uint8 finds, or None."""
    small, scale = shrunk(gray, SIDE_PX)
    for least in ((4, 4), (3, 3)):
        found, corners, shape = cv2.findChessboardCornersSBWithMeta(small, least, cv2.CALIB_CB_LARGER)
        if found:
            rows, columns = shape.shape
            return Glance(at_full_size(corners, scale).reshape(rows, columns, 2), (gray.shape[1], gray.shape[0]))
    return None


def runs_out() -> Refused:
    """The refusal where part of the board lies outside the picture."""
    text = "the board runs out of the picture. Keep all of it in sight, with some of its white rim."
    return Refused("board-cut", text)


def blurred(rise_px: float) -> Refused:
    """The refusal where edges rise, from 10 % to 90 %, over ``rise_px``."""
    return Refused("board-blurred", f"it is blurred over {rise_px:.0f} pixels. Hold still and focus on the board.")


def unseen(gray: np.ndarray, board: Board, glance: Glance | None) -> Refused:
    """The refusal where the finders did not find ``board``: blur explains it first, then what a quick look saw."""
    blur = blur_px(gray)
    if blur is not None and blur > BLIND_BLUR_PX:
        return blurred(2.563 * blur)
    if glance is not None:
        return glance.refused(board)
    return Refused("board-none", "no board of squares stands out in it. Show the whole board, flat and evenly lit.")
