"""Where every plank stands, and what needs doing next."""

from __future__ import annotations

import pytest

from fitcheck.fitlog.by_hand import record_cut
from fitcheck.fitlog.listing import STATES, standings, standings_at
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.hull.plank_name import PlankName
from tests.fitlog.made import cut, made_hull, measured, seen_edge_on

FOUR = PlankName(4, "port")


@pytest.fixture
def hull(tmp_path):
    return made_hull(tmp_path)


def standing(hull, plank=FOUR):
    return next(found for found in standings_at(hull) if found.plank == plank)


def put(hull, measurement, **told):
    return record(measurement, db_path=hull.db_path, plank="4 port", hull=hull, **told)


def test_before_anything_is_recorded_every_plank_is_not_begun(hull):
    found = standings_at(hull)
    assert [str(one.plank) for one in found][:4] == ["3 port", "3 starboard", "4 port", "4 starboard"]
    assert {one.state for one in found} == {"not begun"}
    assert not hull.db_path.exists()


@pytest.mark.parametrize(
    ("measurement", "state", "todo"),
    [
        (measured(1.5, planing={"verdict": "plane", "cuts": [cut(0, 300, 1.2)]}), "plane", "1 cut, deepest 3/64 in"),
        (measured(1.5), "plane", "plane there"),
        (measured(-2.0, planing={"verdict": "recut", "first": None, "cuts": []}), "recut", "a new plank"),
        (measured(-2.0), "short", "slide the plank toward the keel"),
        (measured(0.1, places_mm=range(0, 700, 5)), "look again", "unseen"),
        (measured(0.1, covered=[(400, 450)]), "look again", "covered; move the clamps"),
        (measured(lambda x: None if x < 200 else 0.1), "look again", "hidden"),
        (measured(0.6), "look again", "unsure"),
        (measured(0.1, frame="along_mm"), "look again", "--at"),
        (measured(0.1), "close the lap", "edge-on"),
        (seen_edge_on(), "look again", "no photograph of the edge"),
    ],
)
def test_what_the_latest_fit_asks_for(hull, measurement, state, todo):
    put(hull, measurement)
    assert standing(hull).state == state
    assert todo in standing(hull).todo
    assert state in STATES


def test_an_open_lap_is_said(hull):
    put(hull, measured(0.1))
    put(hull, seen_edge_on(lambda x: 0.6 if x < 300 else 0.0))
    assert standing(hull).state == "close the lap"
    assert "see to the bevel" in standing(hull).todo


def test_the_latest_fit_counts_and_a_cut_after_it(hull):
    put(hull, measured(1.5))
    assert standing(hull).state == "plane"
    record_cut(hull.db_path, FOUR, from_mm=0, to_mm=1000, deepest_mm=1.2)
    assert standing(hull).state == "planed"
    put(hull, measured(0.1))
    assert (standing(hull).state, standing(hull).fits, standing(hull).number) == ("close the lap", 2, 2)


def test_planks_that_the_settings_do_not_list_are_shown_all_the_same(hull, tmp_path):
    put(hull, measured(0.1))
    fewer = made_hull(tmp_path, 'name = "x"\nlap = "1in"\nthickness = "1/2in"\n[[strakes]]\nnumber = 3\n')
    with reading(hull.db_path) as connection:
        assert [str(one.plank) for one in standings(connection, fewer)] == ["3 port", "3 starboard", "4 port"]


def test_samples_are_not_read_for_the_list(hull):
    """The samples are taken away behind the record's back; the list must not miss them."""
    import sqlite3

    put(hull, measured(0.1))
    before = standing(hull)
    connection = sqlite3.connect(hull.db_path)
    connection.execute("DELETE FROM samples")
    connection.commit()
    connection.close()
    assert standing(hull) == before
