"""Other grain over a strip changes its wood, and nothing about where its marks lie."""

import numpy as np
import pytest

from tests.training.regrain import regrained

CELL_MM = (0.15, 2.0)


def drawn(number, light=0.3):
    flat = np.full((200, 96, 3), light, np.float32)
    return regrained(flat, np.full(96, 100.0), CELL_MM, 0.2, np.random.default_rng(number))


def test_two_strips_in_three_get_another_grain():
    changed = [float(np.log(drawn(number)).std()) > 1e-4 for number in range(60)]
    assert 0.45 < np.mean(changed) < 0.85


def test_grain_is_about_nought():
    tones = [np.log(drawn(number) / 0.3).mean() for number in range(40)]
    assert abs(np.mean(tones)) < 0.05


@pytest.mark.parametrize("light", [0.002, 0.95])
def test_light_stays_light(light):
    for number in range(20):
        found = drawn(number, light)
        assert np.isfinite(found).all()
        assert found.min() > 0.0
        assert found.max() <= 1.0


def test_plank_and_strake_mostly_get_grain_of_their_own():
    apart = [number for number in range(60) if _unlike(drawn(number))]
    assert len(apart) > 20


def _unlike(strip):
    spread = [float(np.log(part).std()) for part in (strip[:95], strip[105:])]
    return abs(spread[0] - spread[1]) > 0.003
