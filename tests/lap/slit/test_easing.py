"""An eased inner corner against a slit: profiles drawn by following sight lines and adding up the sky, ray by ray."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from fitcheck.lap.slit.shared_unknowns import settled
from fitcheck.lap.slit.slit_fit import fit_slits
from fitcheck.lap.slit.slit_model import Rows, floor_light

SLANT = np.tan(np.radians(65.0))
BLUR_PX, EDGE, STRAKE = 0.85, 0.18, 0.36
#: Easings that are tried, in pixels: nothing to 0.4 mm at 5 px to a millimetre.
TRIED = (0.0, 0.5, 1.0, 1.5, 2.0)


def plank(gap, eased):
    """The plank's outline in the section, from high on its edge face to far in under it: (t in, n out) points."""
    return np.array([(0.0, 60.0), (0.0, gap + eased), (eased, gap), (60.0, gap)])


def sky_seen(depths, gap, eased, count=400):
    """What places (T,) so far in on the floor see of an even sky, by Lambert's law, over half of it, as at the mouth.

    Directions are tried one by one, from along the floor toward the keel to square; one that meets the plank sees none.
    """
    angles = (np.arange(count) + 0.5) / count * np.pi / 2.0
    way = np.array([-np.cos(angles), np.sin(angles)])
    start = np.stack([np.asarray(depths, float), np.full(len(depths), 1e-9)])[:, :, None]
    hidden = np.zeros((len(depths), count), bool)
    for a, b in pairwise(plank(gap, eased)):
        run, off = b - a, a[:, None, None] - start
        cross = way[0] * run[1] - way[1] * run[0]
        cross = np.where(np.abs(cross) < 1e-12, 1e-12, cross)
        reach, share = (off[0] * run[1] - off[1] * run[0]) / cross, (off[0] * way[1] - off[1] * way[0]) / cross
        hidden |= (reach > 1e-9) & (share >= 0.0) & (share <= 1.0)
    return (~hidden * np.sin(angles)).sum(axis=1) * (np.pi / 2.0 / count)


@pytest.mark.parametrize(("gap", "eased"), [(1.0, 0.0), (0.6, 0.4), (0.3, 1.0), (2.0, 0.5)])
def test_the_floor_under_an_eased_corner_sees_the_sky_that_both_ends_of_the_easing_leave(gap, eased):
    for before in (0.1, 0.4, 0.9):
        seen_from = before * (gap + eased / SLANT)
        by_rays = sky_seen([seen_from * SLANT], gap, eased)[0]
        assert floor_light(np.array([seen_from]), gap, eased, SLANT, 1.0)[0] == pytest.approx(by_rays, abs=0.01)


def drawn(gaps, eased, *, grain=0.02, seed=4, under=0.4, edge=EDGE, strake=STRAKE, sharpened=0.0):
    """Profiles (R, B) across the edge of a lap open by ``gaps`` (B,), its corner eased, all in pixels as seen."""
    rows, fine = np.arange(-9.0, 20.0), np.arange(-14.0, 26.0, 0.05)
    kernel = np.exp(-0.5 * (np.arange(-5.0, 5.001, 0.05) / BLUR_PX) ** 2)
    rng = np.random.default_rng(seed)
    found = []
    for gap in gaps:
        depths = np.linspace(0.0, SLANT * (gap + eased) + 0.1, 40)
        sky = sky_seen(depths, max(gap, 0.02), eased, count=60)
        floor = 0.5 * np.interp(SLANT * np.maximum(gap - fine, 0.0), depths, sky)
        light = np.where(fine > gap, strake, floor * strake)
        light = np.where(fine < -eased / SLANT, under * edge, light)
        light = np.where(fine < -eased, edge, light)
        soft = np.convolve(np.pad(light, 100, mode="edge"), kernel / kernel.sum(), mode="valid")
        soft = soft[: len(fine)]
        soft = soft + sharpened * (soft - gaussian_filter1d(soft, 1.4 / 0.05, mode="nearest"))
        found.append(np.interp(rows, fine, soft))
    profiles = np.array(found).T
    return rows, profiles * (1.0 + grain * rng.normal(size=profiles.shape))


def opening(most, count=60):
    """A lap closed in its first half, opening to ``most`` and closing again in its second."""
    return most * np.maximum(np.sin(np.linspace(-np.pi, np.pi, count)), 0.0)


def fitted(gaps, eased, tried=TRIED, **how):
    rows, light = drawn(gaps, eased, **how)
    return fit_slits(light, Rows(rows, BLUR_PX, SLANT, 0.5, 1.0), 8.0, 1.6, block_px=8.0, eased_px=tried)


@pytest.mark.parametrize("eased", [0.0, 1.0, 2.0])
def test_the_easing_is_found_from_the_closed_places_and_a_slit_is_what_widens_beyond_it(eased):
    gaps = opening(3.0)
    found = fitted(gaps, eased)
    assert found.eased_px == pytest.approx(eased, abs=0.45)
    shut, wide = gaps == 0.0, gaps > 1.5
    assert np.median(found.width_px[shut]) < 0.2
    assert np.median(np.abs(found.width_px - gaps)[wide]) < 0.4


def test_an_eased_corner_taken_for_sharp_reads_a_slit_too_wide_and_given_its_easing_does_not():
    """By more than half of what it is eased."""
    gaps = opening(3.0)
    wide = gaps > 1.5
    as_sharp, given = fitted(gaps, 1.0, tried=(0.0,)), fitted(gaps, 1.0, tried=(0.75, 1.0, 1.25))
    assert np.median((as_sharp.width_px - gaps)[wide]) > 0.5
    assert abs(np.median((given.width_px - gaps)[wide])) < 0.3


def test_no_closed_place_over_an_eased_corner_is_surely_open():
    for seed in range(2):
        found = fitted(np.zeros(40), 1.5, seed=seed, grain=0.05)
        assert (found.width_px <= 3.0 * np.hypot(found.u_px, found.by_easing_px) + 0.1).all()


@pytest.mark.parametrize("sharpened", [0.3, 0.6])
def test_the_dark_seam_that_a_camera_puts_beside_a_step_is_no_easing_and_no_slit(sharpened):
    """An edge face in the light over a dark strake, its corner sharp, in a picture that was sharpened."""
    found = fitted(np.zeros(60), 0.0, edge=0.45, strake=0.15, sharpened=sharpened)
    assert found.eased_px < 0.5
    assert np.median(found.width_px) < 0.2


def test_a_picture_that_was_not_sharpened_is_not_taken_for_one():
    rows, light = drawn(np.zeros(60), 1.0, edge=0.45, strake=0.15)
    told = Rows(rows, BLUR_PX, SLANT, 0.5, 1.0)
    assert settled(light / np.quantile(light, 0.75, axis=0), told, 8.0, 1.6, TRIED)[0].sharpened == 0.0
