"""Smooth paths through a field of evidence: dynamic programming over place and slope, forward and back.

A pencil line struck along a batten is fair: its slope changes slowly. Grain wanders and ends. So the state of the
path is its row and its slope together, and what is paid for is a change of slope.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np


@dataclass(frozen=True)
class Trellis:
    """The best smooth path: its ``rows`` (B,) and the ``total`` of its evidence."""

    rows: np.ndarray
    total: float
    gain: np.ndarray
    forward: np.ndarray
    steepest: int
    bend_cost: float

    @cached_property
    def through(self) -> np.ndarray:
        """The best total (R, B) of any path through each cell; worked out only where it is asked for."""
        # Backward, a path seen from its other end falls where it rose: turn the columns round and mirror the slopes.
        backward, _ = _sweep(self.gain[:, ::-1], self.steepest, self.bend_cost)
        backward = backward[::-1, :, ::-1]
        return np.asarray(_join(self.forward, backward, self.gain, self.bend_cost).max(axis=2).T)

    def margin(self, away_rows: int) -> np.ndarray:
        """By how much (B,) the path beats the best path that passes at least ``away_rows`` rows off it, at each
        column."""
        rows = np.arange(len(self.through))[:, None]
        elsewhere = np.where(np.abs(rows - self.rows[None, :]) >= away_rows, self.through, -np.inf)
        return np.asarray(self.total - elsewhere.max(axis=0))


def search(gain: np.ndarray, *, steepest: int, bend_cost: float) -> Trellis:
    """The path of most ``gain`` (R, B), moving at most ``steepest`` rows a column, each change of slope by one row a
    column costing ``bend_cost``.

    >>> import numpy as np
    >>> field = np.zeros((5, 6)); field[2] = 1.0
    >>> found = search(field, steepest=1, bend_cost=0.2)
    >>> found.rows.tolist(), round(found.total, 1), round(float(found.margin(1).min()), 1)
    ([2, 2, 2, 2, 2, 2], 6.0, 1.2)
    """
    forward, came_from = _sweep(gain, steepest, bend_cost)
    rows = _trace(forward, came_from, steepest)
    return Trellis(rows, float(forward[-1].max()), gain, forward, steepest, bend_cost)


def _sweep(gain: np.ndarray, steepest: int, bend_cost: float) -> tuple[np.ndarray, np.ndarray]:
    """Best totals (B, R, S) of paths ending in each row with each last slope, and which slope they had before."""
    rows, columns = gain.shape
    slopes = 2 * steepest + 1
    best = np.full((columns, rows, slopes), -np.inf)
    came_from = np.zeros((columns, rows, slopes), np.int8)
    best[0] = gain[:, :1]
    for column in range(1, columns):
        kept, turned = _turned(best[column - 1], bend_cost)
        for slope in range(slopes):
            move = slope - steepest
            low, high = max(0, move), rows + min(0, move)
            best[column, low:high, slope] = kept[low - move : high - move, slope]
            came_from[column, low:high, slope] = turned[low - move : high - move, slope]
        best[column] += gain[:, column, None]
    return best, came_from


def _turned(last: np.ndarray, bend_cost: float) -> tuple[np.ndarray, np.ndarray]:
    """The best total with each next slope, allowing the slope to change by one, and the slope it came from."""
    kept = last.copy()
    slopes = np.broadcast_to(np.arange(last.shape[1], dtype=np.int8), last.shape)
    source = slopes.copy()
    for change in (-1, 1):
        rival = np.full_like(last, -np.inf)
        if change > 0:
            rival[:, 1:] = last[:, :-1] - bend_cost
        else:
            rival[:, :-1] = last[:, 1:] - bend_cost
        better = rival > kept
        kept[better] = rival[better]
        source[better] = slopes[better] - change
    return kept, source


def _join(forward: np.ndarray, backward: np.ndarray, gain: np.ndarray, bend_cost: float) -> np.ndarray:
    """Totals (B, R, S) through each state; a path may bend by one where its two halves meet."""
    halves = np.full_like(forward, -np.inf)
    for change in (-1, 0, 1):
        rolled = np.full_like(backward, -np.inf)
        if change == 0:
            rolled = backward
        elif change > 0:
            rolled[:, :, :-1] = backward[:, :, 1:] - bend_cost
        else:
            rolled[:, :, 1:] = backward[:, :, :-1] - bend_cost
        halves = np.maximum(halves, rolled)
    return forward + halves - gain.T[:, :, None]


def _trace(forward: np.ndarray, came_from: np.ndarray, steepest: int) -> np.ndarray:
    columns = len(forward)
    path = np.empty(columns, int)
    row, slope = np.unravel_index(int(np.argmax(forward[-1])), forward.shape[1:])
    path[-1] = row
    for column in range(columns - 1, 0, -1):
        before = came_from[column, row, slope]
        row = row - (slope - steepest)
        slope = before
        path[column - 1] = row
    return path
