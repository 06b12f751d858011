"""The record written out: every sample as a row of CSV, or everything as one JSON document that can be read back."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from typing import Any

from fitcheck.fitlog import queries
from fitcheck.fitlog.connection import version_of
from fitcheck.fitlog.recorded_input import GAP_COLUMNS, SAMPLE_COLUMNS, as_text
from fitcheck.fitlog.withdrawn import withdrawn_of
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName

_SHARED = ["strake", "side", "part", "fit", "made_at", "take", "kind", "superseded", "withdrawn"]
_COLUMNS = [*SAMPLE_COLUMNS, *(column for column in GAP_COLUMNS if column not in SAMPLE_COLUMNS)]
#: Columns that hold JSON, which stand in the document as what they hold.
HOLDING_JSON = {
    "calibrations": ("identity",),
    "takes": ("settings", "advice", "document", "terms"),
    "samples": ("flags", "photos"),
    "gap_samples": ("flags", "photos"),
    "summaries": ("terms",),
    "cuts": ("profile",),
    "signoffs": ("missing", "stood_on"),
    "seals": ("content",),
}
#: Where a row's JSON was written with other spaces than ours, the text as it is, by column: its seal is of that text.
AS_WRITTEN = "as_written"
#: Tables that are written as they stand, beside the planks.
BESIDE = {"calibrations": "digest", "photographs": "digest", "withdrawals": "id", "moves": "id", "seals": "id"}
#: Tables that are left out: work in hand, which is no part of what was recorded.
LEFT_OUT = {"jobs"}


def as_csv(connection: sqlite3.Connection, plank: PlankName | None = None) -> str:
    """One row a sample, edge and gap alike, with plank, fit and take; of one plank or of all. Lengths in mm, UTC.

    Raises :class:`WrongCall` where nothing of the plank is on record.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([*_SHARED, *_COLUMNS])
    for name in [plank] if plank else queries.planks(connection):
        for fit in queries.fits(connection, name, withdrawn=True) if plank else _fits(connection, name):
            for take in _takes(connection, fit.id):
                gone = fit.withdrawn or withdrawn_of(connection, take_id=take["id"])
                shared = [name.strake, name.side, name.part, fit.number, fit.made_at, take["id"], take["kind"]]
                shared += [int(take["superseded_by"] is not None), int(gone is not None)]
                for sample in map(dict, _samples(connection, take)):
                    writer.writerow(map(_cell, [*shared, *(sample.get(column) for column in _COLUMNS)]))
    return text.getvalue()


def _cell(value: Any) -> Any:
    """A cell that no spreadsheet reckons with: text that begins as a formula does stands behind an apostrophe."""
    return f"'{value}" if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")) else value


def as_json(connection: sqlite3.Connection, plank: PlankName | None = None) -> dict[str, Any]:
    """Everything on record, nested as hull, planks, fits, takes and samples; of one plank or of all.

    Of all, it is the whole record, seals and all, and :func:`fitcheck.fitlog.bring_in.bring_in` reads it back. Raises
    :class:`WrongCall` where nothing of the plank is on record.
    """
    hull = connection.execute("SELECT name FROM hulls").fetchone()
    one = None if plank is None else queries.plank_id(connection, plank)
    rows = connection.execute("SELECT * FROM planks WHERE ?1 IS NULL OR id = ?1 ORDER BY strake, side, part", (one,))
    beside = {table: _table(connection, table, key) for table, key in BESIDE.items()}
    if plank is not None:
        beside = {table: rows for table, rows in beside.items() if table in ("calibrations", "photographs")}
    return {
        "record_schema": version_of(connection),
        "whole": plank is None,
        "hull": hull["name"] if hull else None,
        "planks": [_plank(connection, row) for row in rows.fetchall()],
        **beside,
    }


