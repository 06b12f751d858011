"""Checked copies of the record, and putting one back without losing what was there."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from fitcheck.fitlog import backup, queries
from fitcheck.fitlog.backup import copy_checked, copy_now_and_then, restore
from fitcheck.fitlog.names import PlankName
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import Damaged, backup_folder, last_backup, reading
from fitcheck.refusal import WrongCall
from tests.fitlog.made import made_hull, measured

FOUR = PlankName(4, "port")


@pytest.fixture
def hull(tmp_path):
    hull = made_hull(tmp_path)
    for i in range(3):
        record(measured(0.1 * i), db_path=hull.db_path, plank="4 port", hull=hull, note=f"fit {i}")
    return hull


def count(db_path):
    with reading(db_path) as connection:
        return len(queries.fits(connection, FOUR))


def test_a_copy_holds_everything_in_one_file(hull, tmp_path):
    path = copy_checked(hull.db_path, out=tmp_path / "stick" / "copy.db")
    assert sorted(os.listdir(path.parent)) == ["copy.db", "copy.db.sha256"]
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT count(*) FROM samples").fetchone()[0] == 3 * 201
    with pytest.raises(WrongCall, match="left as it is"):
        copy_checked(hull.db_path, out=path)


def test_restoring_brings_the_copy_back_and_keeps_what_was_there(hull):
    path = copy_checked(hull.db_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    aside = restore(hull.db_path, path)
    assert count(hull.db_path) == 3
    assert count(aside) == 4
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    assert count(hull.db_path) == 4


def test_restoring_over_a_damaged_record_keeps_the_damaged_file(hull):
    path = copy_checked(hull.db_path)
    damaged = b"\x00" * 20_000
    hull.db_path.write_bytes(damaged)
    aside = restore(hull.db_path, path)
    assert aside.read_bytes() == damaged
    assert count(hull.db_path) == 3


def test_restoring_where_the_record_is_gone(hull):
    path = copy_checked(hull.db_path)
    hull.db_path.unlink()
    assert restore(hull.db_path, path) is None
    assert count(hull.db_path) == 3


@pytest.mark.parametrize("sidecar", [True, False])
def test_a_copy_that_changed_is_not_restored(hull, sidecar):
    path = copy_checked(hull.db_path)
    data = bytearray(path.read_bytes())
    data[5000:9000] = os.urandom(4000)
    path.write_bytes(data)
    if not sidecar:
        path.with_name(f"{path.name}.sha256").unlink()
    before = hull.db_path.read_bytes()
    with pytest.raises(WrongCall, match=r"has changed since it was made|damaged"):
        restore(hull.db_path, path)
    assert hull.db_path.read_bytes() == before


def test_what_is_no_backup_is_not_restored(hull, tmp_path):
    text = tmp_path / "notes.db"
    text.write_text("not a database")
    with pytest.raises(WrongCall, match="damaged"):
        restore(hull.db_path, text)
    with pytest.raises(WrongCall, match="there is no backup"):
        restore(hull.db_path, tmp_path / "gone.db")
    other = tmp_path / "songs.db"
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE songs (name TEXT)")
    with pytest.raises(WrongCall, match="not a fit record"):
        restore(hull.db_path, other)
    assert count(hull.db_path) == 3


def test_a_record_damaged_where_no_one_reads_is_found_by_the_copy(hull):
    with closing(sqlite3.connect(hull.db_path)) as connection:
        if not connection.execute("SELECT 1 FROM pragma_module_list WHERE name = 'dbstat'").fetchone():
            pytest.skip("this SQLite does not tell which page holds what")
        leaves = "SELECT max(pageno) FROM dbstat WHERE name = 'samples' AND pagetype = 'leaf'"
        page = connection.execute(leaves).fetchone()[0]
        size = connection.execute("PRAGMA page_size").fetchone()[0]
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = bytearray(hull.db_path.read_bytes())
    data[(page - 1) * size : (page - 1) * size + 200] = b"\xff" * 200
    hull.db_path.write_bytes(data)
    with pytest.raises(Damaged, match="fitcheck log restore"):
        copy_checked(hull.db_path)


def test_the_record_copies_itself_now_and_then(hull, monkeypatch):
    folder = backup_folder(hull.db_path)
    assert len(list(folder.glob("*-kept.db"))) == 1
    assert copy_now_and_then(hull.db_path) is None
    monkeypatch.setattr(backup, "COPY_AFTER", timedelta(seconds=-1))
    newer = copy_now_and_then(hull.db_path)
    assert list(folder.glob("*-kept.db")) == [newer]
    for day in range(10, 20):
        (folder / f"fitcheck-202601{day}T080000000000Z-kept.db").write_bytes(b"")
    copy_now_and_then(hull.db_path)
    kept = sorted(path.name[9:17] for path in folder.glob("*-kept.db"))
    assert kept[:6] == [f"202601{day}" for day in range(14, 20)]
    assert len(kept) == 7
    assert last_backup(hull.db_path).name[9:17] == kept[-1]


def test_a_backup_that_cannot_be_made_does_not_undo_a_recording(hull, monkeypatch):
    monkeypatch.setattr(backup, "COPY_AFTER", timedelta(seconds=-1))
    for path in backup_folder(hull.db_path).iterdir():
        path.unlink()
    backup_folder(hull.db_path).rmdir()
    backup_folder(hull.db_path).write_text("in the way")
    recorded = record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    assert "recorded, but the backup was not made" in recorded.warnings[0]
    assert count(hull.db_path) == 4
