"""A checked copy, or another record, put in the record's place; what was there is kept aside.

The new record is made whole beside the old one before the old one is touched. The old one's log is cleared before the
new file takes its name: a log left beside it would be read into it. Whenever that is cut short, the old record stands
or the new one does, and what was there has its second name.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from fitcheck.fitlog.backup import copied, on_disk, read_through, sha256
from fitcheck.fitlog.connection import Damaged, connect, explained, migrations, version_of
from fitcheck.fitlog.copies import digest_file
from fitcheck.fitlog.lock import alone
from fitcheck.fitlog.store import migrate, write_ahead
from fitcheck.ground.part_files import part_of
from fitcheck.ground.refusal import WrongCall

_ASIDE_STAMP = "%Y%m%dT%H%M%S%fZ"
#: Files SQLite keeps beside a database, with changes that are not in it yet.
LOGS = ("-wal", "-journal")


def restore(db_path: Path, backup: Path) -> Path | None:
    """Put ``backup`` in the record's place; what was there is kept aside, and its path given back, None for nothing.

    ``backup`` is a checked copy or another record, which is read with its log and left as it is. It is checked first:
    its SHA-256 where that is beside it, that it reads through, that this program knows its schema, and its chain of
    seals. Raises :class:`WrongCall` where it fails a check; the record is then untouched.
    """
    if not backup.is_file():
        raise WrongCall(f"there is no backup {backup}")
    if db_path.exists() and backup.samefile(db_path):
        raise WrongCall(f"{backup} is the record itself: name the copy to put in its place")
    if not db_path.parent.is_dir():
        raise WrongCall(f"cannot restore into {db_path.parent}: there is no such folder")
    try:
        with alone(db_path) as gained:
            if not gained:
                raise WrongCall(f"another fitcheck is at work on {db_path} and did not end: try again")
            with part_of(db_path) as part:
                new = Path(f"{part}-db")
                _gather(backup, new)
                _make_ready(new, backup)
                aside = _set_aside(db_path)
                put_in(new, db_path)
    except OSError as error:
        raise WrongCall(f"cannot put {backup} in place of {db_path}: {error.strerror or error}") from error
    return aside


def _gather(backup: Path, part: Path) -> None:
    """What ``backup`` holds, with what its log holds, as one file."""
    logs = [log for log in LOGS if _holds_something(Path(f"{backup}{log}"))]
    told = digest_file(backup)
    if told.exists():
        digest = told.read_text(encoding="utf-8", errors="replace").split(" ")[0].strip()
        if logs or digest != sha256(backup):
            raise WrongCall(f"{backup} has changed since it was made (its SHA-256 differs): take another backup")
    try:
        # With no log beside it the file is whole as it lies, in a folder that cannot be written too.
        _copy_out(backup, part, "mode=ro" if logs else "mode=ro&immutable=1")
    except sqlite3.OperationalError:
        _copy_out_apart(backup, part, logs)


def _copy_out(source: Path, part: Path, mode: str) -> None:
    try:
        with closing(connect(source, mode)) as held, closing(sqlite3.connect(part)) as copy:
            held.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError:
        raise
    except sqlite3.DatabaseError as error:
        raise Damaged(f"the backup {source} is damaged ({error}). Take another one.") from error


def _copy_out_apart(backup: Path, part: Path, logs: list[str]) -> None:
    """For a folder that cannot be written, or a change cut short: the files are copied, and SQLite mends the copy."""
    apart = Path(f"{part}-apart")
    for log in ("", *logs):
        shutil.copyfile(f"{backup}{log}", f"{apart}{log}")
    with explained(backup):
        _copy_out(apart, part, "mode=rw")


def _make_ready(part: Path, backup: Path) -> None:
    """Check what was gathered, and make it a record as this program keeps it: of its schema, in WAL mode, on disk."""
    named = f"the backup {backup}"
    read_through(part, named, "Take another one.", chain=False)
    with explained(backup), closing(connect(part)) as connection:
        version = version_of(connection)
        if not 1 <= version <= migrations()[-1][0]:
            raise WrongCall(f"{backup} is of schema {version}, which this fitcheck does not know")
        migrate(connection, migrations())
    read_through(part, named, "Take another one.")
    with explained(backup), closing(connect(part)) as connection:
        write_ahead(connection)
    on_disk(part)


def _set_aside(db_path: Path) -> Path | None:
    """Give what is there a second name, and leave no log of a sound record; None where there is nothing to keep."""
    logs = [log for log in LOGS if _holds_something(Path(f"{db_path}{log}"))]
    if not _holds_something(db_path) and not logs:
        return None
    if _holds_something(db_path):
        try:
            aside = copied(db_path, "before-restore", as_it_is=True)
            with explained(db_path), closing(connect(db_path)) as connection:
                connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            return aside
        except WrongCall as error:
            if not isinstance(error, Damaged):
                raise
    aside = db_path.with_name(f"fitcheck-damaged-{datetime.now(UTC):{_ASIDE_STAMP}}.db")
    for log in ("", *logs):
        if Path(f"{db_path}{log}").exists():
            _second_name(Path(f"{db_path}{log}"), Path(f"{aside}{log}"))
    return aside if aside.exists() else Path(f"{aside}{logs[0]}")


def put_in(part: Path, db_path: Path) -> None:
    """Give a whole new record its name, for one who is alone on the old one, whose log is cleared first."""
    for log in (*LOGS, "-shm"):
        Path(f"{db_path}{log}").unlink(missing_ok=True)
    os.replace(part, db_path)
    try:
        folder = os.open(db_path.absolute().parent, os.O_RDONLY)
    except OSError:  # a system that opens no folders
        return
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def _second_name(path: Path, name: Path) -> None:
    try:
        os.link(path, name)
    except OSError:  # a file system without links
        shutil.copyfile(path, name)


def _holds_something(path: Path) -> bool:
    return path.exists() and path.stat().st_size > 0
