"""Odds from scores: a flat score says nothing, and no column says more than it may."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.evidence.odds import by_steps, row_odds

ROWS, COLUMNS, ABSENT, FLOOR = 40, 6, 0.35, 0.05
EVERY = np.ones((ROWS, COLUMNS), bool)


def odds_of(scores, none, allowed=EVERY):
    return row_odds(scores, none, allowed, absent_share=ABSENT, floor=FLOOR)


def test_a_flat_score_says_nothing():
    """Where each row is as likely as another, and none as likely as in the training, the odds are even."""
    none = float(np.log(ROWS * ABSENT / (1.0 - ABSENT)))
    odds, absent = odds_of(np.zeros((ROWS, COLUMNS)), none)
    assert odds == pytest.approx(np.zeros((ROWS, COLUMNS)), abs=1e-12)
    assert absent == pytest.approx(np.zeros(COLUMNS), abs=1e-12)


def test_odds_are_those_of_chances_that_sum_to_one():
    """Bayes: the odds weighed by what was believed before sum to one, whatever the scores."""
    scores = 5.0 * np.random.default_rng(2).normal(size=(ROWS, COLUMNS))
    odds, absent = odds_of(scores, 1.5)
    whole = np.exp(odds).mean(axis=0) * (1.0 - ABSENT) + np.exp(absent) * ABSENT
    assert whole == pytest.approx(np.ones(COLUMNS))


def test_no_column_speaks_more_strongly_than_the_floor():
    scores = np.full((ROWS, COLUMNS), -500.0)
    scores[7] = 500.0
    odds, absent = odds_of(scores, 0.0)
    assert np.isfinite(odds).all()
    assert odds.min() == absent.min() == pytest.approx(np.log(FLOOR))
    assert odds.max() <= np.log((1.0 - FLOOR) * ROWS / (1.0 - ABSENT) + FLOOR) + 1e-12


def test_a_blind_column_says_nothing_and_rows_not_allowed_are_no_choice():
    allowed = EVERY.copy()
    allowed[:, 2] = False
    allowed[20:, 3] = False
    scores = np.zeros((ROWS, COLUMNS))
    scores[30, 3] = 50.0
    odds, absent = odds_of(scores, 0.0, allowed)
    assert not odds[:, 2].any()
    assert absent[2] == 0.0
    assert odds[30, 3] == pytest.approx(np.log(FLOOR), abs=1e-6)
    assert np.ptp(odds[:20, 3]) == pytest.approx(0.0, abs=1e-12)


def test_columns_are_summed_in_steps_and_what_is_left_over_is_dropped():
    assert by_steps(np.arange(14).reshape(2, 7), 3).tolist() == [[3, 12], [24, 33]]
