"""A bare connection to the record's file: its mark, its schema's steps, and its troubles told in plain words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fitcheck.fitlog.copies import last_backup
from fitcheck.fitlog.lock import WAIT_S
from fitcheck.ground.refusal import WrongCall

#: Marks a SQLite file as a fit record ("fitc" in ASCII).
APPLICATION_ID = 0x66697463
MIGRATIONS = Path(__file__).with_name("migrations")


class Damaged(WrongCall):
    """Raised where the record's file is damaged. It is left as it is."""


def migrations() -> list[tuple[int, str]]:
    """Every step of the schema as (number, SQL), in order."""
    files = sorted(MIGRATIONS.glob("[0-9][0-9][0-9]_*.sql"))
    return [(int(file.name[:3]), file.read_text(encoding="utf-8")) for file in files]


@contextmanager
def explained(db_path: Path) -> Iterator[None]:
    """Turn what SQLite raises into a :class:`WrongCall` that a builder can act on."""
    try:
        yield
    except sqlite3.Error as error:
        raise _in_words(error, db_path) from error


def connect(db_path: Path, mode: str = "rw") -> sqlite3.Connection:
    """A bare connection to a file that is there, in SQLite's open ``mode``; transactions are begun by hand."""
    connection = sqlite3.connect(
        f"{db_path.absolute().as_uri()}?{mode}", uri=True, timeout=WAIT_S, isolation_level=None
    )
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def version_of(connection: sqlite3.Connection) -> int:
    """The number of the last migration the file has had. Raises :class:`WrongCall` where it is no fit record."""
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    marked = connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    if not marked and (version or connection.execute("SELECT 1 FROM sqlite_schema").fetchone()):
        raise WrongCall("this file is a database, but not a fit record; it is left as it is")
    return version


def _in_words(error: sqlite3.Error, db_path: Path) -> WrongCall:
    name = getattr(error, "sqlite_errorname", "")
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_IOERR_SHORT_READ")):
        return Damaged(f"{db_path} is damaged ({error}) and is left as it is. {offer(db_path)}")
    if name.startswith("SQLITE_FULL"):
        return WrongCall(
            f"the disk that holds {db_path} is full: nothing new was recorded, nothing old is lost. Free some space"
        )
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return WrongCall(
            f"cannot write the record {db_path}: the file or its folder is read-only. Nothing new was recorded"
        )
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return WrongCall(f"another fitcheck is writing {db_path} and did not finish in {WAIT_S:.0f} s: try again")
    return WrongCall(f"the record {db_path} could not be used ({error}); nothing new was recorded")


def offer(db_path: Path) -> str:
    """What to do about a damaged record: the last backup, where there is one."""
    backup = last_backup(db_path)
    if backup is None:
        return "There is no backup beside it: keep the file, and copy a backup of your own back if you have one."
    return f'Put the last backup in its place (the damaged file is kept aside): fitcheck log restore "{backup}"'
