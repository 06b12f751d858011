"""The light curve of sRGB, IEC 61966-2-1:1999, against values published by others."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.ground.light import light_of_levels


def test_a_signal_of_0_4613561_is_18_percent_of_the_light():
    """The example beside ``eotf_inverse_sRGB`` in the reference of the Python library "colour" (version 0.3.9)."""
    assert light_of_levels(np.array([255.0 * 0.461356129500442]))[0] == pytest.approx(0.18, abs=1e-9)


@pytest.mark.parametrize(("grey", "ratio"), [(0x00, 21.0), (0x76, 4.54), (0x99, 2.85)])
def test_greys_have_the_contrast_with_white_that_is_given_for_them(grey, ratio):
    """Contrast as in the Web Content Accessibility Guidelines 2.1, (1 + 0.05) / (light + 0.05); the ratios are those
    commonly given for #000000, #767676 and #999999 on white, to two decimals."""
    light = light_of_levels(np.array([grey], np.uint8))[0]
    assert 1.05 / (float(light) + 0.05) == pytest.approx(ratio, abs=0.005)


def test_the_straight_part_meets_the_bent_one():
    """The standard joins them at 0.04045 of the highest level: level 10 of 255 is on the straight part, 11 is not."""
    ten, eleven = light_of_levels(np.array([10, 11], np.uint8))
    assert ten == pytest.approx(10 / 255 / 12.92, rel=1e-6)
    assert eleven == pytest.approx(((11 / 255 + 0.055) / 1.055) ** 2.4, rel=1e-6)
    below, above = light_of_levels(255.0 * np.array([0.04045, 0.04045 + 1e-9]))
    assert above == pytest.approx(below, rel=1e-4)


def test_bytes_and_floats_have_the_same_light():
    levels = np.arange(256, dtype=np.uint8)
    assert light_of_levels(levels) == pytest.approx(light_of_levels(levels.astype(float)), rel=1e-6)
    assert light_of_levels(levels.reshape(16, 16)).shape == (16, 16)


def test_where_interpolation_leaves_the_levels_there_is_no_light():
    assert light_of_levels(np.array([-3.0, 0.0])).tolist() == [0.0, 0.0]
