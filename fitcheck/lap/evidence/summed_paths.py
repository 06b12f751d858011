"""All fair paths along a strip, each by its odds, summed: how likely a mark runs through each cell.

A line struck along a batten and a planed edge are fair: their slope changes slowly. So a path's state is its row and
its slope together. Paths are summed (forward and backward, as for a hidden Markov model; Rabiner, Proceedings of the
IEEE 77, 1989), not the best one taken: where two are as likely as each other both keep their share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Fairness:
    """How a path may run: slopes up to ``steepest`` rows a step, changed by one row a step with chance ``bends``.

    ``stops`` is the chance a step that the mark ends or begins; 0 for a mark that is there all along.
    """

    steepest: int
    bends: float
    stops: float = 0.0


@dataclass(frozen=True)
class Marginals:
    """The chance ``in_row`` (R, T) that the mark runs through each row at each step, ``none`` (T,) that there is none.

    ``log_total`` is the logarithm of the summed odds of all paths, against a picture that tells nothing.
    """

    in_row: np.ndarray
    none: np.ndarray
    log_total: float


def summed_paths(odds: np.ndarray, none: np.ndarray, fairness: Fairness) -> Marginals:
    """Marginals of a mark from its logarithmic ``odds`` (R, T) in each cell and of its absence ``none`` (T,).

    >>> field = np.zeros((7, 12)); field[3] = 2.0
    >>> found = summed_paths(field, np.zeros(12), Fairness(1, 0.02, 0.01))
    >>> found.in_row.argmax(axis=0).tolist() == [3] * 12, bool(found.in_row[3].min() > 0.9)
    (True, True)
    """
    rows, steps = odds.shape
    begin = 1.0 / (rows * (2 * fairness.steepest + 1))
    worth = np.exp(odds)
    absence = np.exp(none)
    share = 0.5 if fairness.stops else 0.0
    log_total = 0.0
    paths, absent = np.full((rows, 2 * fairness.steepest + 1), (1.0 - share) * begin), share
    ahead = []
    for at in range(steps):
        if at:
            ended = paths.sum() * fairness.stops
            paths = _onward(paths, fairness) * (1.0 - fairness.stops) + absent * fairness.stops * begin
            absent = absent * (1.0 - fairness.stops) + ended
        ahead.append((paths, absent))
        paths, absent = paths * worth[:, at, None], absent * absence[at]
        scale = paths.sum() + absent
        log_total += float(np.log(scale))
        paths, absent = paths / scale, absent / scale
    chance, nothing = np.empty(odds.shape), np.empty(steps)
    behind, behind_none = np.ones_like(paths), 1.0
    for at in reversed(range(steps)):
        behind, behind_none = behind * worth[:, at, None], behind_none * absence[at]
        both, neither = (ahead[at][0] * behind).sum(axis=1), ahead[at][1] * behind_none
        scale = both.sum() + neither
        chance[:, at], nothing[at] = both / scale, neither / scale
        begun = behind.sum() * begin * fairness.stops
        behind = _back(behind, fairness) * (1.0 - fairness.stops) + behind_none * fairness.stops
        behind_none = behind_none * (1.0 - fairness.stops) + begun
        scale = max(float(behind.max()), behind_none)
        behind, behind_none = behind / scale, behind_none / scale
    return Marginals(chance, nothing, log_total)


def _onward(paths: np.ndarray, fairness: Fairness) -> np.ndarray:
    """Odds (R, S) a step further on: each path keeps its slope or changes it by one, and moves by it."""
    turned = _turned(paths, fairness)
    moved = np.zeros_like(paths)
    for slope in range(paths.shape[1]):
        start, end = _shifted(slope - fairness.steepest, len(paths))
        moved[end, slope] = turned[start, slope]
    return moved


def _back(paths: np.ndarray, fairness: Fairness) -> np.ndarray:
    """Odds (R, S) a step back: :func:`_onward` the other way."""
    moved = np.zeros_like(paths)
    for slope in range(paths.shape[1]):
        start, end = _shifted(slope - fairness.steepest, len(paths))
        moved[start, slope] = paths[end, slope]
    return _turned(moved, fairness)


def _turned(paths: np.ndarray, fairness: Fairness) -> np.ndarray:
    turned = paths * (1.0 - fairness.bends)
    turned[:, 1:] += paths[:, :-1] * (0.5 * fairness.bends)
    turned[:, :-1] += paths[:, 1:] * (0.5 * fairness.bends)
    return turned


def _shifted(move: int, rows: int) -> tuple[slice, slice]:
    """The rows that a move starts from and those where it ends."""
    return slice(max(0, -move), rows + min(0, -move)), slice(max(0, move), rows + min(0, move))
