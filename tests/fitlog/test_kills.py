"""Restoring, copying and keeping photographs survive being killed: the old stands, or the new, and nothing is lost."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

from fitcheck.fitlog.backup import copy_checked
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.export import as_json
from fitcheck.fitlog.left_over import clear_left_over
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.ground.files import write_bytes
from fitcheck.ground.part_files import part_of
from tests.fitlog.made import made_hull, measured, photographs

#: How often each is killed in the suite; FITCHECK_KILLS=200 is the full trial.
KILLS = int(os.environ.get("FITCHECK_KILLS", "8"))
BEGIN = """
import sys
from pathlib import Path
from zlib import crc32
from fitcheck.fitlog.backup import copy_checked
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.restore import restore
from tests.fitlog.made import measured, photographs
folder, name = Path(sys.argv[1]), sys.argv[2]
db_path, copy = folder / "fitcheck.db", folder / "copy.db"
def put(i):
    photos = photographs(folder / "card", f"{name}-{i}.jpg", seed=crc32(f"{name}-{i}".encode()))
    record(measured(0.001 * i), db_path=db_path, plank="4 port", photos=photos, note=f"{name}-{i}")
    print(f"{name}-{i}", flush=True)
print("begun", flush=True)
"""
RESTORER = f"""{BEGIN}
for i in range(1000):
    restore(db_path, copy)
    print("restored", flush=True)
    put(i)
"""
COPIER = f"""{BEGIN}
for i in range(1000):
    put(i)
    print(copy_checked(db_path), flush=True)
"""


def killed(code: str, folder: Path, name: str, source: random.Random, most_s: float) -> list[str]:
    """Run ``code`` until a random moment after it has begun; the lines it said."""
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(folder), name],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    process.stdout.readline()
    time.sleep(source.uniform(0.0, most_s))
    process.send_signal(signal.SIGKILL)
    return process.communicate()[0].split("\n")[:-1]


def notes(db_path: Path) -> set[str]:
    with closing(sqlite3.connect(db_path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        return {row[0] for row in connection.execute("SELECT note FROM fits")}


def test_killed_while_restoring_the_old_record_stands_or_the_new(tmp_path):
    hull = made_hull(tmp_path)
    for note in ("one", "two", "three"):
        record(measured(), db_path=hull.db_path, plank="4 port", note=note)
    copy_checked(hull.db_path, out=tmp_path / "copy.db")
    source, reported, restored = random.Random(20261129), set(), 0
    for kill in range(KILLS):
        said = killed(RESTORER, tmp_path, f"run{kill}", source, 0.8)
        restored += said.count("restored")
        reported |= {line for line in said if line.startswith("run")}
        with reading(hull.db_path) as connection:
            assert check(connection) == []
        stands = notes(hull.db_path)
        assert stands >= {"one", "two", "three"}
        assert len(stands) <= 4  # a restored record, or one with the fit recorded after it: never a mixture
    kept = set().union(*(notes(path) for path in tmp_path.glob("fitcheck-backups/*.db")), notes(hull.db_path))
    assert reported <= kept
    assert restored >= KILLS // 2


def test_killed_while_copying_every_copy_with_a_name_is_whole(tmp_path):
    hull = made_hull(tmp_path)
    source, said = random.Random(20261130), []
    for kill in range(KILLS):
        said += killed(COPIER, tmp_path, f"run{kill}", source, 0.8)
    copies = list(tmp_path.glob("fitcheck-backups/fitcheck-*.db"))
    assert {Path(line) for line in said if line.endswith(".db")} <= set(copies)
    assert len(copies) >= KILLS // 2
    for path in copies:
        assert notes(path)
        assert path.with_name(f"{path.name}.sha256").exists()
    assert {line for line in said if line.startswith("run")} <= notes(hull.db_path)


def test_what_killed_runs_left_is_cleared_at_the_next_start(tmp_path):
    hull = made_hull(tmp_path)
    source = random.Random(20261201)
    for kill in range(KILLS):
        killed(COPIER, tmp_path, f"run{kill}", source, 0.5)
    (tmp_path / f".{'0' * 32}.part").write_bytes(b"left")
    (tmp_path / "fitcheck-photos" / ".laid-by").mkdir(parents=True, exist_ok=True)
    (tmp_path / "fitcheck-photos" / ".laid-by" / f"{'0' * 64}.jpg").write_bytes(b"of no fit")
    (tmp_path / "mine.part").write_bytes(b"the builder's own")
    record(measured(), db_path=hull.db_path, plank="4 port", photos=photographs(tmp_path / "card", "last.jpg"))
    assert not [path for path in tmp_path.rglob("*.part*") if re.match(r"\.[0-9a-f]{32}", path.name)]
    assert (tmp_path / "mine.part").exists()
    with closing(sqlite3.connect(hull.db_path)) as connection:
        known = {row[0] for row in connection.execute("SELECT place FROM photographs WHERE stored = 1")}
    store = tmp_path / "fitcheck-photos"
    there = {f"{path.relative_to(store)}" for path in store.rglob("*") if path.is_file()}
    assert there == known


def test_nothing_is_cleared_while_another_is_at_work(tmp_path):
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port")
    laid_by = tmp_path / "fitcheck-photos" / ".laid-by" / f"{'0' * 64}.jpg"
    write_bytes(laid_by, b"of a fit that another run is about to record")
    with reading(hull.db_path), part_of(tmp_path / "page.html") as part:
        clear_left_over(hull.db_path)
        assert laid_by.exists()
    with part_of(tmp_path / "page.html") as part:
        clear_left_over(hull.db_path)
        assert part.exists()
        assert not laid_by.exists()


def test_nothing_recorded_while_another_restores_is_lost(tmp_path):
    """Recordings go on while the record is replaced again and again: each is kept, there or aside."""
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", note="one")
    copy_checked(hull.db_path, out=tmp_path / "copy.db")
    code = f"{BEGIN}\nfor i in range(6): (restore(db_path, copy) if name == 'restorer' else put(i))"
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(tmp_path), name],
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        )
        for name in ("restorer", "run0", "run1")
    ]
    said = [process.communicate(timeout=120)[0] for process in processes]
    assert [process.returncode for process in processes] == [0, 0, 0]
    reported = {line for text in said for line in text.split("\n") if line.startswith("run")}
    assert len(reported) == 12
    kept = set().union(*(notes(path) for path in tmp_path.glob("fitcheck-backups/*.db")), notes(hull.db_path))
    assert reported <= kept


WITHDRAWER = f"""{BEGIN}
from fitcheck.fitlog.move import move_fit
from fitcheck.hull.plank_name import PlankName
from fitcheck.fitlog.withdraw import withdraw_fit
from fitcheck.fitlog.store import reading
from fitcheck.fitlog import queries
four, five = PlankName(4, "port"), PlankName(5, "port")
with reading(db_path) as connection:
    last = max(fit.number for fit in queries.fits(connection, four, withdrawn=True))
