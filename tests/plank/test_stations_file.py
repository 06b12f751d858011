"""The file of known places, and what it does to the places the photographs give."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.ground.refusal import WrongCall
from fitcheck.plank.places import from_card_0, weigh_in
from fitcheck.plank.stations_file import read_stations


def write(tmp_path, text):
    path = tmp_path / "stations.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_places_are_read_in_any_unit(tmp_path):
    # 1 ft = 304.8 mm and 1 in = 25.4 mm exactly (international foot, 1959).
    places = read_stations(write(tmp_path, "number,place\n0,0mm\n1,1ft\n2,2ft 6-1/2in\n3,1.2m\n"))
    assert places == pytest.approx({0: 0.0, 1: 304.8, 2: 774.7, 3: 1200.0})


def test_a_mark_of_order_and_other_columns_do_no_harm(tmp_path):
    assert read_stations(write(tmp_path, "\ufeffnote,place,number\nmould 1, 300mm, 1\n")) == {1: 300.0}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("number,where\n1,300mm\n", "place"),
        ("number,place\n1,300mm\n1,400mm\n", "twice"),
        ("number,place\none,300mm\n", "no card number"),
        ("number,place\n99,300mm\n", "0 to 61"),
        ("number,place\n1,far\n", "line 2"),
        ("number,place\n1,300mm\n2,200mm\n", "rise"),
        ("number,place\n", "no station"),
        ("", "columns"),
    ],
)
def test_what_cannot_be_is_said(tmp_path, text, says):
    with pytest.raises(WrongCall, match=says):
        read_stations(write(tmp_path, text))


def test_a_missing_file_is_a_wrong_call(tmp_path):
    with pytest.raises(WrongCall, match="cannot read"):
        read_stations(tmp_path / "none.csv")


NUMBERS = (0, 1, 2)
PLANK = np.array([0.0, 300.0, 602.0])
COVARIANCE = np.diag([0.0, 1.0, 4.0])


def test_a_known_place_is_weighed_in_as_two_readings_are():
    # Weighted mean of 602 (u 2) and 600 (u 1): (602/4 + 600/1) / (1/4 + 1) = 600.4, u = sqrt(0.8) (GUM 5.1).
    weighed = weigh_in(NUMBERS, PLANK, COVARIANCE, {2: 600.0})
    assert weighed.plank_mm[2] == pytest.approx(600.4)
    assert np.sqrt(weighed.covariance[2, 2]) == pytest.approx(np.sqrt(0.8))
    assert weighed.plank_mm[1] == 300.0
    assert not weighed.warnings


def test_a_known_place_the_photographs_contradict_is_left_out_and_told():
    weighed = weigh_in(NUMBERS, PLANK, COVARIANCE, {1: 330.0}, "mm")
    assert weighed.plank_mm[1] == 300.0
    assert [warning.code for warning in weighed.warnings] == ["station-differs"]
    assert "330 mm" in weighed.warnings[0].text
    assert "at 13 in, but" in weigh_in(NUMBERS, PLANK, COVARIANCE, {1: 330.2}, "in").warnings[0].text


def test_known_places_count_from_card_0():
    assert from_card_0({0: 1000.0, 2: 1600.0}) == {0: 0.0, 2: 600.0}
    assert from_card_0({2: 1600.0}) == {2: 1600.0}
