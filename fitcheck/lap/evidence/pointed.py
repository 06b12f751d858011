"""Places pointed at with a finger: evidence with a width, for what passes near them, and never a position."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

#: A finger may have meant something else altogether, with this chance.
ASTRAY = 0.03


@dataclass(frozen=True)
class Pointed:
    """Places pointed at on a strip, ``along_mm`` and ``down_mm`` (N,), each good to ``u_mm`` (standard uncertainty)."""

    along_mm: np.ndarray
    down_mm: np.ndarray
    u_mm: float

    def against_none(self, along_mm: np.ndarray) -> np.ndarray:
        """Log odds (T,) that the places add to there being no mark at steps ``along_mm`` (T,)."""
        odds = np.zeros(len(along_mm))
        for along in self.along_mm:
            odds[int(np.abs(along_mm - along).argmin())] += np.log(ASTRAY)
        return odds


def as_odds(
    pointed: Pointed, along_mm: np.ndarray, rows_mm: np.ndarray, below_mm: np.ndarray | None = None
) -> np.ndarray:
    """Log odds (R, T) that the places add to rows ``rows_mm`` (R,) at steps ``along_mm`` (T,).

    ``below_mm`` (T,) is how far below the places the mark itself may be, and how unsure that is: an edge has two
    corners, and either may be meant.
    """
    odds = np.zeros((len(rows_mm), len(along_mm)))
    span = float(rows_mm[-1] - rows_mm[0])
    for along, down in zip(pointed.along_mm, pointed.down_mm, strict=True):
        step = int(np.abs(along_mm - along).argmin())
        below = 0.0 if below_mm is None else float(below_mm[step])
        u = float(np.hypot(pointed.u_mm, below))
        near = np.exp(-0.5 * ((rows_mm - down - below) / u) ** 2) / (u * np.sqrt(2.0 * np.pi))
        odds[:, step] += np.log((1.0 - ASTRAY) * near * span + ASTRAY)
    return odds
