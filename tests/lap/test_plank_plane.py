"""How fast the grain's shift grows up a face: against NumPy's own fit, and with windows that lie."""

import numpy as np
import pytest

from fitcheck.lap.square_on.plank_plane import _lag_slope, _robust_slope

UP_MM = np.tile(np.arange(3.0, 40.0, 6.0), 5)
STRETCH = np.repeat(np.arange(5), 7)


def test_an_even_growth_is_numpys_slope():
    lag = 0.02 * UP_MM + 0.3
    slope, _ = _robust_slope(UP_MM, lag, np.zeros(len(UP_MM)))
    assert slope == pytest.approx(np.polyfit(UP_MM, lag, 1)[0], abs=1e-9)


def test_each_stretch_has_its_own_middle():
    slope, _ = _robust_slope(UP_MM, 0.02 * UP_MM + 0.4 * STRETCH, STRETCH)
    assert slope == pytest.approx(0.02, abs=1e-9)


def test_windows_that_lie_move_it_little():
    rng = np.random.default_rng(3)
    lag = 0.02 * UP_MM + rng.normal(0.0, 0.03, len(UP_MM))
    lag[::6] += 1.5
    slope, u = _robust_slope(UP_MM, lag, STRETCH)
    assert abs(slope - 0.02) < 3.0 * u
    assert u < 0.004


def test_a_field_stretched_by_a_known_share_shows_that_share():
    from scipy.ndimage import gaussian_filter, map_coordinates

    rng = np.random.default_rng(5)
    grain = gaussian_filter(rng.normal(size=(260, 240)), (1.5, 4.0)).astype(np.float32)
    rows, columns = np.mgrid[0:260, 0:240].astype(float)
    other = map_coordinates(grain, [rows - 0.02 * rows, columns], order=1, mode="nearest").astype(np.float32)
    seen = np.ones(grain.shape, bool)
    slope, u = _lag_slope((grain, seen), (other, seen))
    # What stood in row r now stands in row r / 0.98.
    assert slope == pytest.approx(0.02 / 0.98, abs=0.002)
    assert u < 0.002


def test_even_grain_tells_nothing():
    flat = np.zeros((260, 240), np.float32)
    assert _lag_slope((flat, flat == 0), (flat, flat == 0)) is None
