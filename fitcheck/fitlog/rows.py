"""Rows written to the record, each function inside the transaction of its caller."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

import fitcheck
from fitcheck.fitlog.clock import now
from fitcheck.fitlog.photos import Photograph
from fitcheck.fitlog.recorded_input import GAP_COLUMNS, SAMPLE_COLUMNS, Take, as_text
from fitcheck.hull.plank_name import PlankName


def plank_row(connection: sqlite3.Connection, name: PlankName, hull_name: str | None) -> int:
    """The row of a plank, made where there is none. A record holds one hull, named as the settings name it."""
    hull = connection.execute("SELECT id, name FROM hulls").fetchone()
    if hull is None:
        hull_id = connection.execute("INSERT INTO hulls (name) VALUES (?)", (hull_name or "hull",)).lastrowid
    else:
        hull_id = hull["id"]
        if hull_name and hull_name != hull["name"]:
            connection.execute("UPDATE hulls SET name = ? WHERE id = ?", (hull_name, hull_id))
    key = (hull_id, name.strake, name.side, name.part)
    connection.execute("INSERT OR IGNORE INTO planks (hull_id, strake, side, part) VALUES (?, ?, ?, ?)", key)
    row = connection.execute("SELECT id FROM planks WHERE (hull_id, strake, side, part) = (?, ?, ?, ?)", key).fetchone()
    return int(row["id"])


@dataclass(frozen=True, kw_only=True)
class Circumstances:
    """What is given with a fit: who clamped and photographed, a note, the wood's moisture, the air, the clamps."""

    who: str | None
    note: str
    moisture_pct: float | None
    temperature_c: float | None
    clamps: str | None


def new_fit(connection: sqlite3.Connection, plank_id: int, given: Circumstances) -> int:
    """A new fit of a plank, with its own number; its id."""
    cursor = connection.execute(
        "INSERT INTO fits (plank_id, number, made_at, who, note, moisture_pct, temperature_c, clamps)"
        " SELECT :plank, coalesce(max(number), 0) + 1, :now, :who, :note, :moisture_pct, :temperature_c, :clamps"
        " FROM fits WHERE plank_id = :plank",
        {**vars(given), "plank": plank_id, "now": now()},
    )
    return int(cursor.lastrowid or 0)


def tell_more(connection: sqlite3.Connection, fit_id: int, given: Circumstances) -> None:
    """What is given with a later set of photographs fills what was not given with the first; notes are added up."""
    connection.execute(
        "UPDATE fits SET moisture_pct = coalesce(moisture_pct, :moisture_pct), clamps = coalesce(clamps, :clamps),"
        " temperature_c = coalesce(temperature_c, :temperature_c),"
        " note = CASE WHEN :note IN ('', note) THEN note WHEN note = '' THEN :note ELSE note || char(10) || :note END"
        " WHERE id = :fit",
        {**vars(given), "fit": fit_id},
    )


def put_take(connection: sqlite3.Connection, fit_id: int, take: Take, who: str | None, terms: str) -> int:
    """A take with all its samples, and the terms it is recorded under as JSON text; its id."""
    row = {
        "fit_id": fit_id,
        "recorded_at": now(),
        "who": who,
        "frame": take.frame,
        "at_mm": take.at_mm,
        "program": fitcheck.__version__,
        "calibration": _calibration(connection, take),
        "settings": take.part("settings") or "{}",
        "advice": None if take.advice is None else as_text(take.advice),
        "document": as_text(take.document),
        "digest": take.digest,
        "kind": take.kind,
        "terms": terms,
    }
    columns, marks = ", ".join(row), ", ".join(f":{column}" for column in row)
    take_id = int(connection.execute(f"INSERT INTO takes ({columns}) VALUES ({marks})", row).lastrowid or 0)
    table, names = ("gap_samples", GAP_COLUMNS) if take.kind == "gap" else ("samples", SAMPLE_COLUMNS)
    marks = ", ".join("?" * (len(names) + 2))
    connection.executemany(
        f"INSERT INTO {table} (take_id, n, {', '.join(names)}) VALUES ({marks})",
        ((take_id, n, *sample) for n, sample in enumerate(take.rows)),
    )
    return take_id


def _calibration(connection: sqlite3.Connection, take: Take) -> str | None:
    identity = take.part("camera")
    if identity is None:
        return None
    digest = hashlib.sha256(identity.encode()).hexdigest()
    connection.execute("INSERT OR IGNORE INTO calibrations (digest, identity) VALUES (?, ?)", (digest, identity))
    return digest


def put_photographs(connection: sqlite3.Connection, take_id: int, photographs: Sequence[Photograph]) -> None:
    """The photographs of a take, and what they are known by."""
    for photograph in photographs:
        # A copy in the store is worth more than a path to where the photograph once lay.
        connection.execute(
            "INSERT INTO photographs (digest, name, bytes, place, stored)"
            " VALUES (:digest, :name, :bytes, :place, :stored)"
            " ON CONFLICT (digest) DO UPDATE SET place = excluded.place, stored = 1 WHERE excluded.stored = 1",
            vars(photograph),
        )
        connection.execute("INSERT INTO take_photographs VALUES (?, ?)", (take_id, photograph.digest))


def renew_places(connection: sqlite3.Connection, photographs: Sequence[Photograph]) -> None:
    """Where the copies of photographs lie that are on record already and were given again."""
    for photograph in photographs:
        if photograph.stored:
            connection.execute(
                "UPDATE photographs SET place = :place, stored = 1 WHERE digest = :digest", vars(photograph)
            )


def supersede(connection: sqlite3.Connection, fit_id: int, take_id: int, kind: str) -> None:
    """A take of the same photographs, or of some of them, gives way to the new one."""
    new = digests(connection, take_id)
    rows = connection.execute(
        "SELECT id FROM standing_takes WHERE fit_id = ? AND kind = ? AND id <> ?",
        (fit_id, kind, take_id),
    )
    for row in rows.fetchall():
        old = digests(connection, row["id"])
        if old and old <= new:
            connection.execute("UPDATE takes SET superseded_by = ? WHERE id = ?", (take_id, row["id"]))


def digests(connection: sqlite3.Connection, take_id: int) -> set[str]:
    """The digests of a take's photographs."""
    rows = connection.execute("SELECT photograph FROM take_photographs WHERE take_id = ?", (take_id,))
    return {row["photograph"] for row in rows}


def latest(connection: sqlite3.Connection, plank_id: int) -> int | None:
    """The latest fit of a plank that stands, None where there is none."""
    row = connection.execute(
        "SELECT id FROM standing_fits WHERE plank_id = ? ORDER BY rank DESC LIMIT 1", (plank_id,)
    ).fetchone()
    return None if row is None else int(row["id"])


def planed(connection: sqlite3.Connection, fit_id: int) -> bool:
    """Whether a cut was reported after a fit that stands."""
    row = connection.execute(
        "SELECT 1 FROM standing_fits f JOIN standing_cuts c ON c.plank_id = f.plank_id AND c.rank >= f.rank"
        " WHERE f.id = ?",
        (fit_id,),
    ).fetchone()
    return row is not None


def number(connection: sqlite3.Connection, fit_id: int) -> int:
    """The number of a fit among those of its plank."""
    return int(connection.execute("SELECT number FROM fits WHERE id = ?", (fit_id,)).fetchone()["number"])
