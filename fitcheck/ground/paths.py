"""Best paths along a strip by dynamic programming."""

from __future__ import annotations

import numpy as np


def best_path(gain: np.ndarray, *, reach: int = 1, bend_cost: float = 0.3) -> tuple[np.ndarray, float]:
    """The path of most gain from the first column to the last.

    ``gain`` (R, C); from column to column the path moves at most ``reach`` rows, each row moved costing
    ``bend_cost``. Returns the
    rows (C,) and the mean gain a column.

    >>> import numpy as np
    >>> rows, mean = best_path(np.eye(4)[::-1], bend_cost=0.0)
    >>> rows.tolist(), mean
    ([3, 2, 1, 0], 1.0)
    """
    rows, columns = gain.shape
    total = gain[:, 0].astype(float)
    came_from = np.zeros((columns, rows), np.int16)
    here = np.arange(rows)
    for column in range(1, columns):
        best, source = total.copy(), here.copy()
        for move in range(1, reach + 1):
            for step in (-move, move):
                shifted = np.full(rows, -np.inf)
                low, high = max(0, step), rows + min(0, step)
                shifted[low:high] = total[low - step : high - step] - bend_cost * move
                better = shifted > best
                best[better], source[better] = shifted[better], (here - step)[better]
        total = best + gain[:, column]
        came_from[column] = source
    path = np.empty(columns, int)
    path[-1] = int(np.argmax(total))
    for column in range(columns - 1, 0, -1):
        path[column - 1] = came_from[column, path[column]]
    return path, float(total[path[-1]] / columns)
