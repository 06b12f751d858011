"""A hull in inches is never answered in millimetres or by the metre, and its own way with feet is kept."""

from __future__ import annotations

import re

import pytest

from fitcheck.answering.read_settings import sized
from fitcheck.cli.app import app
from fitcheck.contract.settings import Settings
from fitcheck.fitlog.recording import record
from fitcheck.ground.refusal import Reason, WrongCall
from fitcheck.hull.first_file import new_hull_text
from fitcheck.one_photo.edge import refusal
from fitcheck.one_photo.open_lap import gap_refusal
from fitcheck.report.edge.table import table_lines
from fitcheck.report.edge.wording import Wording
from tests.calls import call
from tests.fitlog.made import HULL, cut, made_hull, measured, photographs, seen_edge_on

METRIC = re.compile(r"\bmm\b|metre|\d ?mm")
CUTS = {"verdict": "plane", "cuts": [cut(300, 700, 1.1)], "short": [], "unseen": []}
FEET = HULL.replace('"1000mm"', '"3ft 3in"').replace('"2000mm"', '"6ft 6in"').replace("1100mm", "4ft")
INCHES = HULL.replace('"1000mm"', '"39in"').replace('"2000mm"', '"78in"').replace("1100mm", "48in")


def said(*words, status=0):
    done = call(app, "log", *words)
    assert done.exit_code == status, done.output
    return done.output


@pytest.fixture
def hull(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    hull = made_hull(tmp_path)
    told = {"db_path": hull.db_path, "hull": hull}
    record(measured(lambda x: 0.6 + x / 700, planing=CUTS), plank="4 port", moisture_pct=8.0, **told)
    record(measured(0.2, u95_mm=0.1), plank="4 starboard", **told)
    record(seen_edge_on(lambda x: 0.3 if x < 300 else 0.0), plank="4 port", **told)
    said("feeler", "4p", "--blade", "0.1mm", "--stays-out", "--at", "20in")
    said("cut", "4p", "--from", "10in", "--to", "20in", "--depth", "0.1mm")
    record(measured(lambda x: 0.1 + x / 2500, u95_mm=0.05), plank="4 port", moisture_pct=12.0, **told)
    return hull


@pytest.mark.parametrize(
    "words",
    [["list"], ["list", "--all"], ["show", "4p"], ["show", "4p", "--fit", "1"], ["compare", "4p"], ["twin", "4p"]],
)
def test_an_inch_hull_never_shows_millimetres(hull, words):
    shown = said(*words)
    assert not METRIC.search(shown), METRIC.search(shown)
    assert not re.search(r"(?<![\d/])0 in\b(?! to)", shown)


def test_a_thin_leaf_is_never_nothing(hull):
    assert "0.004 in stays out" in said("show", "4p", "--fit", "1")


def test_a_swing_is_told_over_ten_feet(hull):
    record(measured(0.2, u95_mm=0.05), db_path=hull.db_path, plank="3 port", hull=hull)
    record(measured(lambda x: 0.2 + x / 250, u95_mm=0.05), db_path=hull.db_path, plank="3 port", hull=hull)
    assert "over 10 ft" in said("compare", "3p")


def test_what_is_missing_for_signing_is_in_inches(hull):
    assert not METRIC.search(said("sign", "4p", "--who", "Builder A", status=3))


def test_a_study_is_in_inches(hull, tmp_path):
    for trial in range(2):
        for who in ("Builder A", "Builder B"):
            photos = photographs(tmp_path, f"{who}-{trial}.jpg", seed=hash((who, trial)) % 1000)
            value = 0.1 * trial + (0.05 if who == "Builder B" else 0.0)
            same = (trial, who) != (0, "Builder A") or None
            record(
                measured(lambda x, v=value: v + x / 2000),
                **{"db_path": hull.db_path, "plank": "3 starboard", "hull": hull, "photos": photos},
                **{"who": who, "same_fit": same},
            )
    shown = said("repeat", "3s")
    assert "standard deviation, in" in shown
    assert not METRIC.search(shown)


@pytest.mark.parametrize(("text", "whole"), [(FEET, "3 ft 3 in"), (INCHES, "39 in")])
def test_the_hulls_own_way_with_feet_is_kept(tmp_path, monkeypatch, text, whole):
    monkeypatch.chdir(tmp_path)
    hull = made_hull(tmp_path, text)
    record(measured(1.4, places_mm=range(0, 990, 5)), db_path=hull.db_path, plank="4 port", hull=hull)
    said("cut", "4p", "--from", "12in", "--to", whole.replace(" ", ""), "--depth", "1/16in")
    shown = said("show", "4p") + said("list")
    assert f"{'1 ft' if 'ft' in whole else '12 in'} to {whole}" in shown
    assert ("12 in" in shown) != ("1 ft" in shown)


def test_a_told_style_goes_before_the_written_one(tmp_path):
    assert made_hull(tmp_path, f'tape = "feet"\n{INCHES}').tape_style == "feet"
    assert made_hull(tmp_path, HULL).tape_style == ""


def test_new_settings_are_in_the_hulls_units():
    for units, other in (("in", r'"[\d.]+mm"'), ("mm", r'"[^"]*\d(in|ft)\b')):
        told = {"lap": "1in", "thickness": "1/2in"} if units == "in" else {"lap": "25mm", "thickness": "12mm"}
        text = new_hull_text(name="Invented", units=units, strakes=2, **told)
        assert not re.search(other, "\n".join(text.splitlines()[3:]))


@pytest.mark.parametrize("refused", [refusal, gap_refusal])
def test_a_refusal_speaks_the_hulls_units(refused):
    reason = Reason("too-far", "A pixel covers 0.45 mm of the lap; 0.4 mm or less is needed. See IMG 25 mm.jpg.")
    settings = Settings(reference="id1", thickness_mm=12.7)
    answer = refused(reason, settings, None, ())
    assert (
        answer.reasons[0].text == "A pixel covers 0.018 in of the lap; 0.016 in or less is needed. See IMG 25 mm.jpg."
    )
    metric = refused(reason, Settings(reference="id1", thickness_mm=12.7, units="mm"), None, ())
    assert metric.reasons[0] == reason
    if refused is refusal:
        assert "0.018 in" in table_lines(answer, Wording.of(answer))[2]
    lens = Reason("camera-lens", "This photograph has a lens of 4.2 mm.")
    assert refused(lens, settings, None, ()).reasons[0] == lens


def test_a_bound_is_said_in_the_units_it_was_told_in():
    with pytest.raises(WrongCall, match=r"between 0\.118 in") as inches:
        sized("thickness", "5in", 3.0, 60.0)
    assert "mm" not in str(inches.value)
    with pytest.raises(WrongCall, match=r"between 3\.00 mm and 60\.00 mm"):
        sized("thickness", "1mm", 3.0, 60.0)