for i in range(1000):
    put(i)
    number = last + 1 + i
    if i % 2:
        withdraw_fit(db_path, four, number=number, who=name, why="killed")
    else:
        move_fit(db_path, four, five, None, number=number, who=name, why="killed")
    print("gone", number, flush=True)
"""
IMPORTER = f"""{BEGIN}
from fitcheck.fitlog.bring_in import bring_in
for i in range(1000):
    there = folder / f"{{name}}-{{i}}" / "fitcheck.db"
    there.parent.mkdir()
    bring_in(there, folder / "export.json")
    print(there, flush=True)
"""


def test_killed_while_withdrawing_and_moving_nothing_is_half_taken_back(tmp_path):
    hull = made_hull(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port", note="one")
    source, gone = random.Random(20261130), set()
    for kill in range(KILLS):
        said = killed(WITHDRAWER, tmp_path, f"run{kill}", source, 1.5)
        gone |= {int(line.split()[1]) for line in said if re.fullmatch(r"gone \d+", line)}
        with reading(hull.db_path) as connection:
            assert check(connection) == []
            stand = {row["number"] for row in connection.execute("SELECT number FROM standing_fits WHERE plank_id = 1")}
            withdrawals, moves, moved = (
                connection.execute(f"SELECT count(*) FROM {what}").fetchone()[0]
                for what in ("withdrawals", "moves", "fits WHERE plank_id > 1")
            )
            samples = connection.execute("SELECT count(*) FROM samples").fetchone()[0]
            sets = connection.execute("SELECT count(*) FROM takes").fetchone()[0]
        assert 1 in stand
        assert not gone & stand
        assert len(gone) <= withdrawals <= len(gone) + kill + 1
        assert moves == moved
        assert samples == 201 * sets  # a moved fit has all its samples, or is not there
    assert gone


def test_killed_while_importing_the_record_is_whole_or_not_begun(tmp_path):
    hull = made_hull(tmp_path)
    for i in range(3):
        record(measured(0.1 * i), db_path=hull.db_path, plank="4 port", note=f"{i}")
    with reading(hull.db_path) as connection:
        document = as_json(connection)
    (tmp_path / "export.json").write_text(json.dumps(document), encoding="utf-8")
    source, whole = random.Random(20261201), 0
    for kill in range(KILLS):
        said = killed(IMPORTER, tmp_path, f"run{kill}", source, 2.0)
        for folder in tmp_path.glob(f"run{kill}-*"):
            there = folder / "fitcheck.db"
            assert there.exists() or str(there) not in said
            if there.exists():
                whole += 1
                with reading(there) as connection:
                    assert as_json(connection) == document
            clear_left_over(there)
            assert {path.name for path in folder.iterdir()} <= {"fitcheck.db", "fitcheck.db-wal", "fitcheck.db-shm"}
    assert whole
