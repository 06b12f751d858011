"""The record written out: every sample as a row of CSV, or everything as one JSON document."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from collections.abc import Iterable
from typing import Any

from fitcheck.fitlog import queries
from fitcheck.fitlog.names import PlankName
from fitcheck.fitlog.store import version_of
from fitcheck.fitlog.take import GAP_COLUMNS, SAMPLE_COLUMNS

_SHARED = ["strake", "side", "part", "fit", "made_at", "take", "kind", "superseded"]
_COLUMNS = [*SAMPLE_COLUMNS, *(column for column in GAP_COLUMNS if column not in SAMPLE_COLUMNS)]


def as_csv(connection: sqlite3.Connection, plank: PlankName | None = None) -> str:
    """One row a sample, edge and gap alike, with plank, fit and take; of one plank or of all. Lengths in mm, UTC.

    Raises :class:`WrongCall` where nothing of the plank is on record.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([*_SHARED, *_COLUMNS])
    for name in [plank] if plank else queries.planks(connection):
        for fit in queries.fits(connection, name):
            for take in _takes(connection, fit.id):
                shared = [name.strake, name.side, name.part, fit.number, fit.made_at, take["id"], take["kind"]]
                shared.append(int(take["superseded_by"] is not None))
                for sample in _samples(connection, take):
                    writer.writerow([*shared, *(sample.get(column) for column in _COLUMNS)])
    return text.getvalue()


def as_json(connection: sqlite3.Connection, plank: PlankName | None = None) -> dict[str, Any]:
    """Everything on record, nested as hull, planks, fits, takes and samples; of one plank or of all.

    Raises :class:`WrongCall` where nothing of the plank is on record.
    """
    hull = connection.execute("SELECT name FROM hulls").fetchone()
    names = [plank] if plank else queries.planks(connection)
    return {
        "record_schema": version_of(connection),
        "hull": hull["name"] if hull else None,
        "calibrations": [
            {"digest": row["digest"], "identity": json.loads(row["identity"])}
            for row in connection.execute("SELECT * FROM calibrations ORDER BY digest")
        ],
        "photographs": [dict(row) for row in connection.execute("SELECT * FROM photographs ORDER BY digest")],
        "planks": [_plank(connection, name) for name in names],
    }


def _plank(connection: sqlite3.Connection, name: PlankName) -> dict[str, Any]:
    return {
        **vars(name),
        "fits": [fit_as_json(connection, fit) for fit in queries.fits(connection, name)],
        "cuts": [vars(cut) for cut in queries.cuts(connection, name)],
        "signoffs": [vars(signoff) for signoff in queries.signoffs(connection, name)],
    }


def fit_as_json(connection: sqlite3.Connection, fit: queries.Fit) -> dict[str, Any]:
    """One fit with its takes, samples and feeler readings."""
    told = {key: value for key, value in vars(fit).items() if key not in ("id", "plank")}
    takes = [_take(connection, take) for take in _takes(connection, fit.id)]
    return {**told, "takes": takes, "feelers": [vars(feeler) for feeler in queries.feelers(connection, fit.id)]}


def _take(connection: sqlite3.Connection, take: sqlite3.Row) -> dict[str, Any]:
    photographs = connection.execute("SELECT photograph FROM take_photographs WHERE take_id = ?", (take["id"],))
    told = {key: take[key] for key in ("id", "kind", "recorded_at", "who", "frame", "at_mm", "program", "calibration")}
    return {
        **told,
        "superseded_by": take["superseded_by"],
        "photographs": [row["photograph"] for row in photographs],
        "measurement": json.loads(take["document"]),
        "samples": [_unpacked(sample) for sample in _samples(connection, take)],
    }


def _takes(connection: sqlite3.Connection, fit_id: int) -> list[sqlite3.Row]:
    return connection.execute("SELECT * FROM takes WHERE fit_id = ? ORDER BY id", (fit_id,)).fetchall()


def _samples(connection: sqlite3.Connection, take: sqlite3.Row) -> Iterable[dict[str, Any]]:
    table = "gap_samples" if take["kind"] == "gap" else "samples"
    rows = connection.execute(f"SELECT * FROM {table} WHERE take_id = ? ORDER BY n", (take["id"],))
    return ({key: row[key] for key in row.keys() if key not in ("take_id", "n")} for row in rows)  # noqa: SIM118


def _unpacked(sample: dict[str, Any]) -> dict[str, Any]:
    return {**sample, "flags": json.loads(sample["flags"]), "photos": json.loads(sample["photos"])}
