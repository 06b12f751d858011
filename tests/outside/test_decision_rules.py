"""Decision rules of the standards, held against the states of a place."""

from __future__ import annotations

import random
from statistics import NormalDist

import pytest

from fitcheck.advice.states import state_of


def test_guard_band_at_95_percent_one_sided():
    # JCGM 106 one-sided z at 0.95: 1.64(5). Limit 0.25 mm, u 0.06: accept below 0.151, reject above 0.349, between them
    # unsure (worked by hand from that z). state_of takes the guard band as given, here 1.645 u.
    guard = 1.645 * 0.06
    assert state_of(0.1512, guard, 0.25) == "on"
    assert state_of(0.1514, guard, 0.25) == "unsure"
    assert state_of(0.3486, guard, 0.25) == "unsure"
    assert state_of(0.3488, guard, 0.25) == "past"


@pytest.mark.parametrize(("confidence", "z"), [(0.95, 1.64), (0.99, 2.33)])
def test_one_sided_z_of_jcgm_106(confidence, z):
    # An edge truly at the limit, measured at 10 000 evenly spread quantiles of a normal error: with a guard of z u the
    # share called past (surely beyond) is 1 - confidence; z is printed to two places, hence the tolerance.
    u, limit, count = 0.1, 0.5, 10_000
    measured = (NormalDist(limit, u).inv_cdf((i + 0.5) / count) for i in range(count))
    called_past = sum(state_of(value, z * u, limit) == "past" for value in measured) / count
    assert called_past == pytest.approx(1 - confidence, abs=6e-4)


def test_a_guard_of_u95_keeps_false_accepts_under_two_and_a_half_percent():
    # ILAC-G8:09/2019: with the guard band w = U (k = 2) the chance that an accepted item is out is under 2.5 %.
    # Worst case: true value just beyond the limit, drawn many times with a fixed seed.
    draw = random.Random(7)
    u, limit = 0.1, 0.5
    accepted = sum(state_of(draw.gauss(limit + 1e-9, u), 1.96 * u, limit) == "on" for _ in range(40_000))
    # Binomial spread of 2.5 % over 40 000 draws is 0.08 %: three of them above.
    assert accepted / 40_000 < 0.025 + 3 * 0.0008
    assert accepted > 0
