"""A mark's likeliest path among all that were summed: where, how sure, and what else it could be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

#: What is within this distance of the likeliest row is the same mark.
SAME_MARK_MM = 0.75
#: Where a finger says that the mark is there, and that holds less than this of its chance, its place is told from wider
#: about, with a wider uncertainty; without one, several likely places are none.
HOLDS, WIDER_MM = 0.985, (1.5, 2.5)


@dataclass(frozen=True)
class Path:
    """A mark's place in rows ``down_mm`` (T,) at each step, its standard uncertainty ``u_mm`` (T,), the ``chance`` (T,)
    that it runs there, that it is ``absent`` (T,), and the chance ``in_row`` (R, T) of every row."""

    down_mm: np.ndarray
    u_mm: np.ndarray
    chance: np.ndarray
    absent: np.ndarray
    in_row: np.ndarray

    def likeliest(self, rows_mm: np.ndarray, most: int = 2) -> list[Path]:
        """This path, and the next likeliest apart from it; ``rows_mm`` (R,) are the strip's rows."""
        found: list[Path] = []
        left = self.in_row
        for _ in range(most):
            found.append(path_of(left, self.absent, rows_mm))
            left = np.where(np.abs(rows_mm[:, None] - found[-1].down_mm) <= 2.0 * SAME_MARK_MM, 0.0, left)
        return found


def path_of(in_row: np.ndarray, absent: np.ndarray, rows_mm: np.ndarray, *, pointed: bool = False) -> Path:
    """The likeliest place at each step of a mark with chance ``in_row`` (R, T) in each row, ``absent`` (T,) of none."""
    held = _about_best(in_row, rows_mm, SAME_MARK_MM)
    for reach_mm in WIDER_MM if pointed else ():
        short = held.sum(axis=0) < HOLDS * (1.0 - absent)
        held = np.where(short[None, :], _about_best(in_row, rows_mm, reach_mm), held)
    whole = np.maximum(held.sum(axis=0), 1e-12)
    down = (held * rows_mm[:, None]).sum(axis=0) / whole
    spread = np.sqrt((held * (rows_mm[:, None] - down[None, :]) ** 2).sum(axis=0) / whole)
    return Path(down, spread, held.sum(axis=0), absent, in_row)


def _about_best(in_row: np.ndarray, rows_mm: np.ndarray, reach_mm: float) -> np.ndarray:
    """The chances (R, T) within ``reach_mm`` of the row about which most of them lie, 0 elsewhere."""
    wide = round(reach_mm / float(rows_mm[1] - rows_mm[0]))
    run = np.cumsum(np.pad(in_row, ((wide + 1, wide), (0, 0))), axis=0)
    best = (run[2 * wide + 1 :] - run[: -2 * wide - 1]).argmax(axis=0)
    return np.where(np.abs(np.arange(len(in_row))[:, None] - best[None, :]) <= wide, in_row, 0.0)
