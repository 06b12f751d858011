"""The record's file survives what happens to it: killed writers, many writers, full disks, damage, age."""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from fitcheck.cli.log import log_app
from fitcheck.fitlog import queries
from fitcheck.fitlog.backup import copy_checked
from fitcheck.fitlog.connection import Damaged, migrations
from fitcheck.fitlog.listing import standings, standings_at
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from tests.calls import call
from tests.fitlog.made import made_hull, measured, photographs

OLD = Path(__file__).with_name("old")
FOUR = PlankName(4, "port")
#: How often a recording is killed in the suite; FITCHECK_KILLS=200 is the full trial.
KILLS = int(os.environ.get("FITCHECK_KILLS", "25"))

#: A process that records fit after fit and says each one's id once it is told that it is recorded.
RECORDER = """
import sys
from pathlib import Path
from zlib import crc32
from fitcheck.hull.settings_file import load_hull
from fitcheck.fitlog.recording import record
from tests.fitlog.made import measured, photographs
folder, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
hull = load_hull(folder / "fitcheck.toml")
for i in range(count):
    photos = photographs(folder, f"{name}-{i}.jpg", seed=crc32(f"{name}-{i}".encode()))
    told = {"db_path": hull.db_path, "plank": "4 port", "photos": photos, "hull": hull, "note": f"{name}-{i}"}
    recorded = record(measured(0.001 * i), **told)
    print(recorded.fit_id, f"{name}-{i}", flush=True)
"""


def recorder(folder: Path, name: str, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", RECORDER, str(folder), name, str(count)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )


def sound(db_path: Path) -> bool:
    with closing(sqlite3.connect(db_path)) as connection:
        whole = connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        return whole and connection.execute("PRAGMA foreign_key_check").fetchone() is None


def notes(db_path: Path) -> dict[int, str]:
    with closing(sqlite3.connect(db_path)) as connection:
        return dict(connection.execute("SELECT id, note FROM fits"))


def test_killed_at_random_moments_nothing_reported_is_lost(tmp_path):
    made_hull(tmp_path)
    source = random.Random(20261125)
    reported: dict[int, str] = {}
    for kill in range(KILLS):
        process = recorder(tmp_path, f"run{kill}", 1000)
        # Two of three are killed amid recordings, the others while starting or making the file.
        said = process.stdout.readline() if kill % 3 else ""
        time.sleep(source.uniform(0.0, 0.12))
        process.send_signal(signal.SIGKILL)
        said += process.communicate()[0]
        reported |= {int(fit_id): note for fit_id, note in map(str.split, said.splitlines())}
    db_path = tmp_path / "fitcheck.db"
    assert sound(db_path)
    kept = notes(db_path)
    assert len(reported) >= KILLS // 2
    assert {fit_id: kept.get(fit_id) for fit_id in reported} == reported
    with reading(db_path) as connection:
        for fit in queries.fits(connection, FOUR):
            ((_, samples),) = queries.edge_takes(connection, fit.id)
            assert len(samples) == 201  # a fit is there with all its samples, or not at all


def test_eight_processes_recording_at_once_lose_nothing(tmp_path):
    made_hull(tmp_path)
    processes = [recorder(tmp_path, f"process{i}", 6) for i in range(8)]
    said = [process.communicate(timeout=120) for process in processes]
    assert [process.returncode for process in processes] == [0] * 8, said
    reported = {int(line.split()[0]): line.split()[1] for out, _ in said for line in out.splitlines()}
    assert len(reported) == 48
    assert notes(tmp_path / "fitcheck.db") == reported
    with reading(tmp_path / "fitcheck.db") as connection:
        assert [fit.number for fit in queries.fits(connection, FOUR)] == list(range(1, 49))
    assert sound(tmp_path / "fitcheck.db")


def test_a_full_disk_is_said_and_the_old_record_kept(tmp_path):
    """A limit on the size of files stands for a disk that takes no more."""
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, note="before")
    size = hull.db_path.stat().st_size
    code = f"""
import resource
from pathlib import Path
resource.setrlimit(resource.RLIMIT_FSIZE, ({size + 20_000}, {size + 20_000}))
from fitcheck.fitlog.recording import record
from fitcheck.ground.refusal import WrongCall
from tests.fitlog.made import measured
try:
    for i in range(50):
        record(measured(), db_path=Path({str(hull.db_path)!r}), plank="4 port")
except WrongCall as error:
    print(error)
"""
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert "nothing new was recorded" in done.stdout, done
    assert sound(hull.db_path)
    assert notes(hull.db_path)[1] == "before"


def _record_many(hull, count):
    for _ in range(count):
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)


