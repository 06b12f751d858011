"""Uncertainties put together as the Guide does it (JCGM 100:2008, annex H), and against reference libraries."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from uncertainties import correlated_values

from fitcheck.ground.uncertainty import Part, combine, coverage_factor, fit_line

#: GUM H.1, end gauge: parts in nm and the whole, 32 nm with 16 degrees of freedom [JCGM 100:2008 H.1.5, H.1.6].
#: The parts' degrees of freedom (18, 25.6, 50, 2) are quoted from memory of H.1.6.
END_GAUGE_NM = [Part(25.0, 18), Part(9.7, 25.6), Part(2.9, 50), Part(16.6, 2)]

#: GUM H.3, calibration of a thermometer: readings in degC and corrections observed in degC [JCGM 100:2008 table H.6].
T_C = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
B_C = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_the_end_gauge_budget():
    whole = combine(END_GAUGE_NM)
    assert round(whole.u) == 32
    assert math.floor(whole.dof) == 16
    # H.1.6: t99(16) = 2.92, so U99 = 2.92 x 32 nm = 93 nm.
    factor = coverage_factor(math.floor(whole.dof), level=0.99)
    assert factor == pytest.approx(2.92, abs=0.005)
    assert factor * 32 == pytest.approx(93, abs=0.6)


def test_the_thermometer_line():
    line = fit_line([t - 20 for t in T_C], B_C)
    assert line.intercept == pytest.approx(-0.1712, abs=0.00005)
    assert line.u_intercept == pytest.approx(0.0029, abs=0.00005)
    assert line.slope == pytest.approx(0.00218, abs=0.000005)
    assert line.u_slope == pytest.approx(0.00067, abs=0.000005)
    assert line.correlation == pytest.approx(-0.930, abs=0.0005)
    assert line.scatter == pytest.approx(0.0035, abs=0.00005)
    assert line.dof == 9
    value, u = line.at(30 - 20)
    assert value == pytest.approx(-0.1494, abs=0.00005)
    assert u == pytest.approx(0.0041, abs=0.00005)


def test_the_thermometer_line_by_the_uncertainties_library():
    line = fit_line([t - 20 for t in T_C], B_C)
    crossed = line.correlation * line.u_intercept * line.u_slope
    covariance = [[line.u_intercept**2, crossed], [crossed, line.u_slope**2]]
    intercept, slope = correlated_values([line.intercept, line.slope], covariance)
    theirs = intercept + 10 * slope
    value, u = line.at(10)
    assert value == pytest.approx(theirs.nominal_value, rel=1e-12)
    assert u == pytest.approx(theirs.std_dev, rel=1e-9)


POINTS = st.lists(
    st.tuples(st.floats(-100, 100), st.floats(-5, 5), st.floats(0.05, 2)),
    min_size=3,
    max_size=30,
    unique_by=lambda p: round(p[0]),
)


@given(POINTS)
def test_a_weighted_line_agrees_with_numpy(points):
    x, y, u = (np.array(column) for column in zip(*points, strict=True))
    line = fit_line(x, y, u)
    (slope, intercept), covariance = np.polyfit(x, y, 1, w=1 / u, cov="unscaled")
    assert line.intercept == pytest.approx(intercept, rel=1e-6, abs=1e-6)
    assert line.slope == pytest.approx(slope, rel=1e-6, abs=1e-6)
    assert line.u_slope == pytest.approx(math.sqrt(covariance[0, 0]), rel=1e-6)
    assert line.u_intercept == pytest.approx(math.sqrt(covariance[1, 1]), rel=1e-6)
    assert line.correlation * line.u_slope * line.u_intercept == pytest.approx(covariance[0, 1], rel=1e-5, abs=1e-9)


def test_arrays_are_put_together_place_by_place():
    whole = combine([Part(np.array([3.0, 0.0]), 5), Part(np.array([4.0, 2.0]))])
    assert whole.u == pytest.approx([5.0, 2.0])
    assert whole.dof[0] == pytest.approx(5.0**4 / (3.0**4 / 5))
    assert np.isinf(whole.dof[1])


@pytest.mark.parametrize("dof", [1, 2, 9, 16, 120])
@pytest.mark.parametrize("level", [0.6827, 0.95, 0.9973])
def test_the_coverage_factor_is_students(dof, level):
    assert coverage_factor(dof, level=level) == pytest.approx(stats.t.ppf((1 + level) / 2, dof), rel=1e-9)


def test_no_place_to_draw_a_line_through():
    with pytest.raises(ValueError, match="more than one place"):
        fit_line([1.0, 1.0], [0.0, 2.0], [0.1, 0.1])
    with pytest.raises(ValueError, match="three points"):
        fit_line([1.0, 2.0], [0.0, 2.0])
