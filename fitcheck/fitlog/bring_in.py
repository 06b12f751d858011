"""An exported record brought into an empty one, with its seals, equal to the last digit."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitcheck.fitlog.backup import named_troubles, on_disk
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.connection import connect, explained, migrations
from fitcheck.fitlog.copies import last_backup
from fitcheck.fitlog.export import AS_WRITTEN, BESIDE, HOLDING_JSON, as_json
from fitcheck.fitlog.lock import alone
from fitcheck.fitlog.photos import photo_store
from fitcheck.fitlog.recorded_input import as_text
from fitcheck.fitlog.restore import put_in
from fitcheck.fitlog.store import is_begun, migrate, write_ahead
from fitcheck.ground.files import read_bytes
from fitcheck.ground.part_files import part_of
from fitcheck.ground.refusal import WrongCall

#: No export is longer: a thousand fits of whole planks are about a fifth of it.
MOST_BYTES = 1_000_000_000
#: What a document that is no export of ours raises while it is read and written down.
_NOT_OURS = (AttributeError, IndexError, KeyError, OverflowError, RecursionError, TypeError, ValueError)


@dataclass(frozen=True)
class BroughtIn:
    """What came in, and how many of its photographs are to lie in the store beside the record but do not."""

    planks: int
    fits: int
    photographs: int
    not_in_store: int


def bring_in(db_path: Path, source: Path) -> BroughtIn:
    """Make the record of a hull that has none from what ``fitcheck log export json`` wrote of the whole of another.

    Everything gets the row it had, so that the seals hold; they are checked, and the new record is exported again and
    held against ``source``. It is made whole beside its place before it gets its name. Raises :class:`WrongCall` where
    there is a record with a fit in it, where ``source`` cannot be read or is not the whole of a record of this schema,
    where anything in it is not as it was sealed, or where the record cannot be written; then nothing has changed.
    """
    document = _read(source)
    try:
        with alone(db_path) as gained:
            if not gained:
                raise WrongCall(f"another fitcheck is at work on {db_path} and did not end: try again")
            _need_empty(db_path)
            with part_of(db_path) as part:
                new = Path(f"{part}-db")
                found = _made(new, document, source)
                on_disk(new)
                put_in(new, db_path)
    except OSError as error:
        raise WrongCall(f"cannot write the record {db_path}: {error.strerror or error}") from error
    store = photo_store(db_path)
    stored = [photo for photo in document["photographs"] if photo["stored"]]
    return BroughtIn(*found, len(document["photographs"]), sum(not (store / p["place"]).exists() for p in stored))


def _read(source: Path) -> dict[str, Any]:
    try:
        document = json.loads(read_bytes(source, "the export", most_bytes=MOST_BYTES), parse_constant=_no_number)
    except (RecursionError, ValueError) as error:
        raise WrongCall(f"{source} cannot be read as JSON: {error}") from error
    newest = migrations()[-1][0]
    if not isinstance(document, dict) or not isinstance(document.get("record_schema"), int):
        raise WrongCall(f"{source} is no export of a record: fitcheck log export json writes one")
    if document.get("record_schema") != newest:
        raise WrongCall(
            f"{source} is of schema {document['record_schema']}, and this fitcheck reads schema {newest}: export it "
            "anew with the same fitcheck, or restore a backup, which may be older"
        )
    if document.get("whole") is not True:
        raise WrongCall(f"{source} holds one plank: export the whole record (fitcheck log export json, no --plank)")
    return document


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")


def _need_empty(db_path: Path) -> None:
    if not db_path.parent.is_dir():
        raise WrongCall(f"cannot record in {db_path.parent}: there is no such folder")
    if not db_path.exists() and last_backup(db_path) is None and not Path(f"{db_path}-wal").exists():
        return  # photographs may lie there already, copied from where the record was
    if not is_begun(db_path):
        return
    if not db_path.exists():
        raise WrongCall(f"{db_path} is gone, but there is what a record left: restore it, or import in another folder")
    with explained(db_path), closing(connect(db_path)) as connection:
        tables = connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'fits'").fetchone()
        if tables is None or connection.execute("SELECT 1 FROM seals").fetchone() is not None:
            raise WrongCall(f"{db_path} holds a record already; an export is brought in where there is none")


def _made(path: Path, document: Mapping[str, Any], source: Path) -> tuple[int, int]:
    """A new record at ``path`` that holds ``document``; how many planks and fits it has."""
    with explained(path), closing(connect(path, "mode=rwc")) as connection:
        write_ahead(connection)
        migrate(connection, migrations())
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("PRAGMA defer_foreign_keys = ON")
        try:
            _fill(connection, document)
            _hold_against(connection, document, source)
            connection.execute("COMMIT")
        except WrongCall:
            raise
        except (*_NOT_OURS, sqlite3.IntegrityError, sqlite3.InterfaceError, sqlite3.ProgrammingError) as error:
            why = f"{type(error).__name__}: {error}"
            raise WrongCall(f"{source} is no export that can be read back ({why}); nothing was imported") from error
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        planks, fits = (connection.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in ("planks", "fits"))
    return planks, fits


def _fill(connection: sqlite3.Connection, document: Mapping[str, Any]) -> None:
    """Every row where it was; signatures last, since what is written after one opens it."""
    if document["hull"] is not None:
        connection.execute("INSERT INTO hulls (id, name) VALUES (1, ?)", (document["hull"],))
    for table in ("calibrations", "photographs"):
        _put(connection, table, document[table])
    for plank in document["planks"]:
        _put(connection, "planks", [plank], hull_id=1)
        for fit in plank["fits"]:
            _put_fit(connection, fit, plank["id"])
        _put(connection, "cuts", plank["cuts"], plank_id=plank["id"])
        _put(connection, "notes", plank["notes"], plank_id=plank["id"])
    for table in BESIDE:
        if table not in ("calibrations", "photographs"):
            _put(connection, table, document[table])
    for plank in document["planks"]:
        _put(connection, "signoffs", plank["signoffs"], plank_id=plank["id"])


def _hold_against(connection: sqlite3.Connection, document: Mapping[str, Any], source: Path) -> None:
    """See that what was written down is whole, as it was sealed, and all that the document tells."""
    if connection.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise WrongCall(f"{source} is not whole: rows point at rows that are not in it; nothing was imported")
    troubles = check(connection)
    if troubles:
        raise WrongCall(f"nothing was imported: {source} is not as it was sealed:\n{named_troubles(troubles)}")
    if as_json(connection) != document:
        raise WrongCall(f"{source} holds what no fitcheck has written; nothing was imported")


def _put_fit(connection: sqlite3.Connection, fit: Mapping[str, Any], plank_id: int) -> None:
    _put(connection, "fits", [fit], plank_id=plank_id)
    if fit["summary"] is not None:
        _put(connection, "summaries", [fit["summary"]], fit_id=fit["id"])
    for take in fit["takes"]:
        _put(connection, "takes", [{**take, "document": take["measurement"]}], fit_id=fit["id"])
        digests = [{"photograph": digest} for digest in take["photographs"]]
        samples = [{**sample, "n": n} for n, sample in enumerate(take["samples"])]
        _put(connection, "take_photographs", digests, take_id=take["id"])
        _put(connection, "gap_samples" if take["kind"] == "gap" else "samples", samples, take_id=take["id"])
    _put(connection, "feelers", fit["feelers"], fit_id=fit["id"])


def _put(connection: sqlite3.Connection, table: str, rows: Sequence[Mapping[str, Any]], **told: Any) -> None:
    """Rows as :mod:`fitcheck.fitlog.export` tells them, with what its nesting told."""
    columns = [row["name"] for row in connection.execute(f"PRAGMA table_info({table})")]
    holding = HOLDING_JSON.get(table, ())
    marks = ", ".join("?" * len(columns))
    connection.executemany(
        f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})",
        ([_cell({**row, **told}, column, column in holding) for column in columns] for row in rows),
    )


def _cell(row: Mapping[str, Any], column: str, holds_json: bool) -> Any:
    value = row[column]
    if not holds_json or value is None:
        return value
    return row.get(AS_WRITTEN, {}).get(column) or as_text(value)
