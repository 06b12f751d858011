"""What was written is what is there: every hand or flipped bit that changes the record shows, and is named."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from fitcheck.fitlog import by_hand
from fitcheck.fitlog.chain import KINDS, START, check, seal
from fitcheck.fitlog.connection import connect
from fitcheck.fitlog.move import move_fit
from fitcheck.fitlog.notes import record_note, take_note_back
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import sign
from fitcheck.fitlog.store import reading, writing
from fitcheck.hull.plank_name import PlankName
from fitcheck.hull.settings_file import load_hull
from tests.fitlog.made import cut, made_hull, measured, photographs, seen_edge_on

FOUR, STARBOARD = PlankName(4, "port"), PlankName(4, "starboard")
OLD = Path(__file__).with_name("old")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A record with an event of every kind in it, made once."""
    tmp_path = tmp_path_factory.mktemp("made")
    hull = made_hull(tmp_path)
    told = {"db_path": hull.db_path, "hull": hull, "who": "Builder A"}
    first = photographs(tmp_path, "a.jpg", seed=1)
    asked = measured(0.9, planing={"verdict": "plane", "cuts": [cut(100, 600, 0.5)]})
    record(asked, plank="4 port", photos=first, note="dry", **told)
    record(asked | {"camera": None}, plank="4 port", photos=first, moisture_pct=12.0, **told)
    by_hand.record_advised_cuts(hull.db_path, FOUR, who="Builder A")
    record(measured(0.0), plank="4 port", photos=photographs(tmp_path, "b.jpg", seed=2), **told)
    record(seen_edge_on(0.0), plank="4 port", photos=photographs(tmp_path, "c.jpg", seed=3), **told)
    by_hand.record_feeler(hull.db_path, FOUR, hull, from_mm=0, to_mm=1000, blade_mm=0.1, goes_in=False, who="Builder A")
    sign(hull.db_path, FOUR, hull, who="Builder A")
    by_hand.record_feeler(hull.db_path, FOUR, hull, from_mm=10, to_mm=10, blade_mm=0.1, goes_in=True)
    record_note(hull.db_path, FOUR, hull, note="ribband eased", at_mm=500.0, past_line_mm=0.4)
    take_note_back(hull.db_path, FOUR, number=1, who="Builder A", why="misread")
    record(measured(0.1), plank="4 starboard", **told)
    record(measured(0.1), plank="3 port", **told)
    move_fit(hull.db_path, PlankName(3, "port"), PlankName(3, "starboard"), hull, number=1, who="Builder A", why="side")
    return tmp_path


@pytest.fixture
def hull(made, tmp_path):
    """A copy of the record, to be changed."""
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    return load_hull(tmp_path / "fitcheck.toml")


def changed(hull, *statements):
    """The record's troubles after a hand that is not this program's has changed it."""
    with closing(sqlite3.connect(hull.db_path)) as connection:
        for statement in statements:
            connection.execute(statement)
        connection.commit()
    return troubles(hull)


def troubles(hull):
    with reading(hull.db_path) as connection:
        return check(connection)


def test_a_record_of_every_kind_holds(hull):
    assert troubles(hull) == []
    with reading(hull.db_path) as connection:
        assert {row["what"] for row in connection.execute("SELECT what FROM seals")} >= KINDS.keys()
        assert not connection.execute("SELECT 1 FROM seals WHERE late").fetchone()


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE fits SET note = 'wet' WHERE id = 1", "fit 1 of 4 port was altered .* its note"),
        ("UPDATE fits SET note = '' WHERE id = 1", "fit 1 of 4 port was altered .* its note"),
        ("UPDATE fits SET made_at = '2020-01-01T00:00:00+00:00' WHERE id = 2", "fit 2 of 4 port .* its date"),
        ("UPDATE fits SET who = 'Builder B' WHERE id = 1", "fit 1 of 4 port .* who did it"),
        ("UPDATE fits SET moisture_pct = NULL WHERE id = 1", "fit 1 of 4 port .* its moisture"),
        ("UPDATE fits SET plank_id = 2, number = 9 WHERE id = 1", "fit 1 of 4 port .* its plank"),
        ("UPDATE planks SET strake = 5 WHERE id = 1", "fit 1 of 4 port .* its plank"),
        ("UPDATE samples SET past_line_mm = 0.9000000000000001 WHERE take_id = 1 AND n = 7", "its measured values"),
        ("UPDATE samples SET u95_mm = 0.1 WHERE take_id = 3 AND n = 100", r"fit 2 .* its measured values \(.*u95_mm"),
        ("DELETE FROM samples WHERE take_id = 1 AND n = 200", "its measured values"),
        ("UPDATE gap_samples SET state = 'unsure' WHERE n = 3", r"fit 2 .* its measured values \(gaps.state"),
        ("UPDATE takes SET settings = '{\"limit_mm\":9}' WHERE id = 3", "fit 2 .* its settings and limits"),
        ("UPDATE takes SET superseded_by = NULL WHERE id = 1", "a set measured anew of fit 1 of 4 port is gone"),
        ("UPDATE takes SET superseded_by = 3 WHERE id = 1", "which set stands in its place"),
        ("UPDATE calibrations SET identity = '{}'", "its camera"),
        ("UPDATE photographs SET bytes = 1", "its photographs"),
        ("DELETE FROM take_photographs WHERE take_id = 3", "its photographs"),
        ("DELETE FROM cuts", "a cut of fit 1 of 4 port is gone"),
        ("UPDATE cuts SET deepest_mm = 0.1", "a cut of fit 1 of 4 port was altered"),
        ("UPDATE feelers SET blade_mm = 0.5 WHERE id = 1", "a feeler reading of fit 2 of 4 port was altered"),
        ("DELETE FROM signoffs", "the signing of fit 2 of 4 port is gone"),
        ("UPDATE signoffs SET who = 'Builder B'", "the signing of fit 2 of 4 port was altered .* who did it"),
        ("UPDATE signoffs SET opened_at = NULL, opened_why = NULL", "the opening again of fit 2 of 4 port is gone"),
        ("UPDATE summaries SET past_len_mm = 0.5 WHERE fit_id = 3", "the line in the list of fit 1 of 4 starboard"),
        ("UPDATE notes SET past_line_mm = 1 WHERE id = 1", "a note of fit 2 of 4 port was altered"),
        ("UPDATE notes SET taken_back_why = 'x' WHERE id = 1", "a note taken back of fit 2 of 4 port was altered"),
        ("INSERT INTO feelers VALUES (77, 2, 'x', NULL, 0, 1, 0.1, 0, '')", "a feeler reading of fit 2 .* has no seal"),
    ],
)
def test_what_another_hand_changed_is_named(hull, statement, said):
    found = changed(hull, statement)
    assert any(_matches(said, line) for line in found), found


