"""Checked copies of the record, and putting one back without losing what was there."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fitcheck.fitlog import backup, queries
from fitcheck.fitlog import copies as names_of_copies
from fitcheck.fitlog.backup import copy_checked, copy_now_and_then
from fitcheck.fitlog.connection import Damaged, connect
from fitcheck.fitlog.copies import backup_folder, copies, last_backup
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.restore import restore
from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
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
    kept = copies(hull.db_path, "kept")
    assert [copy.stamp[:8] for copy in kept][:6] == [f"202601{day}" for day in range(14, 20)]
    assert len(kept) == 7
    assert last_backup(hull.db_path) == kept[-1].path


class Clock(datetime):
    """A clock that can be set."""

    at = datetime(2026, 5, 1, tzinfo=UTC)

    @classmethod
    def now(cls, tz=None):
        return cls.at


@pytest.fixture
def clock(monkeypatch):
    """The clock that names the copies, and tells how old they are."""
    monkeypatch.setattr(backup, "datetime", Clock)
    monkeypatch.setattr(names_of_copies, "datetime", Clock)
    return Clock


def test_copies_go_by_their_number_whatever_the_clock_says(hull, clock):
    clock.at = datetime(2031, 1, 1, tzinfo=UTC)
    first = copy_checked(hull.db_path)
    clock.at = datetime(2019, 1, 1, tzinfo=UTC)
    second = copy_checked(hull.db_path)
    assert last_backup(hull.db_path) == second
    assert [copy.path for copy in copies(hull.db_path)][-2:] == [first, second]
    (backup_folder(hull.db_path) / "fitcheck-20300101T080000000000Z-kept.db").write_bytes(b"")  # not numbered: older
    assert last_backup(hull.db_path) == second


def test_a_clock_set_back_does_not_stop_the_copies_nor_clear_the_new_ones(hull, clock):
    for path in backup_folder(hull.db_path).iterdir():
        path.unlink()
    made = []
    for day in (*range(1, 9), -400, -399):
        clock.at = datetime(2031, 1, 10, tzinfo=UTC) + timedelta(days=day)
        made.append(copy_now_and_then(hull.db_path))
        assert copy_now_and_then(hull.db_path) is None
    assert None not in made
    assert [copy.path for copy in copies(hull.db_path, "kept")] == made[-7:]


def beside(hull, tmp_path):
    """A record elsewhere, as a killed run leaves it: its last fit is still in its log."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    with closing(connect(hull.db_path)) as held:
        held.execute("SELECT count(*) FROM fits").fetchone()
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, note="in the log")
        for ending in ("", "-wal"):
            shutil.copyfile(f"{hull.db_path}{ending}", folder / f"other.db{ending}")
    with closing(sqlite3.connect(f"{(folder / 'other.db').as_uri()}?immutable=1", uri=True)) as connection:
        assert connection.execute("SELECT count(*) FROM fits").fetchone()[0] == 3  # without its log
    return folder / "other.db"


@pytest.mark.parametrize("left", ["gone", "empty"])
def test_a_log_left_behind_is_not_mixed_into_what_is_restored(hull, tmp_path, left):
    path = copy_checked(hull.db_path)
    other = beside(hull, tmp_path)
    log = Path(f"{other}-wal").read_bytes()
    hull.db_path.write_bytes(b"")
    if left == "gone":
        hull.db_path.unlink()
    Path(f"{hull.db_path}-wal").write_bytes(log)
    with pytest.raises(Damaged, match="its log is still there"):
        count(hull.db_path)
    aside = restore(hull.db_path, path)
    assert count(hull.db_path) == 3
    assert Path(f"{aside}".removesuffix("-wal") + "-wal").read_bytes() == log
    assert sound(hull.db_path)


def test_another_record_is_restored_with_its_own_log_and_left_as_it_is(hull, tmp_path):
    other = beside(hull, tmp_path)
    before = {ending: Path(f"{other}{ending}").read_bytes() for ending in ("", "-wal")}
    restore(hull.db_path, other)
    with reading(hull.db_path) as connection:
        assert [fit.note for fit in queries.fits(connection, FOUR)][-1] == "in the log"
    assert {ending: Path(f"{other}{ending}").read_bytes() for ending in before} == before


def test_a_copy_with_a_log_beside_it_has_changed(hull, tmp_path):
    path = copy_checked(hull.db_path)
    shutil.copyfile(f"{beside(hull, tmp_path)}-wal", f"{path}-wal")
    with pytest.raises(WrongCall, match="has changed since it was made"):
        restore(hull.db_path, path)


@pytest.mark.parametrize("before", ["sound", "damaged", "gone"])
def test_a_restored_record_is_in_wal_mode(hull, before):
    path = copy_checked(hull.db_path)
    if before == "damaged":
        hull.db_path.write_bytes(bytes(20_000))
    if before == "gone":
        hull.db_path.unlink()
    restore(hull.db_path, path)
    with closing(sqlite3.connect(hull.db_path)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


@pytest.mark.parametrize("old", ["schema-1.sql", "schema-3.sql"])
def test_a_copy_of_an_old_schema_is_restored_and_upgraded(hull, tmp_path, old):
    path = tmp_path / "old.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript((Path(__file__).with_name("old") / old).read_text(encoding="utf-8"))
    before = path.read_bytes()
    restore(hull.db_path, path)
    assert count(hull.db_path) == 2
    assert path.read_bytes() == before


def test_an_altered_copy_without_its_digest_is_found_by_its_chain(hull):
    path = copy_checked(hull.db_path)
    path.with_name(f"{path.name}.sha256").unlink()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE samples SET past_line_mm = 0 WHERE take_id = 3 AND n = 100")
        connection.commit()
    before = hull.db_path.read_bytes()
    with pytest.raises(Damaged, match=r"fit 3 of 4 port was altered .* its measured values"):
        restore(hull.db_path, path)
    assert hull.db_path.read_bytes() == before


def test_no_copy_is_made_of_an_altered_record_but_it_can_be_replaced(hull):
    path = copy_checked(hull.db_path)
    with closing(sqlite3.connect(hull.db_path)) as connection:
        connection.execute("UPDATE fits SET made_at = '2020-01-01T00:00:00+00:00' WHERE number = 2")
        connection.commit()
    with pytest.raises(Damaged, match=r"fitcheck log restore(.|\n)*fit 2 of 4 port was altered .* its date"):
        copy_checked(hull.db_path)
    assert last_backup(hull.db_path) == path
    aside = restore(hull.db_path, path)
    with closing(sqlite3.connect(aside)) as connection:  # kept as it was, altered though it is
        assert connection.execute("SELECT made_at FROM fits WHERE number = 2").fetchone()[0].startswith("2020")
    copy_checked(hull.db_path)


def sound(db_path):
    with closing(sqlite3.connect(db_path)) as connection:
        return connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_a_backup_that_cannot_be_made_does_not_undo_a_recording(hull, monkeypatch):
    monkeypatch.setattr(backup, "COPY_AFTER", timedelta(seconds=-1))
    for path in backup_folder(hull.db_path).iterdir():
        path.unlink()
    backup_folder(hull.db_path).rmdir()
    backup_folder(hull.db_path).write_text("in the way")
    recorded = record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    assert "recorded, but the backup was not made" in recorded.warnings[0]
    assert count(hull.db_path) == 4
