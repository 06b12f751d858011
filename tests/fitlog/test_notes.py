"""Notes without photographs and readings of a steel rule, on record and at the command line."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from fitcheck.cli.log import log_app
from fitcheck.fitlog import by_hand
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.move import move_fit
from fitcheck.fitlog.notes import notes, record_note
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from tests.calls import call
from tests.fitlog.made import made_hull, measured

FOUR, THREE = PlankName(4, "port"), PlankName(3, "port")


@pytest.fixture
def hull(tmp_path, monkeypatch):
    hull = made_hull(tmp_path)
    monkeypatch.chdir(tmp_path)
    record(measured(0.8, u95_mm=0.3), db_path=hull.db_path, plank="4 port", hull=hull)
    return hull


def on_record(hull, plank=FOUR, **told):
    with reading(hull.db_path) as connection:
        assert check(connection) == []
        return notes(connection, plank, **told)


@pytest.mark.parametrize(("read_mm", "agrees"), [(0.8, True), (1.3, True), (1.5, False), (-0.8, False)])
def test_rule_and_photographs_agree_within_both_their_doubts(hull, read_mm, agrees):
    """0.3 mm of the photographs and 0.5 mm of the rule are 0.58 mm together."""
    record_note(hull.db_path, FOUR, hull, at_mm=502.0, past_line_mm=read_mm)
    (one,) = on_record(hull)
    assert one.measured == (0.8, 0.3)
    assert one.agrees is agrees


def test_where_no_photograph_has_a_number_nothing_is_said_of_agreeing(hull):
    record(measured(lambda x: None if x > 500 else 0.0), db_path=hull.db_path, plank="3 port", hull=hull)
    record_note(hull.db_path, THREE, hull, at_mm=900.0, past_line_mm=0.8)
    (one,) = on_record(hull, THREE)
    assert (one.measured, one.agrees) == (None, None)
    assert "no photograph of this fit has a number there" in call(log_app, "show", "3 port").stdout


def test_at_the_command_line_they_are_entered_shown_and_taken_back(hull):
    assert call(log_app, "note", "4 port", "ribband eased", "--who", "A").exit_code == 0
    assert call(log_app, "note", "4 port", "--at", "1ft", "--past", "1/32in").exit_code == 0
    assert call(log_app, "note", "4 port", "--at", "1ft", "--short", "1/32in").exit_code == 0
    shown = call(log_app, "show", "4 port").stdout
    assert "note 1 by A" in shown
    assert "a rule reads past 1/32 in" in shown
    assert "the two agree" in shown
    assert "a rule reads short 1/32 in" in shown
    assert "THEY DO NOT AGREE" in shown
    taken = call(log_app, "withdraw", "4 port", "--note", "3", "--who", "A", "--why", "misread")
    assert "note 3 of 4 port withdrawn" in taken.stdout
    assert "[withdrawn] note 3" in call(log_app, "show", "4 port").stdout
    assert [one.number for one in on_record(hull)] == [1, 2]
    assert len(on_record(hull, withdrawn=True)) == 3


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ([], "nothing is told"),
        (["--at", "1ft"], "with its place"),
        (["--past", "1/32in"], "with its place"),
        (["--at", "1ft", "--past", "1/32in", "--short", "1/32in"], "not with both"),
        (["--at", "1ft", "--past", "10in"], "no edge lies so far"),
        (["--at", "50ft", "--past", "1/32in"], "beyond"),
    ],
)
def test_what_cannot_be_is_one_line_and_nothing_is_recorded(hull, told, said):
    done = call(log_app, "note", "4 port", *told)
    assert (done.exit_code, said in done.stderr) == (2, True), done
    assert on_record(hull) == []


def test_a_reading_is_of_a_fit_as_it_was_photographed(hull):
    with pytest.raises(WrongCall, match="give it as a note"):
        record_note(hull.db_path, THREE, hull, at_mm=100.0, past_line_mm=0.5)
    by_hand.record_cut(hull.db_path, FOUR, hull, from_mm=0, to_mm=100, deepest_mm=0.5)
    with pytest.raises(WrongCall, match="planed after fit 1"):
        record_note(hull.db_path, FOUR, hull, at_mm=100.0, past_line_mm=0.5)
    record_note(hull.db_path, FOUR, hull, note="that is well")
    assert len(on_record(hull)) == 1


def test_a_reading_goes_with_its_fit_to_another_plank_and_a_note_stays(hull):
    record_note(hull.db_path, FOUR, hull, at_mm=100.0, past_line_mm=0.5)
    record_note(hull.db_path, FOUR, hull, note="wrong plank?")
    move_fit(hull.db_path, FOUR, THREE, hull, number=1, who="A", why="wrong plank")
    (moved,) = on_record(hull, THREE)
    assert (moved.past_line_mm, moved.fit) == (0.5, 1)
    assert len(on_record(hull)) == 2


def test_a_note_altered_by_other_means_shows(hull):
    record_note(hull.db_path, FOUR, hull, note="all well", at_mm=100.0, past_line_mm=0.5)
    with closing(sqlite3.connect(hull.db_path)) as connection:
        connection.execute("UPDATE notes SET past_line_mm = 0.1")
        connection.commit()
    with reading(hull.db_path) as connection:
        (trouble,) = check(connection)
    assert "a note of fit 1 of 4 port was altered" in trouble
    assert "its reading" in trouble
