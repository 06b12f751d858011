"""The robust spread, against scipy's and against the normal values it is of."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import median_abs_deviation

from fitcheck.ground.spread import robust_spread

VALUES = np.random.default_rng(7).normal(0.0, 2.5, (300, 40, 3))


@pytest.mark.parametrize("axis", [None, 0, 1])
def test_it_is_scipys_about_zero(axis):
    scipys = median_abs_deviation(VALUES, axis=axis, center=lambda _, axis: 0.0, scale="normal")
    assert robust_spread(VALUES, axis) == pytest.approx(scipys, rel=2e-6)


def test_a_picture_has_one_for_each_channel():
    assert robust_spread(VALUES, (0, 1)) == pytest.approx(np.full(3, 2.5), rel=0.03)


def test_a_third_of_foreign_values_does_not_carry_it_away():
    """With a third far off, the median of sizes is the good ones' 3/4 point: 1.1503 of their standard deviation."""
    values = VALUES.ravel()[:9000].copy()
    values[::3] = 1e6
    assert robust_spread(values) == pytest.approx(1.1503 / 0.67449 * 2.5, rel=0.05)
