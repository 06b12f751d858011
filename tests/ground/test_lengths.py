"""Lengths are read exactly, printed fractions read back, and what is not a length is refused with the forms shown."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.ground.lengths import FORMS, FRACTIONS, format_doubt, format_length, format_past, parse_length
from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.tape_places import format_place, parse_place


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12.7mm", 12.7),
        ("5cm", 50.0),
        ("2.4m", 2400.0),
        (" 2.4 M ", 2400.0),
        (".5mm", 0.5),
        ("1/2in", 12.7),
        ("1-3/8in", 34.925),
        ("1 3/16 in", 30.1625),
        ("1½in", 38.1),
        ('0.5"', 12.7),
        ("0.5″", 12.7),
        ("5/4in", 31.75),
        ("3ft", 914.4),
        ("3ft 6-1/2in", 1079.5),
        ("3' 6\"", 1066.8),
        ("3'-6 1/2\"", 1079.5),
        ("3ft 1/2in", 927.1),
        ("1-2-3", 365.125),
        ("0-0-1", 3.175),
        ("0mm", 0.0),
        ("0", 0.0),
        ("12,7mm", 12.7),
        ("0,125in", 3.175),
        ("3ft 6,5in", 1079.5),
        ("2,4 m", 2400.0),
    ],
)
def test_every_accepted_form_is_read(text, mm):
    assert parse_length(text) == mm


@pytest.mark.parametrize(
    "text",
    [
        *("12", "1/2", "1-3/8", "1 3/16", "", "in", "mm", "nanmm", "inf mm", "1e3mm", "1/0in", "1-5/4in"),
        *("1,5,5mm", ",5mm", "1-2,5in", "1/2,5in"),
        *("1 2 in", "3ft 14in", "1-12-0", "1-2-8", "1-2-3in", "-1/2in", "+1/2in", "12.7mm 3", "x" * 50, "1..2mm"),
        *("9" * 400 + "mm", "9" * 9000 + "mm", "2000000mm", "3ft 6", "0x10mm", "12.7mm x 3mm"),
        "1/2in" + " " * 60 + "x",
    ],
)
def test_what_is_no_length_is_refused_and_the_forms_are_shown(text):
    with pytest.raises(WrongCall) as refused:
        parse_length(text)
    assert FORMS in str(refused.value)
    assert len(str(refused.value)) < 300


def test_a_bare_number_is_told_apart_from_nonsense():
    with pytest.raises(WrongCall, match="no unit"):
        parse_length("1-3/8")
    with pytest.raises(WrongCall, match="has a sign"):
        parse_length("-1/2in")


def test_a_sign_is_read_only_where_allowed():
    assert parse_length("-1/32in", signed=True) == -0.79375
    assert parse_length("+2mm", signed=True) == 2.0
    assert parse_length("−2mm", signed=True) == -2.0
    with pytest.raises(WrongCall):
        parse_length("--2mm", signed=True)


@given(st.integers(-60_000, 60_000), st.sampled_from(FRACTIONS))
def test_every_printed_fraction_reads_back_exactly(count, fraction):
    inches = Fraction(count, fraction)
    mm = float(inches * Fraction(254, 10))
    assert parse_length(format_length(mm, fraction=fraction), signed=True) == mm


@given(st.floats(-20_000, 20_000), st.sampled_from(FRACTIONS))
def test_a_printed_length_is_the_nearest_on_the_rule(mm, fraction):
    printed = parse_length(format_length(mm, fraction=fraction), signed=True)
    assert abs(printed - mm) <= 25.4 / fraction / 2 + 1e-9


@given(st.floats(-20_000, 20_000), st.integers(0, 3))
def test_every_printed_metric_length_reads_back(mm, decimals):
    printed = format_length(mm, units="mm", decimals=decimals)
    assert parse_length(printed, signed=True) == pytest.approx(mm, abs=0.5001 * 10**-decimals)


@given(st.floats(0, 100), st.sampled_from(FRACTIONS), st.sampled_from(["in", "mm"]))
def test_a_doubt_is_never_rounded_down(u95, fraction, units):
    printed = parse_length(format_doubt(u95, units=units, fraction=fraction))
    assert u95 - 1e-6 <= printed <= u95 + (25.4 / min(64, 2 * fraction) if units == "in" else 0.01) + 1e-6


@given(st.floats(-30, 30), st.floats(0, 5), st.sampled_from([16, 32, 64]))
def test_past_and_short_are_said_in_words_never_by_a_sign(value, u95, fraction):
    said = format_past(value, u95, fraction=fraction)
    shown = min(64, 2 * fraction) if u95 <= 25.4 / min(64, 2 * fraction) else fraction
    side = "on the line" if abs(value) * shown / 25.4 < 0.5 else "past" if value > 0 else "short"
    assert said.startswith(side)
    length = said.split(" ± ")[0].removeprefix(side).strip()
    assert not length.startswith(("-", "+"))
    if length:
        assert abs(parse_length(length) - abs(value)) <= 25.4 / fraction / 2 + 1e-9


def test_sixty_fourths_are_exact():
    # 1/64 in = 0.396875 mm, 1/32 = 0.79375, 1/16 = 1.5875: 25.4/n, the international inch of 1959.
    assert [parse_length(f"1/{n}in") for n in (64, 32, 16)] == [0.396875, 0.79375, 1.5875]
    assert format_doubt(0.396875) == "1/64 in"


@pytest.mark.parametrize(("units", "fraction"), [("cm", 32), ("in", 10), ("in", 0), ("in", 128)])
def test_units_and_fractions_no_rule_shows_are_refused(units, fraction):
    with pytest.raises(WrongCall):
        format_length(10.0, units=units, fraction=fraction)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_never_printed(bad):
    with pytest.raises(WrongCall):
        format_length(bad)
    with pytest.raises(WrongCall):
        format_doubt(bad)


def test_a_comma_that_may_part_thousands_is_refused_with_the_reason():
    with pytest.raises(WrongCall, match="thousand or a decimal"):
        parse_length("1,250mm")


def test_a_decimal_comma_does_not_part_one_length_from_the_next():
    from fitcheck.calibration.target import parse_board
    from fitcheck.contract.gain import read_gain
    from fitcheck.reference.card.card_kind import card_named

    assert read_gain("355,6mm,6,35mm,0,5mm,eased") == read_gain("355.6mm,6.35mm,0.5mm,eased")
    assert read_gain("14in,1/4in,0in") == read_gain("1-2-0,1/4in,0mm")
    assert parse_board("9x6", "25,1mm,25mm") == parse_board("9x6", "25.1mm,25mm")
    assert card_named("88,6x50,7mm").width_mm == 88.6


@given(st.integers(0, 99_999), st.integers(0, 99))
def test_a_comma_reads_as_a_point(whole, part):
    assert parse_length(f"{whole},{part:02d}mm") == parse_length(f"{whole}.{part:02d}mm")


@given(st.integers(-60_000, 60_000), st.sampled_from(FRACTIONS), st.sampled_from(["", "feet", "inches"]))
def test_in_every_style_a_printed_length_reads_back_as_itself(count, fraction, tape):
    mm = float(Fraction(count, fraction) * Fraction(254, 10))
    printed = format_length(mm, fraction=fraction, tape=tape)
    assert parse_length(printed, signed=True) == mm
    assert format_length(parse_length(printed, signed=True), fraction=fraction, tape=tape) == printed


def test_a_foot_is_said_as_the_hull_says_it():
    said = {
        tape: [format_length(25.4 * inches, tape=tape) for inches in (6, 12, 18, 30)] for tape in ("feet", "inches")
    }
    assert said["feet"] == ["6 in", "1 ft", "1 ft 6 in", "2 ft 6 in"]
    assert said["inches"] == ["6 in", "12 in", "18 in", "30 in"]


def test_a_reading_is_as_fine_as_its_doubt():
    # 0.4 mm is 1/64 in, half of what 1/32 shows.
    assert format_past(0.4, 0.38) == "past 1/64 in ± 1/64"
    assert format_past(0.4, 0.45) == "past 1/32 in ± 1/32"
    assert format_past(0.79, 0.5, fraction=16) == "past 1/32 in ± 1/32"


@given(st.integers(-200, 200), st.sampled_from(["", "feet", "inches"]), st.integers(0, 5))
def test_a_printed_place_reads_back_whichever_side_of_zero_it_lies(eighths, tape, card):
    printed = format_place(eighths * 25.4 / 8, tape=tape, from_card=card)
    assert not printed.startswith("-")
    assert parse_place(printed, from_card=card) == pytest.approx(eighths * 25.4 / 8)


def test_a_place_counted_from_another_card_is_not_read_as_one_from_card_0():
    with pytest.raises(WrongCall, match="from card 0 here"):
        parse_place("2in before card 4")
    for text in ("2 in before 0", "2in before card 0", "-2in", "-2 IN"):
        assert parse_place(text) == -50.8
    with pytest.raises(WrongCall):
        parse_place("-2in before 0")
