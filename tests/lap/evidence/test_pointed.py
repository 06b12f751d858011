"""Places pointed at: evidence with a width, never a position."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.evidence.pointed import ASTRAY, Pointed, as_odds

ROWS = np.arange(-14.0, 28.0, 0.15)
STEPS = np.arange(-100.0, 101.0, 10.0)


def test_the_odds_rise_near_the_place_and_never_fall_below_a_finger_gone_astray():
    odds = as_odds(Pointed(np.array([31.0]), np.array([4.0]), 1.5), STEPS, ROWS)
    at = int(np.abs(STEPS - 31.0).argmin())
    assert not np.delete(odds, at, axis=1).any()
    assert ROWS[odds[:, at].argmax()] == pytest.approx(4.0, abs=0.1)
    assert odds[:, at].max() > 1.0
    assert odds.min() >= np.log(ASTRAY) - 1e-12
    far = np.abs(ROWS - 4.0) > 10.0
    assert odds[far, at] == pytest.approx(np.full(far.sum(), np.log(ASTRAY)), abs=1e-3)


def test_the_odds_weigh_a_chance_that_sums_to_one():
    """Against an even chance over the rows: the mean of the odds is one where the place lies well inside."""
    odds = as_odds(Pointed(np.array([0.0]), np.array([7.0]), 1.5), STEPS, ROWS)
    assert np.exp(odds[:, len(STEPS) // 2]).mean() == pytest.approx(1.0, abs=0.02)


def test_a_blunter_finger_tells_less_and_two_places_tell_more():
    one, blunt = (as_odds(Pointed(np.zeros(1), np.array([4.0]), u), STEPS, ROWS).max() for u in (1.0, 4.0))
    twice = as_odds(Pointed(np.zeros(2), np.array([4.0, 4.0]), 1.0), STEPS, ROWS).max()
    assert blunt < one < twice


def test_either_corner_may_be_meant():
    below = np.full(len(STEPS), 1.5)
    odds = as_odds(Pointed(np.zeros(1), np.array([4.0]), 1.0), STEPS, ROWS, below)[:, len(STEPS) // 2]
    assert ROWS[odds.argmax()] == pytest.approx(5.5, abs=0.1)
    assert np.interp([4.0, 7.0], ROWS, odds) == pytest.approx([odds.max()] * 2, abs=0.6)


def test_a_place_pointed_at_speaks_against_no_mark_there():
    against = Pointed(np.array([31.0]), np.array([4.0]), 1.5).against_none(STEPS)
    assert against.min() == pytest.approx(np.log(ASTRAY))
    assert np.count_nonzero(against) == 1
