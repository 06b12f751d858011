"""Checked copies of the record, and putting one back. Photographs in the store are files of their own and not in it."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import uuid
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fitcheck.files import write_text
from fitcheck.fitlog.store import Damaged, backup_folder, connect, explained, migrations, offer, version_of
from fitcheck.refusal import WrongCall

#: The program makes a copy by itself when its last one is older than this, and keeps the last of each of so many days.
#: Copies that were asked for are never cleared away.
COPY_AFTER = timedelta(hours=1)
KEPT_DAYS = 7
_STAMP = "%Y%m%dT%H%M%S%fZ"


def copy_checked(db_path: Path, kind: str = "asked", *, out: Path | None = None) -> Path:
    """Copy the record to ``out``, or into its folder of backups under the time and ``kind``; give the copy's path back.

    The copy is read through before it gets its name, and a file with its SHA-256 is put beside it. Raises
    :class:`Damaged` where the record does not read through, :class:`WrongCall` where the copy cannot be written or
    ``out`` is there already.
    """
    folder = backup_folder(db_path)
    path = out or folder / f"fitcheck-{datetime.now(UTC):{_STAMP}}-{kind}.db"
    if path.exists():
        raise WrongCall(f"{path} is there already and is left as it is")
    part = path.with_name(f".{uuid.uuid4().hex}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            _copy(db_path, part)
            _read_through(part, f"{db_path}", offer(db_path))
            write_text(_digest_file(path), f"{_sha256(part)}  {path.name}\n")
            os.replace(part, path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise WrongCall(f"cannot write a backup in {path.parent}: {error.strerror or error}") from error
    return path


def copy_now_and_then(db_path: Path) -> Path | None:
    """Make a copy where the last one of this kind is more than an hour old, and clear the oldest; None where it is not.

    Raises as :func:`copy_checked`.
    """
    folder = backup_folder(db_path)
    recent = f"fitcheck-{datetime.now(UTC) - COPY_AFTER:{_STAMP}}"
    if any(path.name > recent for path in folder.glob("fitcheck-*-kept.db")):
        return None
    path = copy_checked(db_path, "kept")
    last_of_day = {old.name[:17]: old for old in sorted(folder.glob("fitcheck-*-kept.db"))}
    wanted = sorted(last_of_day.values())[-KEPT_DAYS:]
    for old in folder.glob("fitcheck-*-kept.db"):
        if old not in wanted:
            old.unlink(missing_ok=True)
            _digest_file(old).unlink(missing_ok=True)
    return path


def restore(db_path: Path, backup: Path) -> Path | None:
    """Put ``backup`` in the record's place; what was there is kept aside, and its path given back, None for nothing.

    The backup is checked first: its SHA-256 where that is beside it, that it reads through, and that this program
    knows its schema. Raises :class:`WrongCall` where it fails a check; the record is then untouched.
    """
    _check_backup(backup)
    if not db_path.exists():
        _put(backup, db_path)
        return None
    try:
        aside = copy_checked(db_path, "before-restore")
    except Damaged:
        return _put_over_damaged(backup, db_path)
    with (
        explained(db_path),
        closing(connect(backup, "mode=ro&immutable=1")) as source,
        closing(connect(db_path)) as live,
    ):
        source.backup(live)
    return aside


def _put_over_damaged(backup: Path, db_path: Path) -> Path:
    """The damaged file has a second name before anything is put in its place, and its log goes with it."""
    aside = db_path.with_name(f"fitcheck-damaged-{datetime.now(UTC):{_STAMP}}.db")
    try:
        _second_name(db_path, aside)
        wal, shm = Path(f"{db_path}-wal"), Path(f"{db_path}-shm")
        if wal.exists():
            os.replace(wal, f"{aside}-wal")
        shm.unlink(missing_ok=True)
    except OSError as error:
        raise WrongCall(f"cannot set {db_path} aside: {error.strerror or error}") from error
    _put(backup, db_path)
    return aside


def _second_name(path: Path, name: Path) -> None:
    try:
        os.link(path, name)
    except OSError:  # a file system without links
        shutil.copyfile(path, name)


def _put(backup: Path, db_path: Path) -> None:
    part = db_path.with_name(f".{uuid.uuid4().hex}.part")
    try:
        try:
            shutil.copyfile(backup, part)
            with open(part, "rb+") as file:
                os.fsync(file.fileno())
            os.replace(part, db_path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise WrongCall(f"cannot put {backup} in place of {db_path}: {error.strerror or error}") from error


def _check_backup(backup: Path) -> None:
    if not backup.is_file():
        raise WrongCall(f"there is no backup {backup}")
    digest_file = _digest_file(backup)
    if digest_file.exists() and digest_file.read_text(encoding="utf-8").split(" ")[0] != _sha256(backup):
        raise WrongCall(f"{backup} has changed since it was made (its SHA-256 differs): take another backup")
    _read_through(backup, f"the backup {backup}", "Take another one.")
    with explained(backup), closing(connect(backup, "mode=ro&immutable=1")) as connection:
        version = version_of(connection)
    if not 1 <= version <= migrations()[-1][0]:
        raise WrongCall(f"{backup} is of schema {version}, which this fitcheck does not know")


def _copy(db_path: Path, part: Path) -> None:
    with explained(db_path), closing(connect(db_path)) as source, closing(sqlite3.connect(part)) as copy:
        source.backup(copy)
        # One file, whatever is done with it: no log beside it.
        copy.execute("PRAGMA journal_mode = DELETE")


def _read_through(path: Path, named: str, mend: str) -> None:
    try:
        with closing(connect(path, "mode=ro&immutable=1")) as connection:
            said = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
            astray = connection.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError as error:
        raise Damaged(f"{named} is damaged ({error}). {mend}") from error
    if said != "ok" or astray is not None:
        why = "rows point at rows that are gone" if said == "ok" else str(said).splitlines()[-1]
        raise Damaged(f"{named} is damaged ({why}). {mend}")


def _digest_file(path: Path) -> Path:
    return path.with_name(f"{path.name}.sha256")


def _sha256(path: Path) -> str:
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
