"""What is read from the record: planks, fits, their takes, samples, cuts and sign-offs."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from typing import Any

from fitcheck.fitlog.closed import Feeler, GapSample
from fitcheck.fitlog.names import PlankName
from fitcheck.fitlog.profile import Sample
from fitcheck.refusal import WrongCall


@dataclass(frozen=True)
class Fit:
    """One recorded dry fit. ``made_at`` is in UTC, ISO 8601; what was not told is None."""

    id: int
    number: int
    plank: PlankName
    made_at: str
    who: str | None
    note: str
    moisture_pct: float | None
    temperature_c: float | None
    clamps: str | None


@dataclass(frozen=True)
class Cut:
    """Wood reported planed off: depth in mm at its deepest, and along its length where that is known."""

    from_mm: float
    to_mm: float
    deepest_mm: float
    profile: tuple[tuple[float, float], ...]
    made_at: str
    who: str | None
    note: str
    after_fit: int | None


@dataclass(frozen=True)
class Signoff:
    """A signature; ``overruled`` and ``missing`` where the builder signed in writing against what was missing."""

    fit_number: int
    signed_at: str
    who: str
    overruled: str | None
    missing: tuple[str, ...]
    opened_at: str | None
    opened_why: str | None


def plank_id(connection: sqlite3.Connection, name: PlankName) -> int:
    """The row of a plank. Raises :class:`WrongCall` where nothing is recorded of it."""
    row = connection.execute(
        "SELECT id FROM planks WHERE strake = ? AND side = ? AND part = ?", (name.strake, name.side, name.part)
    ).fetchone()
    if row is None:
        raise WrongCall(f"no fit of plank {name} is recorded")
    return int(row["id"])


def planks(connection: sqlite3.Connection) -> list[PlankName]:
    """Every plank of which something is recorded, in the order of building."""
    rows = connection.execute("SELECT strake, side, part FROM planks ORDER BY strake, side, part")
    return [PlankName(row["strake"], row["side"], row["part"]) for row in rows]


def fits(connection: sqlite3.Connection, name: PlankName) -> list[Fit]:
    """Every fit of a plank, oldest first. Raises :class:`WrongCall` where there is none."""
    rows = connection.execute("SELECT * FROM fits WHERE plank_id = ? ORDER BY number", (plank_id(connection, name),))
    found = [_fit(row, name) for row in rows]
    if not found:
        raise WrongCall(f"no fit of plank {name} is recorded")
    return found


def fit(connection: sqlite3.Connection, name: PlankName, number: int | None = None) -> Fit:
    """One fit of a plank by its number, the latest unless given. Raises :class:`WrongCall` where it is not recorded."""
    row = connection.execute(
        "SELECT * FROM fits WHERE plank_id = ? AND number = coalesce(?, number) ORDER BY number DESC LIMIT 1",
        (plank_id(connection, name), number),
    ).fetchone()
    if row is None:
        which = "no fit" if number is None else f"no fit {number}"
        raise WrongCall(f"{which} of plank {name} is recorded")
    return _fit(row, name)


def edge_takes(connection: sqlite3.Connection, fit_id: int) -> list[tuple[str, list[Sample]]]:
    """The frame and the samples, by rising place, of each take of a fit that shows the edge and is not superseded."""
    found: dict[int, tuple[str, list[Sample]]] = {}
    rows = connection.execute(
        "SELECT t.id, t.frame, s.place_mm, s.past_line_mm, s.u95_mm, s.state"
        " FROM takes t JOIN samples s ON s.take_id = t.id"
        " WHERE t.fit_id = ? AND t.superseded_by IS NULL ORDER BY t.id, s.place_mm, s.n",
        (fit_id,),
    )
    for take_id, frame, *sample in rows:
        found.setdefault(take_id, (frame, []))[1].append(Sample(*sample))
    return list(found.values())


def edge_takes_by_person(connection: sqlite3.Connection, fit_id: int) -> list[tuple[str, list[Sample]]]:
    """Who photographed, and the samples by rising place, of each take along the plank that says who took it."""
    found: dict[int, tuple[str, list[Sample]]] = {}
    rows = connection.execute(
        "SELECT t.id, t.who, s.place_mm, s.past_line_mm, s.u95_mm, s.state"
        " FROM takes t JOIN samples s ON s.take_id = t.id WHERE t.fit_id = ? AND t.superseded_by IS NULL"
        " AND t.who IS NOT NULL AND t.frame = 'plank' ORDER BY t.id, s.place_mm, s.n",
        (fit_id,),
    )
    for take_id, who, *sample in rows:
        found.setdefault(take_id, (who, []))[1].append(Sample(*sample))
    return list(found.values())


def gap_takes(connection: sqlite3.Connection, fit_id: int) -> list[list[GapSample]]:
    """The samples, by rising place, of each edge-on take of a fit whose places along the plank are known."""
    found: dict[int, list[GapSample]] = {}
    rows = connection.execute(
        "SELECT t.id, s.place_mm, s.gap_mm, s.gap_u95_mm, s.state FROM takes t JOIN gap_samples s ON s.take_id = t.id"
        " WHERE t.fit_id = ? AND t.superseded_by IS NULL AND t.frame = 'plank' ORDER BY t.id, s.place_mm, s.n",
        (fit_id,),
    )
    for take_id, *sample in rows:
        found.setdefault(take_id, []).append(GapSample(*sample))
    return list(found.values())


def feelers(connection: sqlite3.Connection, fit_id: int) -> list[Feeler]:
    """The feeler readings of a fit in the order of entry."""
    rows = connection.execute("SELECT * FROM feelers WHERE fit_id = ? ORDER BY id", (fit_id,))
    return [Feeler(row["from_mm"], row["to_mm"], row["blade_mm"], bool(row["goes_in"])) for row in rows]


def advice_of(connection: sqlite3.Connection, fit_id: int) -> list[dict[str, Any]]:
    """The planing advice of each take of a fit that is not superseded, the latest first."""
    rows = connection.execute(
        "SELECT advice FROM takes WHERE fit_id = ? AND superseded_by IS NULL AND advice IS NOT NULL ORDER BY id DESC",
        (fit_id,),
    )
    return [advice for advice in (json.loads(row["advice"]) for row in rows) if isinstance(advice, dict)]


def lap_advice(connection: sqlite3.Connection, fit_id: int) -> list[dict[str, Any]]:
    """What each edge-on take of a fit advises, the latest first: ``bevel`` with its runs, and ``gains``."""
    return [advice for advice in advice_of(connection, fit_id) if "gains" in advice]


def steps(connection: sqlite3.Connection, fit_id: int) -> tuple[float, float] | None:
    """The least and the most that the plank stands proud in a fit, in mm, where a reference gave the scale; or None."""
    row = connection.execute(
        "SELECT min(s.proud_mm) AS low, max(s.proud_mm) AS high FROM gap_samples s JOIN takes t ON t.id = s.take_id"
        " WHERE t.fit_id = ? AND t.superseded_by IS NULL AND s.flags NOT LIKE '%scale-from-thickness%'",
        (fit_id,),
    ).fetchone()
    return None if row["low"] is None else (float(row["low"]), float(row["high"]))


def advised_cuts(connection: sqlite3.Connection, fit_id: int) -> list[dict[str, Any]]:
    """The cuts a fit asked for, by rising place; where two takes ask for wood at one place, as the later one asks."""
    kept: list[dict[str, Any]] = []
    for advice in advice_of(connection, fit_id):
        asked = [cut for cut in advice.get("cuts") or [] if not any(_meet(cut, other) for other in kept)]
        kept.extend(asked)
    return sorted(kept, key=lambda cut: float(cut["from_mm"]))


def cuts(connection: sqlite3.Connection, name: PlankName) -> list[Cut]:
    """The cuts reported of a plank, oldest first."""
    rows = connection.execute(
        "SELECT c.*, f.number FROM cuts c LEFT JOIN fits f ON f.id = c.fit_id WHERE c.plank_id = ? ORDER BY c.id",
        (plank_id(connection, name),),
    )
    return [
        Cut(
            row["from_mm"],
            row["to_mm"],
            row["deepest_mm"],
            tuple((at, depth) for at, depth in json.loads(row["profile"] or "[]")),
            row["made_at"],
            row["who"],
            row["note"],
            row["number"],
        )
        for row in rows
    ]


def signoffs(connection: sqlite3.Connection, name: PlankName) -> list[Signoff]:
    """The signatures a plank has had, oldest first; it is signed while the last one has not been opened."""
    rows = connection.execute(
        "SELECT s.*, f.number FROM signoffs s JOIN fits f ON f.id = s.fit_id WHERE s.plank_id = ? ORDER BY s.id",
        (plank_id(connection, name),),
    )
    return [
        Signoff(
            row["number"],
            row["signed_at"],
            row["who"],
            row["overruled"],
            tuple(json.loads(row["missing"] or "[]")),
            row["opened_at"],
            row["opened_why"],
        )
        for row in rows
    ]


def _meet(cut: dict[str, Any], other: dict[str, Any]) -> bool:
    return bool(cut["from_mm"] < other["to_mm"] and other["from_mm"] < cut["to_mm"])


def _fit(row: sqlite3.Row, name: PlankName) -> Fit:
    told = (row["who"], row["note"], row["moisture_pct"], row["temperature_c"], row["clamps"])
    return Fit(row["id"], row["number"], name, row["made_at"], *told)
