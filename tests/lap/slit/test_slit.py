"""The slit's darkness against plain geometry, and slits read from profiles that another way of drawing made."""

import numpy as np
import pytest

from fitcheck.lap.slit.slit_fit import fit_slits
from fitcheck.lap.slit.slit_model import Rows, slit_light

SLANT = np.tan(np.radians(65.0))


def sky_share(depth):
    """What a place ``depth`` openings deep on the floor of a long slot sees of an even sky, by summing the sky itself.

    Lambert's cosine law over directions in the section, from the plane of the floor up to the slot's far lip.
    """
    lip = np.arctan2(1.0, depth)
    angle = (np.arange(20_000) + 0.5) / 20_000 * lip
    return float(np.sin(angle).sum() * lip / 20_000 / 2.0)


@pytest.mark.parametrize("depth", [0.05, 0.5, 1.0, 2.2])
def test_the_floor_of_a_slit_sees_the_sky_that_its_opening_leaves(depth):
    """The form factor of a long slot; at the mouth half of the sky, so the share there is one."""
    assert slit_light(np.array([1.0 - depth / SLANT]), SLANT, 1.0)[0] == pytest.approx(2 * sky_share(depth), abs=1e-5)


def drawn(width_px, corner_px=0.0, *, edge=0.18, strake=0.36, dark=None, blur_px=0.85, blocks=60, grain=0.02, seed=5):
    """Profiles (R, B) across the edge, summed from a hundred samples a row: edge face, slit, strake.

    The slit's floor is lit as the sky's directions sum up, or evenly ``dark``, as in a slot of deep shade.
    """
    rows = np.arange(-8, 20.0)
    rng = np.random.default_rng(seed)
    fine = np.arange(-12, 24, 0.01)
    if dark is None:
        into = np.clip((fine - corner_px) / max(width_px, 0.01), 0.0, 1.0)
        depths = np.linspace(0.0, SLANT, 60)
        floor = 0.5 * np.interp(SLANT * (1.0 - into), depths, [2 * sky_share(depth) for depth in depths])
    else:
        floor = np.full(len(fine), dark)
    light = np.where(fine < corner_px, edge, np.where(fine < corner_px + width_px, floor * strake, strake))
    kernel = np.exp(-0.5 * (np.arange(-6, 6.001, 0.01) / blur_px) ** 2)
    soft = np.convolve(np.pad(light, 600, mode="edge"), kernel / kernel.sum(), mode="valid")
    profile = np.interp(rows, fine, soft[: len(fine)])
    streaks = 1.0 + grain * rng.normal(size=(len(rows), blocks))
    return rows, profile[:, None] * streaks


def fitted(width_px, *, shade=0.5, shadow=1.0, widest_px=8.0, **how):
    rows, light = drawn(width_px, **how)
    return fit_slits(light, Rows(rows, how.get("blur_px", 0.85), SLANT, shade, shadow), widest_px, 1.6, block_px=8.0)


@pytest.mark.parametrize("dark", [None, 0.06])
@pytest.mark.parametrize("width_px", [2.0, 3.5, 5.0])
def test_a_slit_is_read_to_a_quarter_whatever_lights_its_floor(width_px, dark):
    """From the bare form factor of an even sky to a slot of deep shade: how dark the floor is, is the budget's largest
    part."""
    found = fitted(width_px, dark=dark)
    assert np.median(found.width_px) == pytest.approx(width_px, rel=0.25, abs=0.3)
    assert np.median(found.corner_px) == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("dark", [None, 0.06])
def test_a_slit_a_pixel_wide_that_never_closes_is_read_too_narrow_if_anything(dark):
    """The corner is held to where it lies if the lap is closed as likely as not: by half a pixel at the most."""
    found = fitted(1.0, dark=dark)
    assert 0.45 <= np.median(found.width_px) <= 1.3
    assert np.median(found.corner_px) == pytest.approx(0.3, abs=0.4)


@pytest.mark.parametrize(("edge", "strake"), [(0.18, 0.36), (0.30, 0.36), (0.36, 0.20), (0.05, 0.30)])
def test_a_closed_lap_has_no_slit(edge, strake):
    found = fitted(0.0, edge=edge, strake=strake)
    assert np.median(found.width_px) < 0.3
    assert (found.width_px < 3 * found.u_px + 0.1).all()


def test_the_corner_is_found_where_it_is():
    found = fitted(2.0, corner_px=0.8, dark=0.06)
    assert np.median(found.corner_px) == pytest.approx(0.8, abs=0.4)


def test_more_grain_more_doubt():
    assert np.median(fitted(2.0, grain=0.08).u_px) > 1.5 * np.median(fitted(2.0, grain=0.01).u_px)


def test_the_plank_s_own_shadow_is_not_a_slit():
    """A band of one width along the whole lap, no darker than shade: the light throws it, the lap is closed."""
    found = fitted(3.0, edge=0.09, strake=0.36, dark=0.30, shade=0.25, shadow=0.30)
    assert found.shadow_px == pytest.approx(3.0, abs=0.6)
    assert np.median(found.width_px) < 0.5