@pytest.fixture
def mounted(tmp_path):
    """A way to mount a small disk of its own, where the system allows it."""
    folder = tmp_path / "disk"
    folder.mkdir()

    def mount(*options: str) -> Path:
        done = subprocess.run(["mount", *options, str(folder)], capture_output=True)
        if done.returncode:
            pytest.skip("this system does not let a test mount a disk")
        return folder

    yield mount
    subprocess.run(["umount", str(folder)], capture_output=True)


def test_a_small_disk_filled_up(mounted):
    disk = mounted("-t", "tmpfs", "-o", "size=1500k", "tmpfs")
    hull = made_hull(disk)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, note="before")
    with pytest.raises(WrongCall, match=r"full|No space left"):
        _record_many(hull, 200)
    assert notes(hull.db_path)[1] == "before"
    assert sound(hull.db_path)
    photo = disk.parent / "large.jpg"
    photo.write_bytes(bytes(3_000_000))
    count = len(notes(hull.db_path))
    with pytest.raises(WrongCall, match="No space left"):
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, photos=[photo])
    assert len(notes(hull.db_path)) == count


def test_a_read_only_folder_is_said_and_can_still_be_read(mounted):
    disk = mounted("-t", "tmpfs", "-o", "size=4m", "tmpfs")
    hull = made_hull(disk)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, note="before")
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    with pytest.raises(WrongCall, match="read-only"):
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    with reading(hull.db_path) as connection:
        assert queries.fit(connection, FOUR).note == "before"
    with pytest.raises(WrongCall, match=r"cannot write|read-only"):
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, photos=[disk / "fitcheck.toml"])


@pytest.mark.parametrize("where", [0, 1, 3], ids=["header", "schema", "rows"])
def test_a_damaged_record_is_said_left_alone_and_its_backup_offered(tmp_path, where):
    hull = made_hull(tmp_path)
    for i in range(5):
        record(measured(0.1 * i), db_path=hull.db_path, plank="4 port", hull=hull)
    backup = copy_checked(hull.db_path)
    data = bytearray(hull.db_path.read_bytes())
    start = 0 if where == 0 else 4096 * (where - 1) + 100
    length = 64 if where == 0 else 3000 if where == 1 else len(data) - start
    data[start : start + length] = os.urandom(length)
    hull.db_path.write_bytes(data)
    with pytest.raises(Damaged, match="damaged") as caught:
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    assert str(backup) in str(caught.value)
    assert "fitcheck log restore" in str(caught.value)
    assert hull.db_path.read_bytes() == bytes(data)


def test_a_lost_record_is_not_begun_anew_over_its_backups(tmp_path):
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    hull.db_path.unlink()
    with pytest.raises(WrongCall, match="is gone, but there are copies of it"):
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    assert not hull.db_path.exists()


@pytest.mark.parametrize("left", ["gone", "empty", "only a header"])
@pytest.mark.parametrize("beside", ["copies", "photographs"])
def test_an_emptied_record_does_not_pass_for_a_new_one(tmp_path, left, beside):
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, photos=photographs(tmp_path, "a.jpg"))
    shutil.rmtree(tmp_path / ("fitcheck-photos" if beside == "copies" else "fitcheck-backups"))
    hull.db_path.write_bytes(b"")
    if left == "gone":
        hull.db_path.unlink()
    if left == "only a header":
        with closing(sqlite3.connect(hull.db_path)) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
        assert hull.db_path.stat().st_size > 0
    before = left != "gone" and hull.db_path.read_bytes()
    said = r"a record was here.*(fitcheck log restore|no backup beside it)"
    with pytest.raises(Damaged, match=said):
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    with pytest.raises(Damaged, match=said):
        standings_at(hull)
    assert (hull.db_path.read_bytes() if left != "gone" else hull.db_path.exists()) == before


def test_an_empty_file_with_nothing_beside_it_is_begun(tmp_path):
    hull = made_hull(tmp_path)
    hull.db_path.write_bytes(b"")
    assert {standing.state for standing in standings_at(hull)} == {"not begun"}
    assert record(measured(), db_path=hull.db_path, plank="4 port", hull=hull).number == 1


