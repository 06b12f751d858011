"""Place, uncertainty and chance of a mark from the chances of all rows."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from fitcheck.lap.evidence.path import path_of

ROWS = np.arange(-14.0, 28.0, 0.15)


def hump(at_mm: float, u_mm: float, share: float) -> np.ndarray:
    density = norm.pdf(ROWS, at_mm, u_mm)
    return np.asarray(share * density / density.sum())


def of(*humps: np.ndarray, absent: float = 0.0):
    return path_of(np.sum(humps, axis=0)[:, None], np.array([absent]), ROWS)


def test_one_hump_gives_its_place_and_its_spread():
    found = of(hump(3.07, 0.15, 1.0))
    assert found.down_mm[0] == pytest.approx(3.07, abs=0.01)
    assert found.u_mm[0] == pytest.approx(0.15, abs=0.01)
    assert found.chance[0] == pytest.approx(1.0, abs=1e-3)


def test_of_two_humps_the_higher_is_the_mark_and_the_other_is_next():
    found = of(hump(2.0, 0.2, 0.55), hump(9.0, 0.2, 0.35), absent=0.10)
    assert found.down_mm[0] == pytest.approx(2.0, abs=0.02)
    assert found.chance[0] == pytest.approx(0.55, abs=0.01)
    first, second = found.likeliest(ROWS)
    assert (first.down_mm[0], second.down_mm[0]) == (pytest.approx(2.0, abs=0.02), pytest.approx(9.0, abs=0.02))
    assert second.chance[0] == pytest.approx(0.35, abs=0.01)


def test_a_wide_hump_holds_less_or_says_a_wider_uncertainty():
    narrow, wide = of(hump(2.0, 0.15, 1.0)), of(hump(2.0, 0.7, 1.0))
    assert wide.down_mm[0] == pytest.approx(2.0, abs=0.1)
    assert wide.u_mm[0] > 2.0 * narrow.u_mm[0]


def test_a_mark_that_is_not_there_has_no_chance():
    found = of(np.zeros(len(ROWS)), absent=1.0)
    assert found.chance[0] == 0.0
    assert np.isfinite([found.down_mm[0], found.u_mm[0]]).all()
