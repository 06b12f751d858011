"""The cues of a strip: the same however long the exposure was and whatever the white balance."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.evidence.channels import DARK, MOST, coarse_channels, fine_channels

MAKERS = {"fine": lambda light, seen: fine_channels(light, seen, 3.0, 4.0), "coarse": coarse_channels}
TONE, RED, BLUE, SEEN = (0, 1), 2, 3, 4


@pytest.fixture(scope="module")
def light() -> np.ndarray:
    """Wood with streaks, a step and a dark line, all of it well lit."""
    rng = np.random.default_rng(4)
    tone = np.repeat(0.05 * rng.normal(size=(120, 1)), 90, axis=1) + 0.02 * rng.normal(size=(120, 90))
    tone[70:] -= 0.4
    tone[90:93] -= 0.5
    colour = 0.03 * rng.normal(size=(120, 90, 3))
    return np.asarray(np.exp(tone[..., None] + colour) * (0.2, 0.3, 0.4))


SEEN_ALL = np.ones((120, 90), bool)


@pytest.mark.parametrize("name", MAKERS)
@pytest.mark.parametrize("factor", [0.4, 1.6])
def test_a_longer_exposure_changes_no_cue(name, factor, light):
    """But for what :data:`DARK` adds: in light that much stronger nothing is left of it."""
    make = MAKERS[name]
    np.testing.assert_allclose(make((light + DARK) * factor - DARK, SEEN_ALL), make(light, SEEN_ALL), atol=2e-4)
    apart = np.abs(make(light * factor, SEEN_ALL) - make(light, SEEN_ALL))
    assert np.median(apart) < 0.02
    assert apart.max() < 0.6


@pytest.mark.parametrize("name", MAKERS)
def test_white_balance_changes_no_colour_cue_and_hardly_the_tone(name, light):
    make = MAKERS[name]
    one, other = make(light, SEEN_ALL), make((light + DARK) * (1.4, 1.0, 0.7) - DARK, SEEN_ALL)
    np.testing.assert_allclose(other[[RED, BLUE]], one[[RED, BLUE]], atol=2e-4)
    assert np.percentile(np.abs(other[list(TONE)] - one[list(TONE)]), 95) < 0.3


@pytest.mark.parametrize("name", MAKERS)
def test_what_is_not_seen_has_no_cue_and_none_is_above_the_most(name, light):
    seen = SEEN_ALL.copy()
    seen[30:50, 20:40] = False
    spoilt = light.copy()
    spoilt[30:50, 20:40] = 0.9
    found = MAKERS[name](spoilt, seen)
    assert np.abs(found[[*TONE, RED, BLUE]][:, ~seen]).max() < 1e-6
    assert (found[SEEN] == seen).all()
    assert np.abs(found[[*TONE, RED, BLUE]]).max() <= MOST


@pytest.mark.parametrize("name", MAKERS)
def test_a_strip_without_anything_in_sight_still_gives_finite_cues(name, light):
    assert np.isfinite(MAKERS[name](light, np.zeros_like(SEEN_ALL))).all()