def fit_as_json(connection: sqlite3.Connection, fit: queries.Fit) -> dict[str, Any]:
    """One fit with its takes, samples, summary and feeler readings, and how any of them was withdrawn."""
    row = connection.execute("SELECT * FROM fits WHERE id = ?", (fit.id,)).fetchone()
    summary = connection.execute("SELECT * FROM summaries WHERE fit_id = ?", (fit.id,)).fetchone()
    feelers = connection.execute("SELECT * FROM feelers WHERE fit_id = ? ORDER BY id", (fit.id,)).fetchall()
    return {
        **_told("fits", row, "plank_id"),
        **_gone(connection, fit_id=fit.id),
        "summary": _told("summaries", summary, "fit_id") if summary else None,
        "takes": [_take(connection, take) for take in _takes(connection, fit.id)],
        "feelers": [
            {**_told("feelers", felt, "fit_id"), **_gone(connection, feeler_id=felt["id"])} for felt in feelers
        ],
    }


def _plank(connection: sqlite3.Connection, row: sqlite3.Row) -> dict[str, Any]:
    name = PlankName(row["strake"], row["side"], row["part"])
    cuts = connection.execute("SELECT * FROM cuts WHERE plank_id = ? ORDER BY id", (row["id"],)).fetchall()
    notes = connection.execute("SELECT * FROM notes WHERE plank_id = ? ORDER BY id", (row["id"],)).fetchall()
    signoffs = connection.execute("SELECT * FROM signoffs WHERE plank_id = ? ORDER BY id", (row["id"],)).fetchall()
    return {
        **_told("planks", row, "hull_id"),
        "fits": [fit_as_json(connection, fit) for fit in _fits(connection, name)],
        "cuts": [{**_told("cuts", cut, "plank_id"), **_gone(connection, cut_id=cut["id"])} for cut in cuts],
        "notes": [_told("notes", note, "plank_id") for note in notes],
        "signoffs": [_told("signoffs", signoff, "plank_id") for signoff in signoffs],
    }


def _fits(connection: sqlite3.Connection, name: PlankName) -> list[queries.Fit]:
    """Every fit of a plank; none of one that has notes alone."""
    try:
        return queries.fits(connection, name, withdrawn=True)
    except WrongCall:
        return []


def _take(connection: sqlite3.Connection, take: sqlite3.Row) -> dict[str, Any]:
    photographs = connection.execute("SELECT photograph FROM take_photographs WHERE take_id = ?", (take["id"],))
    told = _told("takes", take, "fit_id")
    measurement = told.pop("document")
    table = "gap_samples" if take["kind"] == "gap" else "samples"
    return {
        **told,
        **_gone(connection, take_id=take["id"]),
        "photographs": [row["photograph"] for row in photographs],
        "measurement": measurement,
        "samples": [_told(table, sample, "take_id", "n") for sample in _samples(connection, take)],
    }


def _gone(connection: sqlite3.Connection, **what: int) -> dict[str, Any]:
    """How one row was withdrawn, for the reader; the tables of withdrawals and moves hold it in full."""
    gone = withdrawn_of(connection, **what)
    return {"withdrawn": None if gone is None else vars(gone)}


def _takes(connection: sqlite3.Connection, fit_id: int) -> list[sqlite3.Row]:
    return connection.execute("SELECT * FROM takes WHERE fit_id = ? ORDER BY id", (fit_id,)).fetchall()


def _samples(connection: sqlite3.Connection, take: sqlite3.Row) -> list[sqlite3.Row]:
    table = "gap_samples" if take["kind"] == "gap" else "samples"
    return connection.execute(f"SELECT * FROM {table} WHERE take_id = ? ORDER BY n", (take["id"],)).fetchall()


def _table(connection: sqlite3.Connection, table: str, key: str) -> list[dict[str, Any]]:
    return [_told(table, row) for row in connection.execute(f"SELECT * FROM {table} ORDER BY {key}").fetchall()]


def _told(table: str, row: sqlite3.Row, *without: str) -> dict[str, Any]:
    """A row as the document tells it: columns that hold JSON as what they hold, without those the nesting tells."""
    told = {column: row[column] for column in row.keys() if column not in without}  # noqa: SIM118
    for column in HOLDING_JSON.get(table, ()):
        text = told[column]
        if text is not None:
            told[column] = json.loads(text)
            if as_text(told[column]) != text:
                told.setdefault(AS_WRITTEN, {})[column] = text
    return told
