"""The record's file: opened, upgraded, read and written in whole transactions."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from fitcheck.fitlog.backup import copied
from fitcheck.fitlog.chain import seal_all
from fitcheck.fitlog.connection import APPLICATION_ID, Damaged, connect, explained, migrations, offer, version_of
from fitcheck.fitlog.copies import last_backup
from fitcheck.fitlog.lock import WAIT_S, at_work
from fitcheck.fitlog.photos import any_kept
from fitcheck.ground.refusal import WrongCall

#: The first schema whose events are sealed (:mod:`fitcheck.fitlog.chain`).
SEALED_SINCE = 4


@contextmanager
def reading(db_path: Path) -> Iterator[sqlite3.Connection]:
    """The record as it stands, unchanging while it is read. Works in a folder that cannot be written.

    Raises :class:`WrongCall` where there is no record, :class:`Damaged` where it is damaged.
    """
    with at_work(db_path), explained(db_path), closing(_opened(db_path, create=False)) as connection:
        connection.execute("BEGIN")
        yield connection
        connection.execute("COMMIT")


@contextmanager
def writing(db_path: Path) -> Iterator[sqlite3.Connection]:
    """The record, for one change: all of it is kept once the block ends, or none of it where the block raises.

    Makes the record where there is none. Raises :class:`WrongCall` with the reason where it cannot be written.
    """
    with at_work(db_path), explained(db_path), closing(_opened(db_path, create=True)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


def _opened(db_path: Path, *, create: bool) -> sqlite3.Connection:
    if db_path.exists() and not db_path.is_file():
        raise WrongCall(f"{db_path} is no file, but a folder, a pipe or a device: move it away; it holds no record")
    if not _holds_something(db_path):
        _may_begin(db_path, create)
    try:
        connection, version = _known(db_path, "mode=rwc" if create else "mode=rw")
    except sqlite3.OperationalError:
        wal = Path(f"{db_path}-wal")
        if create or not db_path.exists() or (wal.exists() and wal.stat().st_size):
            raise
        # A folder that cannot be written holds no shared memory for WAL; with no change pending the file is whole.
        connection, version = _known(db_path, "mode=ro&immutable=1")
    try:
        _upgraded(connection, version, db_path)
    except BaseException:
        connection.close()
        raise
    return connection


def _known(db_path: Path, mode: str) -> tuple[sqlite3.Connection, int]:
    connection = connect(db_path, mode)
    try:
        return connection, version_of(connection)
    except BaseException:
        connection.close()
        raise


def _may_begin(db_path: Path, create: bool) -> None:
    """Where there is no record, or an empty file: whether one may be begun, or one was there and is lost."""
    left = signs_of(db_path)
    if left and not _holds_something(db_path):  # or another process has just begun it
        gone = f"{db_path} is {'empty' if db_path.exists() else 'gone'}, but {' and '.join(left)}"
        raise Damaged(f"{gone}: a record was here, and none is begun in its place. {offer(db_path)}")
    if not create:
        raise WrongCall(f"nothing is recorded yet: there is no {db_path}")
    if not db_path.parent.is_dir():
        raise WrongCall(f"cannot record in {db_path.parent}: there is no such folder")


def signs_of(db_path: Path) -> list[str]:
    """What lies beside a record's place and came from a record, in words."""
    left = []
    if last_backup(db_path) is not None:
        left.append("there are copies of it")
    if _holds_something(Path(f"{db_path}-wal")):
        left.append("its log is still there")
    if any_kept(db_path):
        left.append("there are photographs of its fits")
    return left


def is_begun(db_path: Path) -> bool:
    """Whether there is a record, whole or damaged; where not, the first recording begins one."""
    return _holds_something(db_path) or bool(signs_of(db_path))


def _holds_something(path: Path) -> bool:
    # A pipe or a device has no size: it holds nothing, and is not to be taken for nothing.
    return path.exists() and (not path.is_file() or path.stat().st_size > 0)


def _upgraded(connection: sqlite3.Connection, version: int, db_path: Path) -> None:
    steps = migrations()
    newest = steps[-1][0]
    if version == newest:
        return
    if version > newest:
        raise WrongCall(
            f"{db_path} is of a newer fitcheck (schema {version}; this one knows {newest}): upgrade fitcheck"
        )
    if version:
        copied(db_path, f"before-schema-{newest}")
    else:
        lost = any_kept(db_path) or last_backup(db_path) is not None
        if lost and not version_of(connection):  # or another process has just begun it
            raise Damaged(
                f"{db_path} holds nothing, but a record was here, and none is begun in its place. {offer(db_path)}"
            )
        write_ahead(connection)
    migrate(connection, steps)


def migrate(connection: sqlite3.Connection, steps: list[tuple[int, str]]) -> None:
    """All steps that are wanted, in one transaction; another process may have made them while this one waited.

    A record from before there were seals is sealed as it stands then.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        found = int(connection.execute("PRAGMA user_version").fetchone()[0])
        for number, sql in steps:
            if number > found:
                for statement in _statements(sql):
                    connection.execute(statement)
                connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                connection.execute(f"PRAGMA user_version = {number}")
        if 0 < found < SEALED_SINCE <= steps[-1][0]:
            seal_all(connection)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def write_ahead(connection: sqlite3.Connection) -> None:
    """Switch to a write-ahead log; SQLite does not wait for others here, so this does."""
    deadline = time.monotonic() + WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > deadline:
                raise
            time.sleep(0.02)


def _statements(sql: str) -> Iterator[str]:
    statement = ""
    for line in sql.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""