def test_a_fit_taken_out_whole_is_named(hull):
    tables = ("samples", "gap_samples", "take_photographs")
    out = [f"DELETE FROM {table} WHERE take_id IN (SELECT id FROM takes WHERE fit_id = 2)" for table in tables]
    out += [f"DELETE FROM {table} WHERE fit_id = 2" for table in ("takes", "feelers", "signoffs", "summaries")]
    found = changed(hull, *out, "DELETE FROM fits WHERE id = 2")
    assert any(line.startswith("fit 2 of 4 port is gone") for line in found)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE seals SET made_at = '2020-01-01T00:00:00+00:00' WHERE id = 3", "the seal of .* was altered"),
        ("UPDATE seals SET content = '{}' WHERE id = 3", "the seal of .* was altered"),
        ("DELETE FROM seals WHERE id = 3", "the seal before that of .* is gone"),
        ("DELETE FROM seals WHERE id = 1", "the seal before that of .* is gone"),
        ("DELETE FROM seals WHERE id = (SELECT max(id) FROM seals)", "the last seals are gone"),
    ],
)
def test_a_seal_changed_or_taken_out_is_named(hull, statement, said):
    with closing(sqlite3.connect(hull.db_path)) as connection, pytest.raises(sqlite3.IntegrityError, match="a seal is"):
        connection.execute(statement)
    triggers = ("DROP TRIGGER seals_stay", "DROP TRIGGER seals_are_kept")
    assert any(_matches(said, line) for line in changed(hull, *triggers, statement))


def test_one_plank_is_checked_by_itself(hull):
    changed(hull, "UPDATE fits SET note = 'wet' WHERE id = 3")
    with reading(hull.db_path) as connection:
        assert check(connection, plank_id=1) == []
        (trouble,) = check(connection, plank_id=2)
    assert "fit 1 of 4 starboard" in trouble


def test_the_digest_is_what_its_description_says(hull):
    """Worked out here by hand: SHA-256 over the digest before and the seal as canonical JSON."""
    with closing(connect(hull.db_path)) as connection:
        before = START
        for row in connection.execute("SELECT * FROM seals ORDER BY id").fetchall():
            told = {key: row[key] for key in row.keys() if key != "digest"}  # noqa: SIM118
            text = json.dumps(told, sort_keys=True, separators=(",", ":"))
            before = hashlib.sha256((before + text).encode()).hexdigest()
            assert row["digest"] == before
        note = hashlib.sha256(b'"dry"').hexdigest()[:32]
        told = connection.execute("SELECT content FROM seals WHERE what = 'fit' AND row_id = 1").fetchone()
        assert json.loads(told["content"])["note"] == note


def test_a_rightful_change_is_sealed_again(hull):
    with writing(hull.db_path) as connection:
        connection.execute("UPDATE fits SET note = 'as told later' WHERE id = 1")
        seal(connection, what="fit", row_id=1)
        seals = connection.execute("SELECT count(*) FROM seals").fetchone()[0]
        seal(connection, what="fit", row_id=1)
        assert connection.execute("SELECT count(*) FROM seals").fetchone()[0] == seals
    assert troubles(hull) == []


@pytest.mark.parametrize("name", ["schema-1.sql", "schema-2.sql", "schema-3.sql"])
def test_an_old_record_is_sealed_when_it_is_upgraded_and_says_so(tmp_path, name):
    hull = made_hull(tmp_path)
    with closing(sqlite3.connect(hull.db_path)) as connection:
        connection.executescript((OLD / name).read_text(encoding="utf-8"))
    with reading(hull.db_path) as connection:
        assert check(connection) == []
        assert {row["late"] for row in connection.execute("SELECT late FROM seals")} == {1}
        assert connection.execute("SELECT count(*) FROM seals").fetchone()[0] >= 12
    assert changed(hull, "UPDATE fits SET note = 'wet' WHERE id = 1")


def _matches(pattern, line):
    return re.search(pattern, line) is not None