@pytest.mark.parametrize("name", sorted(path.name for path in OLD.glob("schema-*.sql")))
def test_every_old_schema_upgrades(tmp_path, name):
    number = int(name.removeprefix("schema-").removesuffix(".sql"))
    hull = made_hull(tmp_path)
    _old_record(OLD / name, hull.db_path)
    old_notes = notes(hull.db_path)
    with reading(hull.db_path) as connection:
        assert _schema(connection) == _fresh_schema(tmp_path)
        fit = queries.fit(connection, FOUR)
        assert (fit.number, fit.moisture_pct, fit.clamps) == (2, 11.5, "tight")
        ((_, samples),) = queries.edge_takes(connection, fit.id)
        assert len(samples) == 21
        assert samples[9].state == "covered"
        assert PlankName(5, "port", 'fore "half"') in queries.planks(connection)
        if number >= 2:
            assert queries.cuts(connection, FOUR)[0].deepest_mm == 0.8
            assert queries.signoffs(connection, FOUR.twin())[0].overruled == "the stem hides it"
        if number >= 3:
            assert len(queries.feelers(connection, fit.id)) == 1
            assert len(queries.gap_takes(connection, fit.id)[0]) == 21
    assert notes(hull.db_path) == old_notes
    copies = list((tmp_path / "fitcheck-backups").glob("*-before-schema-*.db"))
    assert len(copies) == (0 if number == migrations()[-1][0] else 1)
    recorded = record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    assert recorded.number == 3
    assert sound(hull.db_path)


def test_every_schema_has_a_record_kept_of_it():
    kept = {int(path.stem.removeprefix("schema-")) for path in OLD.glob("schema-*.sql")}
    assert kept == {number for number, _ in migrations()}


def test_migrations_are_numbered_without_a_gap():
    assert [number for number, _ in migrations()] == list(range(1, len(migrations()) + 1))


def test_an_upgrade_that_fails_half_way_leaves_the_old_schema(tmp_path, monkeypatch):
    hull = made_hull(tmp_path)
    _old_record(OLD / "schema-1.sql", hull.db_path)
    broken = [*migrations()[:1], (2, migrations()[1][1] + "\nCREATE TABLE fits (id INTEGER);")]
    monkeypatch.setattr("fitcheck.fitlog.store.migrations", lambda: broken)
    with pytest.raises(WrongCall, match="already exists"), reading(hull.db_path):
        pass
    with closing(sqlite3.connect(hull.db_path)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone()[0] == 1
        assert connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'cuts'").fetchone() is None


def test_a_newer_schema_and_a_foreign_database_are_left_alone(tmp_path):
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    with closing(sqlite3.connect(hull.db_path)) as connection:
        connection.execute("PRAGMA user_version = 999")
    with pytest.raises(WrongCall, match="newer fitcheck"):
        record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    other = tmp_path / "other"
    other.mkdir()
    with closing(sqlite3.connect(other / "fitcheck.db")) as connection:
        connection.execute("CREATE TABLE songs (name TEXT)")
    with pytest.raises(WrongCall, match="not a fit record"):
        record(measured(), db_path=other / "fitcheck.db", plank="4 port")
    with closing(sqlite3.connect(other / "fitcheck.db")) as connection:
        assert connection.execute("SELECT name FROM sqlite_schema").fetchall() == [("songs",)]


def test_tables_are_strict_and_rows_point_at_rows(tmp_path):
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull)
    with reading(hull.db_path) as connection:
        tables = connection.execute("PRAGMA table_list").fetchall()
        ours = [row for row in tables if row["type"] == "table" and not row["name"].startswith("sqlite_")]
        assert len(ours) >= 12
        assert all(row["strict"] == 1 for row in ours)
        assert connection.execute("PRAGMA foreign_keys").fetchone()[0] == 1
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def test_the_stored_lists_read_the_old_record_too(tmp_path):
    hull = made_hull(tmp_path)
    _old_record(OLD / "schema-2.sql", hull.db_path)
    with reading(hull.db_path) as connection:
        states = {str(standing.plank): standing.state for standing in standings(connection, hull)}
    assert states["4 starboard"] == "signed"
    assert states["3 port"] == "not begun"


def _old_record(dump: Path, db_path: Path) -> None:
    with closing(sqlite3.connect(db_path)) as connection:
        connection.executescript(dump.read_text(encoding="utf-8"))
        connection.execute("PRAGMA journal_mode = WAL")


def _schema(connection: sqlite3.Connection) -> list[tuple[str, str]]:
    rows = connection.execute(
        "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' ORDER BY name"
    )
    return [(row[0], row[1].replace('"', "")) for row in rows]


def _fresh_schema(tmp_path: Path) -> list[tuple[str, str]]:
    folder = tmp_path / "fresh"
    folder.mkdir(exist_ok=True)
    record(measured(), db_path=folder / "fitcheck.db", plank="4 port")
    with reading(folder / "fitcheck.db") as connection:
        return _schema(connection)


def test_the_command_offers_the_backup_too(tmp_path):

    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, photos=photographs(tmp_path, "a.jpg"))
    hull.db_path.write_bytes(b"not a database, but long enough to look like one" * 400)
    said = call(log_app, "list", "--hull", str(hull.path))
    assert said.exit_code == 2
    assert "damaged" in said.output
    assert "fitcheck log restore" in said.output
