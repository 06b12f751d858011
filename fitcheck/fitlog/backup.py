"""Checked copies of the record. Photographs in the store are files of their own and not in it."""

from __future__ import annotations

import hashlib
import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fitcheck.fitlog.chain import check
from fitcheck.fitlog.connection import Damaged, connect, explained, migrations, offer, version_of
from fitcheck.fitlog.copies import Copy, copies, digest_file, new_name
from fitcheck.fitlog.lock import at_work
from fitcheck.ground.files import write_text
from fitcheck.ground.part_files import part_of
from fitcheck.ground.refusal import WrongCall

#: The program makes a copy by itself when its last one is older than this, and keeps the last of each of so many days.
#: Copies that were asked for are never cleared away.
COPY_AFTER = timedelta(hours=1)
KEPT_DAYS = 7
#: Of what was altered, so many things are named in one message.
MOST_NAMED = 10


def copy_checked(db_path: Path, kind: str = "asked", *, out: Path | None = None) -> Path:
    """Copy the record to ``out``, or into its folder of backups under a number and ``kind``; give the copy's path back.

    The copy is read through, and its chain of seals checked, before it gets its name, and a file with its SHA-256 is
    put beside it. Raises :class:`Damaged` where the record does not read through or is not as it was written,
    :class:`WrongCall` where the copy cannot be written or ``out`` is there already.
    """
    with at_work(db_path):
        return copied(db_path, kind, out=out)


def copied(db_path: Path, kind: str, *, out: Path | None = None, as_it_is: bool = False) -> Path:
    """As :func:`copy_checked`, for one who is at work on the record; ``as_it_is`` leaves the chain unchecked."""
    path = out or new_name(db_path, kind)
    if path.exists():
        raise WrongCall(f"{path} is there already and is left as it is")
    try:
        with part_of(path) as part:
            copy = Path(f"{part}-db")
            _copy(db_path, copy)
            read_through(copy, f"{db_path}", offer(db_path), chain=not as_it_is)
            write_text(digest_file(path), f"{sha256(copy)}  {path.name}\n")
            on_disk(copy)
            os.replace(copy, path)
    except OSError as error:
        raise WrongCall(f"cannot write a backup in {path.parent}: {error.strerror or error}") from error
    return path


def copy_now_and_then(db_path: Path) -> Path | None:
    """Make a copy where the last one of this kind is more than an hour old, and clear the oldest; None where it is not.

    A last copy from a time that is still to come was made by a wrong clock, and counts as old. Raises as
    :func:`copy_checked`.
    """
    kept = copies(db_path, "kept")
    if kept and _is_recent(kept[-1]):
        return None
    path = copy_checked(db_path, "kept")
    kept = copies(db_path, "kept")
    wanted = sorted({copy.stamp[:8]: copy for copy in kept}.values())[-KEPT_DAYS:]
    for old in kept:
        if old not in wanted:
            old.path.unlink(missing_ok=True)
            digest_file(old.path).unlink(missing_ok=True)
    return path


def read_through(path: Path, named: str, mend: str, *, chain: bool = True) -> None:
    """Read a whole file at rest, and check its chain of seals where it is of this program's schema.

    Raises :class:`Damaged`, which names the file as ``named`` and what is not as it was written, and ends in ``mend``.
    """
    try:
        with closing(connect(path, "mode=ro&immutable=1")) as connection:
            said = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
            astray = connection.execute("PRAGMA foreign_key_check").fetchone()
            whole = said == "ok" and astray is None
            sealed = whole and chain and version_of(connection) == migrations()[-1][0]
            troubles = check(connection) if sealed else []
    except sqlite3.DatabaseError as error:
        raise Damaged(f"{named} is damaged ({error}). {mend}") from error
    if not whole:
        why = "rows point at rows that are gone" if said == "ok" else str(said).splitlines()[-1]
        raise Damaged(f"{named} is damaged ({why}). {mend}")
    if troubles:
        raise Damaged(f"{named} is not as it was written. {mend}\n{named_troubles(troubles)}")


def named_troubles(troubles: list[str]) -> str:
    """What was altered, a line each; of many, the first ones and how many more."""
    lines = [f"  - {trouble}" for trouble in troubles[:MOST_NAMED]]
    return "\n".join(lines + ([f"  and {len(troubles) - MOST_NAMED} more"] if len(troubles) > MOST_NAMED else []))


def on_disk(path: Path) -> None:
    """See a file that is written safe on the disk."""
    with open(path, "rb+") as file:
        os.fsync(file.fileno())


def sha256(path: Path) -> str:
    """The SHA-256 of a file, in hex."""
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _is_recent(copy: Copy) -> bool:
    made_at = copy.made_at
    return made_at is not None and timedelta(0) <= datetime.now(UTC) - made_at < COPY_AFTER


def _copy(db_path: Path, part: Path) -> None:
    with explained(db_path), closing(connect(db_path)) as source, closing(sqlite3.connect(part)) as copy:
        source.backup(copy)
        # One file, whatever is done with it: no log beside it.
        copy.execute("PRAGMA journal_mode = DELETE")
