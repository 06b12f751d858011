"""Settings from what is given as text: read once into mm and degrees, or one plain line that says what is wrong."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.answering.given import Given
from fitcheck.answering.read_settings import LENGTHS, bevel_of, read_settings, sized
from fitcheck.cli.options import hints_of
from fitcheck.contract.hints import Hints
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall
from tests.fitlog.made import made_hull

TOLD = {"reference": "id1", "thickness": "12.7mm", "lap": "1in"}


def tenths(low: float, high: float):
    return st.integers(math.ceil(low * 10), math.floor(high * 10)).map(lambda number: number / 10)


@pytest.mark.parametrize("option", LENGTHS)
@given(data=st.data())
def test_a_length_within_bounds_is_the_setting_and_outside_is_refused(option, data):
    name, least, most = LENGTHS[option]
    size = data.draw(tenths(-10.0, 300.0))
    told = {**TOLD, option: f"{size}mm"}
    lengths = {"thickness": 12.7, "lap": 25.4, "limit": 0.8} | {option: size}
    agree = lengths["lap"] >= lengths["thickness"] and lengths["limit"] < lengths["lap"]
    if least <= size <= most and agree:
        assert getattr(read_settings(Given(**told)), name) == pytest.approx(size)
        return
    with pytest.raises(WrongCall):
        read_settings(Given(**told))


@pytest.mark.parametrize("text", ["1/2in", "0.5in", '1/2"', "12.7mm", "1.27cm", "0-0-4"])
def test_half_an_inch_is_half_an_inch_however_it_is_written(text):
    assert sized("thickness", text, 3.0, 60.0) == pytest.approx(12.7)


@given(tenths(0.0, 30.0), st.sampled_from(["deg", "°", "", " deg"]))
def test_a_bevel_reads_with_and_without_its_unit(angle, unit):
    assert bevel_of(f"{angle}{unit}") == pytest.approx(angle)


@pytest.mark.parametrize("text", ["-1deg", "31deg", "steep", "", "6rad", "nan", "inf", "6deg6"])
def test_a_bevel_that_cannot_be_is_refused(text):
    with pytest.raises(WrongCall):
        bevel_of(text)


@pytest.mark.parametrize(
    ("text", "eased_mm"), [("0.3mm", 0.3), ("sharp", 0.0), (" Sharp", 0.0), ("1/64in", 25.4 / 64), ("0mm", 0.0)]
)
def test_an_eased_corner_is_given_by_its_width_or_as_sharp(text, eased_mm):
    assert read_settings(Given(**TOLD, eased=text)).eased_mm == pytest.approx(eased_mm)


@pytest.mark.parametrize("text", ["", "round", "-0.1mm", "3mm", "0.3", "nanmm"])
def test_an_easing_that_cannot_be_is_refused_in_one_line(text):
    with pytest.raises(WrongCall) as wrong:
        read_settings(Given(**TOLD, eased=text))
    assert "\n" not in str(wrong.value)


def test_the_hull_says_how_its_corners_are_eased_and_what_is_given_goes_before(tmp_path):
    hull = made_hull(tmp_path, 'name = "Invented"\nlap = "1in"\nthickness = "1/2in"\neased = "sharp"\n')
    told = {"reference": "id1"}
    assert read_settings(Given(**told), hull).eased_mm == 0.0
    assert read_settings(Given(**told, eased="0.2mm"), hull).eased_mm == pytest.approx(0.2)
    assert read_settings(Given(**TOLD)).eased_mm is None


@given(st.text(max_size=12))
def test_no_text_for_a_bevel_makes_it_stumble(text):
    try:
        bevel = bevel_of(text)
    except WrongCall:
        return
    assert 0.0 <= bevel <= 30.0


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_a_place_pointed_at_is_read_as_told(u, v):
    settings = read_settings(Given(**TOLD, hints=hints_of(line_at=[f"{u},{v}", "10, 20"], keel=None)))
    assert settings.hints.line_at_px == ((u, v), (10.0, 20.0))
    assert settings.hints.edge_at_px == ()


@pytest.mark.parametrize("text", ["", "10", "10,20,30", "left,20", "10;20", "nan,3", "inf,2"])
def test_a_place_that_is_none_is_refused(text):
    with pytest.raises(WrongCall):
        hints_of(edge_at=[text], keel=None)


@pytest.mark.parametrize("missing", ["reference", "thickness"])
def test_what_is_needed_is_asked_for(missing):
    with pytest.raises(WrongCall, match=f"--{missing} is needed"):
        read_settings(Given(**{name: text for name, text in TOLD.items() if name != missing}))


@pytest.mark.parametrize("wrong", [{"units": "yd"}, {"fraction": 7}, {"reference": "postcard"}, {"lap": "25.4"}])
def test_a_word_that_is_not_known_is_refused(wrong):
    with pytest.raises(WrongCall):
        read_settings(Given(**TOLD | wrong))


def test_nothing_told_is_the_programs_own():
    settings = read_settings(Given(**TOLD))
    assert settings.limit_mm == pytest.approx(parse_length("1/32in"))
    assert (settings.keel, settings.units, settings.fraction) == ("auto", "in", 32)
    assert settings.bevel() == (6.0, 4.0), "an untold bevel is a usual one, widely doubted"
    assert read_settings(Given(**TOLD, bevel="6deg")).bevel() == (6.0, 1.0)


def test_a_keel_that_is_none_is_refused():
    with pytest.raises(WrongCall, match="give down, up or auto"):
        hints_of(keel="left")


def test_the_keel_is_what_is_given_then_the_hulls_then_found(tmp_path):
    hull = made_hull(tmp_path, UP)
    assert read_settings(Given(**TOLD), hull).keel == "up"
    assert read_settings(Given(**TOLD, hints=Hints(edge_at_px=((1.0, 2.0),))), hull).keel == "up", "pointed, not said"
    assert read_settings(Given(**TOLD, hints=Hints(keel="auto")), hull).keel == "auto"
    assert read_settings(Given(**TOLD)).keel == "auto"


UP = 'name = "Invented"\nlap = "1in"\nthickness = "1/2in"\nkeel = "up"\n'
LISTED = 'name = "Invented"\nlap = "1in"\nthickness = "1/2in"\nreference = "card-us"\n'


def test_an_edge_on_view_takes_its_reference_from_the_settings_or_goes_by_the_thickness(tmp_path):
    hull = made_hull(tmp_path, LISTED)
    assert read_settings(Given(), hull, edge_on=True).reference == "card-us"
    assert read_settings(Given(reference="id1"), hull, edge_on=True).reference == "id1"
    assert read_settings(Given(reference="thickness"), hull, edge_on=True).reference == "thickness"
    without = made_hull(tmp_path, LISTED.replace('reference = "card-us"\n', ""))
    assert read_settings(Given(), without, edge_on=True).reference == "thickness"
    with pytest.raises(WrongCall, match="'thickness' is not known"):
        read_settings(Given(reference="thickness"), hull)
