"""The inch: 25.4 mm exactly, by the international yard and pound agreement of 1959."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.ground.lengths import format_doubt, format_length, parse_length


@pytest.mark.parametrize(
    ("text", "mm"),
    # 25.4/n exactly.
    [("1/64in", 0.396875), ("1/32in", 0.79375), ("1/16in", 1.5875), ("1in", 25.4), ("1ft", 304.8)],
)
def test_the_inch_and_its_fractions(text, mm):
    assert parse_length(text) == mm


def test_lap_on_half_inch_planking_prints_as_the_trade_says_it():
    # Lap on 1/2 in planking: 1 in (common practice, no source).
    assert (format_length(12.7), format_length(25.4)) == ("1/2 in", "1 in")


def test_every_mark_of_a_sixty_fourth_rule_over_a_yard():
    for mark in range(36 * 64 + 1):
        mm = float(Fraction(mark, 64) * Fraction(254, 10))
        assert parse_length(format_length(mm, fraction=64)) == mm


def test_offsets_are_feet_inches_and_eighths():
    # The way a table of offsets is written (common practice, no source): 2-3-4 is 2 ft 3 4/8 in = 27.5 in.
    assert parse_length("2-3-4") == 27.5 * 25.4


def test_a_ticket_in_inches_is_never_surer_than_its_millimetres():
    assert format_doubt(0.40) == "1/32 in"
