"""What is told of a place beyond the plank, or of a blade no gauge has, is refused and nothing goes on record."""

from __future__ import annotations

import pytest

from fitcheck.cli.app import app
from fitcheck.cli.log import log_app
from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_feeler
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.summary import summary_of
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import read_plank
from tests.calls import call
from tests.fitlog.made import HULL, made_hull, measured, seen_edge_on

FOUR = read_plank("4 port")


@pytest.fixture
def hull(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    return hull


def by_hand(hull):
    with reading(hull.db_path) as connection:
        return [*queries.cuts(connection, FOUR), *queries.feelers(connection, queries.fit(connection, FOUR).id)]


@pytest.mark.parametrize(
    "words",
    [
        ["cut", "4 port", "--from", "900mm", "--to", "1100mm", "--depth", "1mm"],
        ["cut", "4 port", "--from", "-2in", "--to", "100mm", "--depth", "1mm"],
        ["feeler", "4 port", "--blade", "0.1mm", "--stays-out", "--at", "20ft"],
        ["feeler", "4 port", "--blade", "0.1mm", "--stays-out", "--from", "0mm", "--to", "1050mm"],
    ],
)
def test_places_beyond_the_plank_are_refused(hull, words):
    done = call(log_app, *words)
    assert done.exit_code == 2
    assert "beyond the end of 4 port" in done.output
    assert "fitcheck.toml has it from 0 in to 3 ft 3-3/8 in" in done.output
    assert by_hand(hull) == []


def test_the_ends_themselves_are_on_the_plank(hull):
    done = call(log_app, "feeler", "4 port", "--blade", "0.004in", "--stays-out", "--from", "0", "--to", "1m")
    assert done.exit_code == 0, done.output


@pytest.mark.parametrize("blade", ["10mm", "1/4in", "0mm"])
def test_a_blade_no_gauge_has_is_refused_in_the_hulls_units(hull, blade):
    done = call(log_app, "feeler", "4 port", "--blade", blade, "--goes-in", "--at", "100mm")
    assert done.exit_code == 2
    assert "at most 1/8 in" in done.output
    assert "mm" not in done.output
    assert by_hand(hull) == []


def test_a_leaf_of_four_thousandths_is_one_of_a_tenth_of_a_millimetre(hull):
    record(seen_edge_on(None), db_path=hull.db_path, plank="4 port", hull=hull)
    record_feeler(hull.db_path, FOUR, hull, from_mm=0, to_mm=1000, blade_mm=0.004 * 25.4, goes_in=False)
    with reading(hull.db_path) as connection:
        fit = queries.fit(connection, FOUR)
        assert summary_of(connection, fit.id, terms_of(FOUR, hull))["lap_doubt_len_mm"] == 0.0


@pytest.mark.parametrize("make", [measured, seen_edge_on])
def test_a_lap_measured_past_the_end_is_not_recorded(hull, make):
    with pytest.raises(WrongCall, match="past the end"):
        record(make(places_mm=range(700, 2000, 5)), db_path=hull.db_path, plank="4 port", hull=hull)
    past = [{**sample, "along_mm": sample["plank_mm"], "plank_mm": None} for sample in make()["samples"]]
    with pytest.raises(WrongCall, match="past the end"):
        record({**make(), "samples": past}, db_path=hull.db_path, plank="4 port", hull=hull, at_mm=400.0)


def test_a_plank_not_yet_cut_to_length_is_recorded_and_what_lies_beyond_is_told(hull):
    """By station cards the places are right; what runs on past the end is no part of the plank to be judged."""
    recorded = record(measured(places_mm=range(-200, 1200, 5)), db_path=hull.db_path, plank="4 starboard", hull=hull)
    assert recorded.new
    assert "what lies beyond an end is not judged" in recorded.warnings[0]
    assert "7-7/8 in before 0 to 3 ft 11" in recorded.warnings[0]
    assert record(measured(), db_path=hull.db_path, plank="3 port", hull=hull).warnings == ()


def test_beside_a_scarf_the_next_plank_may_be_in_the_picture(hull):
    record(measured(places_mm=range(600, 1500, 5)), db_path=hull.db_path, plank="5 port fore", hull=hull)


def test_a_plank_whose_ends_are_not_told_bounds_nothing(tmp_path):
    hull = made_hull(tmp_path, HULL.replace('to = "1000mm"', ""))
    record(measured(places_mm=range(0, 4000, 50)), db_path=tmp_path / "other.db", plank="4 port", hull=hull)


@pytest.mark.parametrize("command", ["measure", "gap"])
def test_a_reference_beyond_the_plank_is_refused_before_anything_is_measured(hull, command):
    told = [command, "p.jpg", "--camera", "c.json", "--reference", "id1", "--plank", "4 port", "--at", "20ft"]
    done = call(app, *told)
    assert done.exit_code == 2
    assert "--at lies beyond the end of 4 port" in done.output
