"""Summed paths against every path there is, on fields small enough to walk them all.

The recursion is that of a hidden Markov model (Rabiner, Proceedings of the IEEE 77, 1989): its marginals sum to one at
every step, and its total does not depend on the way in which the field is walked.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from fitcheck.lap.evidence.summed_paths import Fairness, summed_paths

ROWS, STEPS = 4, 4
NONE = (-1, 0)


def made(seed: int, rows: int = ROWS, steps: int = STEPS) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    return rng.normal(size=(rows, steps)), rng.normal(size=steps)


def chance_of(one: tuple[int, int], then: tuple[int, int], fair: Fairness, begin: float) -> float:
    """Chance of the step from a row and slope to the next; the slope is the move by which the row was reached."""
    if one == NONE or then == NONE:
        change = fair.stops if one != then else 1.0 - fair.stops
        return change * (begin if one == NONE != then else 1.0)
    turn = abs(then[1] - one[1])
    if then[0] - one[0] != then[1] or turn > 1:
        return 0.0
    return (1.0 - fair.stops) * (0.5 * fair.bends if turn else 1.0 - fair.bends)


def walked(odds: np.ndarray, none: np.ndarray, fair: Fairness) -> tuple[np.ndarray, np.ndarray, float]:
    """Marginals and total from every path, one by one."""
    slopes = range(-fair.steepest, fair.steepest + 1)
    states = [*itertools.product(range(len(odds)), slopes), *([NONE] if fair.stops else [])]
    begin = 1.0 / (len(odds) * len(slopes))
    share = 0.5 if fair.stops else 0.0
    in_row, absent = np.zeros(odds.shape), np.zeros(len(none))
    for path in itertools.product(states, repeat=len(none)):
        weight = share if path[0] == NONE else (1.0 - share) * begin
        for at, then in enumerate(path):
            weight *= chance_of(path[at - 1], then, fair, begin) if at else 1.0
            if not weight:
                break
            weight *= np.exp(none[at] if then == NONE else odds[then[0], at])
        for at, then in enumerate(path) if weight else ():
            if then == NONE:
                absent[at] += weight
            else:
                in_row[then[0], at] += weight
    total = absent[0] + in_row[:, 0].sum()
    return in_row / total, absent / total, float(np.log(total))


@pytest.mark.parametrize("fair", [Fairness(1, 0.3, 0.1), Fairness(1, 0.05), Fairness(1, 0.6, 0.4)])
def test_the_marginals_are_those_of_all_paths(fair):
    odds, none = made(0)
    in_row, absent, total = walked(odds, none, fair)
    found = summed_paths(odds, none, fair)
    assert found.in_row == pytest.approx(in_row, abs=1e-12)
    assert found.none == pytest.approx(absent, abs=1e-12)
    assert found.log_total == pytest.approx(total, abs=1e-12)


def test_steeper_paths_too_are_all_summed():
    odds, none = made(1, rows=5, steps=3)
    fair = Fairness(2, 0.3, 0.1)
    in_row, absent, total = walked(odds, none, fair)
    found = summed_paths(odds, none, fair)
    assert found.in_row == pytest.approx(in_row, abs=1e-12)
    assert (found.none, found.log_total) == (pytest.approx(absent, abs=1e-12), pytest.approx(total, abs=1e-12))


@pytest.mark.parametrize("fair", [Fairness(3, 0.25), Fairness(3, 0.2, 0.005)])
def test_at_every_step_the_chances_sum_to_one(fair):
    odds, none = made(2, rows=60, steps=200)
    found = summed_paths(3.0 * odds, none, fair)
    assert found.in_row.sum(axis=0) + found.none == pytest.approx(np.ones(200), abs=1e-12)
    assert found.in_row.min() >= 0.0


def test_a_field_upside_down_has_the_same_paths_turned():
    odds, none = made(3, rows=9, steps=12)
    fair = Fairness(2, 0.2, 0.05)
    found, turned = summed_paths(odds, none, fair), summed_paths(odds[::-1], none, fair)
    assert turned.in_row[::-1] == pytest.approx(found.in_row, abs=1e-12)
    assert turned.log_total == pytest.approx(found.log_total, abs=1e-12)


def test_two_paths_as_likely_as_each_other_both_keep_their_share():
    odds = np.full((41, 30), -2.0)
    odds[[10, 30]] = 2.0
    found = summed_paths(odds, np.zeros(30), Fairness(1, 0.02))
    near = [found.in_row[at - 1 : at + 2].sum(axis=0) for at in (10, 30)]
    assert near[0] == pytest.approx(near[1], abs=1e-9)
    assert (near[0] > 0.45).all()
