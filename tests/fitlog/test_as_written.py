"""The check of the whole record, and of a plank that is opened: flipped bits, photographs, copies, commands."""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
from contextlib import closing

import pytest

from fitcheck.cli.log import log_app
from fitcheck.fitlog.as_written import check_record
from fitcheck.fitlog.backup import copy_checked
from fitcheck.fitlog.connection import Damaged
from fitcheck.fitlog.photos import photo_store
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import sign
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from tests.calls import call
from tests.fitlog.made import made_hull, measured, photographs, seen_edge_on

FOUR = PlankName(4, "port")


@pytest.fixture
def hull(tmp_path):
    hull = made_hull(tmp_path)
    for i in range(2):
        photos = photographs(tmp_path / "card", f"p{i}.jpg", seed=i)
        record(measured(0.01 * i), db_path=hull.db_path, plank="4 port", hull=hull, photos=photos, note=f"fit {i}")
    record(seen_edge_on(0.0), db_path=hull.db_path, plank="4 port", hull=hull)
    record(measured(), db_path=hull.db_path, plank="4 starboard", hull=hull)
    return hull


def altered(hull, statement="UPDATE samples SET past_line_mm = 0.5 WHERE take_id = 2 AND n = 100"):
    with closing(sqlite3.connect(hull.db_path)) as connection:
        connection.execute(statement)
        connection.commit()


def said_by(hull, *words):
    return call(log_app, *words, "--hull", str(hull.path))


def test_a_sound_record_says_so(hull):
    copy_checked(hull.db_path)
    said = said_by(hull, "check")
    assert said.exit_code == 0, said.output
    assert "3 fits" in said.output
    assert "2 photographs in the store, 2 copies" in said.output
    assert "all is as it was written" in said.output


def test_what_was_altered_is_said_by_the_check_with_how_to_mend_it(hull):
    path = copy_checked(hull.db_path)
    altered(hull)
    said = said_by(hull, "check", "--json", "-")
    assert said.exit_code == 3
    assert "fit 2 of 4 port was altered" in said.stderr
    assert f'fitcheck log restore "{path}"' in said.stderr
    told = json.loads(said.stdout)
    assert not told["as_written"]
    assert len(told["record"]) == 1


@pytest.mark.parametrize(
    "words", [["show", "4 port"], ["compare", "4 port"], ["twin", "4 port"], ["export", "csv"], ["report", "4 port"]]
)
def test_opening_an_altered_plank_warns(hull, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "warning" not in said_by(hull, *words).stderr
    altered(hull)
    said = said_by(hull, *words)
    assert "warning: a set of photographs of fit 2 of 4 port was altered" in said.stderr, said.output
    assert said.exit_code == 0


def test_an_altered_fit_is_not_signed_nor_copied_whatever_is_overruled(hull):
    altered(hull)
    with pytest.raises(Damaged, match="fit 2 of 4 port was altered"):
        sign(hull.db_path, FOUR, hull, who="Builder A", overrule="I know better")
    with pytest.raises(Damaged, match="fit 2 of 4 port was altered"):
        copy_checked(hull.db_path)
    sign(hull.db_path, FOUR.twin(), hull, who="Builder A", overrule="the lap was not looked at")


def test_an_older_altered_fit_does_not_bar_signing_the_latest(hull):
    altered(hull, "UPDATE samples SET past_line_mm = 0.5 WHERE take_id = 1 AND n = 100")
    sign(hull.db_path, FOUR, hull, who="Builder A", overrule="the lap was not looked at")


@pytest.mark.parametrize("harm", ["missing", "altered"])
def test_a_spoilt_photograph_is_named_and_mended_when_it_is_given_again(hull, tmp_path, harm):
    path = _kept(hull, "p1.jpg")
    before = path.read_bytes()
    if harm == "missing":
        path.unlink()
    else:
        path.write_bytes(before[:1000] + bytes([before[1000] ^ 1]) + before[1001:])
    said = said_by(hull, "check")
    assert said.exit_code == 3
    words = "is missing from the store" if harm == "missing" else "is not as it was kept"
    assert f"the photograph p1.jpg of fit 2 of 4 port {words}" in said.output
    again = record(
        measured(0.01), db_path=hull.db_path, plank="4 port", hull=hull, photos=[tmp_path / "card" / "p1.jpg"]
    )
    assert not again.new
    assert path.read_bytes() == before
    assert said_by(hull, "check").exit_code == 0


def test_a_changed_copy_is_named(hull):
    path = copy_checked(hull.db_path)
    data = bytearray(path.read_bytes())
    data[5000] ^= 1
    path.write_bytes(data)
    assert f"the copy {path.name} has changed" in said_by(hull, "check").output


def test_an_upgraded_record_says_what_it_does_not_know(tmp_path):
    from tests.fitlog.test_store import OLD

    hull = made_hull(tmp_path)
    with closing(sqlite3.connect(hull.db_path)) as connection:
        connection.executescript((OLD / "schema-3.sql").read_text(encoding="utf-8"))
    shutil.rmtree(photo_store(hull.db_path), ignore_errors=True)
    said = said_by(hull, "check").output
    assert "16 seals given on" in said
    assert "what is older is known as it stood then" in said
    assert "the photograph p1.jpg of fit 1 of 4 port is missing from the store" in said


def test_flipped_bits_are_found(hull, tmp_path):
    """Any flipped bit that changes what the record says is found; others lie in places that hold nothing."""
    with closing(sqlite3.connect(hull.db_path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        before = said_in(connection)
    data, source = hull.db_path.read_bytes(), random.Random(20261129)
    found = 0
    for _ in range(60):
        at, bit = source.randrange(len(data)), 1 << source.randrange(8)
        hull.db_path.write_bytes(data[:at] + bytes([data[at] ^ bit]) + data[at + 1 :])
        try:
            troubles = check_record(hull.db_path).troubles
        except WrongCall:
            troubles = ("damaged",)
        found += bool(troubles)
        if not troubles:
            with closing(sqlite3.connect(hull.db_path)) as connection:
                assert said_in(connection) == before, f"bit {bit} of byte {at}"
    assert found >= 15


def said_in(connection):
    """Everything the record says, but for the texts of its schema."""
    tables = [row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
    return {table: connection.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in tables}


def _kept(hull, name):
    with closing(sqlite3.connect(hull.db_path)) as connection:
        place = connection.execute("SELECT place FROM photographs WHERE name = ?", (name,)).fetchone()[0]
    return photo_store(hull.db_path) / place
