"""Small things are never said to be nothing, and what is printed reads back as what it prints."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.ground.lengths import parse_length
from fitcheck.ground.small_lengths import format_blade, format_past_finely, format_small, format_thin

UNITS = st.sampled_from(["in", "mm"])


@pytest.mark.parametrize("said", [format_thin, format_small, format_blade])
@given(st.floats(0.001, 30), UNITS)
def test_what_is_there_is_never_said_to_be_nothing(said, mm, units):
    words = said(mm, units=units)
    assert words.endswith(units)
    if words.startswith("under "):
        assert mm < parse_length(words.removeprefix("under "))
    else:
        assert parse_length(words) > 0
        assert said(parse_length(words), units=units) == words


def test_a_leaf_of_a_tenth_of_a_millimetre_is_four_thousandths():
    assert format_blade(0.1) == "0.004 in"
    assert format_blade(25.4 / 64) == "1/64 in"
    assert format_blade(3.18) == format_blade(3.175) == "1/8 in"
    assert format_blade(0.1, units="mm") == "0.10 mm"


@given(st.floats(-9, 9), st.floats(0, 3), UNITS)
def test_a_fine_reading_is_within_its_last_figure_and_its_doubt_is_not_rounded_down(value, u95, units):
    words, doubt = format_past_finely(value, u95, units=units).split(" ± ")
    step = 0.0254 if units == "in" else 0.001
    assert parse_length(f"{doubt.split(' ')[0]}{units}") >= u95 - 1e-6
    said = 0.0 if words == "on the line" else parse_length(words.split(" ", 1)[1])
    assert abs(said - abs(value)) <= step / 2 + 1e-9
