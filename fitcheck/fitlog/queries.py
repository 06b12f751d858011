"""What is read from the record: planks, fits, their takes, samples, cuts and sign-offs."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fitcheck.fitlog.closed import Feeler, GapSample
from fitcheck.fitlog.fit_profile import Sample
from fitcheck.fitlog.withdrawn import Withdrawn, moved_from, withdrawn_of
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName

#: No plank has so many fits; SQLite could not hold a number of twenty digits.
MOST_FITS = 1_000_000


@dataclass(frozen=True)
class Fit:
    """One recorded dry fit. ``made_at`` is in UTC, ISO 8601; what was not told is None. ``rank`` is its order in time.

    ``moved_from`` names the fit of another plank that it was recorded as before it was moved.
    """

    id: int
    number: int
    plank: PlankName
    made_at: str
    who: str | None
    note: str
    moisture_pct: float | None
    temperature_c: float | None
    clamps: str | None
    rank: int
    withdrawn: Withdrawn | None = None
    moved_from: str | None = None


@dataclass(frozen=True)
class Cut:
    """Wood reported planed off: depth in mm at its deepest, and along its length where that is known.

    ``number`` counts the cuts of the plank; ``rank`` is that of the fit it was planed after. Places count from station
    card ``from_card`` where it is told, and nobody knows then how they lie to those from card 0.
    """

    number: int
    from_mm: float
    to_mm: float
    deepest_mm: float
    profile: tuple[tuple[float, float], ...]
    made_at: str
    who: str | None
    note: str
    after_fit: int | None
    rank: int
    withdrawn: Withdrawn | None = None
    from_card: int | None = None


@dataclass(frozen=True)
class Signoff:
    """A signature; ``overruled`` and ``missing`` where the builder signed in writing against what was missing.

    ``stood_on`` is what :func:`fitcheck.fitlog.grounds.grounds` gathered then, None from before that was kept.
    """

    fit_number: int
    signed_at: str
    who: str
    overruled: str | None
    missing: tuple[str, ...]
    opened_at: str | None
    opened_why: str | None
    stood_on: dict[str, Any] | None = None


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


def fits(connection: sqlite3.Connection, name: PlankName, *, withdrawn: bool = False) -> list[Fit]:
    """Every fit of a plank, oldest first, those withdrawn only where asked for.

    Raises :class:`WrongCall` where there is none.
    """
    rows = connection.execute(f"{_FITS} WHERE f.plank_id = ? ORDER BY rank", (plank_id(connection, name),))
    found = [fit for fit in (_fit(connection, row, name) for row in rows.fetchall()) if withdrawn or not fit.withdrawn]
    if not found:
        raise WrongCall(f"no fit of plank {name} is recorded{_but_withdrawn(connection, name)}")
    return found


def fit(connection: sqlite3.Connection, name: PlankName, number: int | None = None, *, withdrawn: bool = False) -> Fit:
    """One fit of a plank by its number, the latest that stands unless given.

    Raises :class:`WrongCall` where it is not recorded, or was withdrawn and those are not asked for.
    """
    if number is None:
        return fits(connection, name)[-1]
    if not 0 < number < MOST_FITS:
        raise WrongCall(f"no fit {number} of plank {name} is recorded")
    row = connection.execute(
        f"{_FITS} WHERE f.plank_id = ? AND f.number = ?", (plank_id(connection, name), number)
    ).fetchone()
    if row is None:
        raise WrongCall(f"no fit {number} of plank {name} is recorded")
    found = _fit(connection, row, name)
    if found.withdrawn and not withdrawn:
        raise WrongCall(f"fit {number} of {name} was withdrawn by {found.withdrawn.who}: {found.withdrawn.why}")
    return found


def edge_takes(connection: sqlite3.Connection, fit_id: int) -> list[tuple[str, list[Sample]]]:
    """The frame and the samples, by rising place, of each take of a fit that shows the edge and is not superseded."""
    found: dict[int, tuple[str, list[Sample]]] = {}
    rows = connection.execute(
        "SELECT t.id, t.frame, s.place_mm, s.past_line_mm, s.u95_mm, s.state"
        " FROM standing_takes t JOIN samples s ON s.take_id = t.id"
        " WHERE t.fit_id = ? ORDER BY t.id, s.place_mm, s.n",
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
        " FROM standing_takes t JOIN samples s ON s.take_id = t.id WHERE t.fit_id = ?"
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
        "SELECT t.id, s.place_mm, s.gap_mm, s.gap_u95_mm, s.state, s.flags LIKE '%\"corner-eased\"%'"
        " FROM standing_takes t JOIN gap_samples s ON s.take_id = t.id"
        " WHERE t.fit_id = ? AND t.frame = 'plank' ORDER BY t.id, s.place_mm, s.n",
        (fit_id,),
    )
    for take_id, place_mm, gap_mm, u95_mm, state, eased in rows:
        found.setdefault(take_id, []).append(GapSample(place_mm, gap_mm, u95_mm, state, bool(eased)))
    return list(found.values())


def feelers(connection: sqlite3.Connection, fit_id: int, *, withdrawn: bool = False) -> list[Feeler]:
    """The feeler readings of a fit in the order of entry, those withdrawn only where asked for."""
    rows = connection.execute(
        "SELECT r.*, (SELECT count(*) FROM feelers b JOIN fits g ON g.id = b.fit_id"
        " WHERE g.plank_id = f.plank_id AND b.id <= r.id) AS number"
        " FROM feelers r JOIN fits f ON f.id = r.fit_id WHERE r.fit_id = ? ORDER BY r.id",
        (fit_id,),
    )
    found = [(row, withdrawn_of(connection, feeler_id=row["id"])) for row in rows.fetchall()]
    return [
        Feeler(
            row["from_mm"],
            row["to_mm"],
            row["blade_mm"],
            bool(row["goes_in"]),
            number=row["number"],
            made_at=row["made_at"],
            who=row["who"],
            note=row["note"],
            withdrawn=gone,
        )
        for row, gone in found
        if withdrawn or gone is None
    ]


def advice_of(connection: sqlite3.Connection, fit_id: int) -> list[dict[str, Any]]:
    """The planing advice of each take of a fit that is not superseded, the latest first."""
    rows = connection.execute(
        "SELECT advice FROM standing_takes WHERE fit_id = ? AND advice IS NOT NULL ORDER BY id DESC",
        (fit_id,),
    )
    return [advice for advice in (json.loads(row["advice"]) for row in rows) if isinstance(advice, dict)]


def lap_advice(connection: sqlite3.Connection, fit_id: int) -> list[dict[str, Any]]:
    """What each edge-on take of a fit advises, the latest first: ``bevel`` with its runs, and ``gains``."""
    return [advice for advice in advice_of(connection, fit_id) if "gains" in advice]


def steps(connection: sqlite3.Connection, fit_id: int) -> list[tuple[float, float | None]]:
    """How far the plank stands proud in a fit, with the doubt, in mm, place by place where a reference gave the scale.

    As in the report of the view, only where the lap itself was seen.
    """
    rows = connection.execute(
        "SELECT s.proud_mm, s.proud_u95_mm FROM gap_samples s JOIN standing_takes t ON t.id = s.take_id"
        " WHERE t.fit_id = ? AND s.proud_mm IS NOT NULL AND s.gap_mm IS NOT NULL"
        " AND s.flags NOT LIKE '%scale-from-thickness%'",
        (fit_id,),
    )
    return [(float(height), doubt) for height, doubt in rows]


def advised_cuts(connection: sqlite3.Connection, fit_id: int) -> list[dict[str, Any]]:
    """The cuts a fit asked for, by rising place; where two takes ask for wood at one place, as the later one asks.

    None where any of its photographs ask that the plank be moved first.
    """
    kept: list[dict[str, Any]] = []
    given = advice_of(connection, fit_id)
    if move_first(given) is not None:
        return kept
    for advice in given:
        asked = [cut for cut in advice.get("cuts") or [] if not any(_meet(cut, other) for other in kept)]
        kept.extend(asked)
    return sorted(kept, key=lambda cut: float(cut["from_mm"]))


def move_first(given: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The latest advice that asks to move the plank before anything is planed, None where none does."""
    return next((advice for advice in given if advice.get("first") == "slide"), None)


def cuts(connection: sqlite3.Connection, name: PlankName, *, withdrawn: bool = False) -> list[Cut]:
    """The cuts reported of a plank, oldest first, those withdrawn only where asked for."""
    rows = connection.execute(
        "SELECT c.*, f.number AS after_fit, coalesce(m.first_id, c.fit_id, 0) AS rank,"
        " row_number() OVER (ORDER BY c.id) AS number FROM cuts c LEFT JOIN fits f ON f.id = c.fit_id"
        " LEFT JOIN moves m ON m.fit_id = c.fit_id WHERE c.plank_id = ? ORDER BY c.id",
        (plank_id(connection, name),),
    )
    found = [
        Cut(
            number=row["number"],
            from_mm=row["from_mm"],
            to_mm=row["to_mm"],
            deepest_mm=row["deepest_mm"],
            profile=tuple((at, depth) for at, depth in json.loads(row["profile"] or "[]")),
            made_at=row["made_at"],
            who=row["who"],
            note=row["note"],
            after_fit=row["after_fit"],
            rank=row["rank"],
            withdrawn=withdrawn_of(connection, cut_id=row["id"]),
            from_card=row["from_card"],
        )
        for row in rows.fetchall()
    ]
    return [cut for cut in found if withdrawn or cut.withdrawn is None]


def cuts_after(connection: sqlite3.Connection, fit: Fit, *, withdrawn: bool = False) -> list[Cut]:
    """The cuts made after a fit and before the next one that stands; ``fit`` may be one that was withdrawn."""
    ranks = (
        row["rank"]
        for row in connection.execute(
            "SELECT rank FROM standing_fits WHERE plank_id = ? AND rank > ?",
            (plank_id(connection, fit.plank), fit.rank),
        )
    )
    until = min(ranks, default=None)
    return [
        cut
        for cut in cuts(connection, fit.plank, withdrawn=withdrawn)
        if cut.rank >= fit.rank and (until is None or cut.rank < until)
    ]


def signoffs(connection: sqlite3.Connection, name: PlankName) -> list[Signoff]:
    """The signatures a plank has had, oldest first; it is signed while the last one has not been opened."""
    rows = connection.execute(
        "SELECT s.*, f.number FROM signoffs s JOIN fits f ON f.id = s.fit_id WHERE s.plank_id = ? ORDER BY s.id",
        (plank_id(connection, name),),
    )
    return [
        Signoff(
            fit_number=row["number"],
            signed_at=row["signed_at"],
            who=row["who"],
            overruled=row["overruled"],
            missing=tuple(json.loads(row["missing"] or "[]")),
            opened_at=row["opened_at"],
            opened_why=row["opened_why"],
            stood_on=json.loads(row["stood_on"]) if row["stood_on"] else None,
        )
        for row in rows
    ]


def _meet(cut: dict[str, Any], other: dict[str, Any]) -> bool:
    one_frame = (cut.get("from_card") or 0) == (other.get("from_card") or 0)
    return bool(one_frame and cut["from_mm"] < other["to_mm"] and other["from_mm"] < cut["to_mm"])


_FITS = "SELECT f.*, coalesce(m.first_id, f.id) AS rank FROM fits f LEFT JOIN moves m ON m.fit_id = f.id"


def _fit(connection: sqlite3.Connection, row: sqlite3.Row, name: PlankName) -> Fit:
    told = (row["who"], row["note"], row["moisture_pct"], row["temperature_c"], row["clamps"], row["rank"])
    gone = withdrawn_of(connection, fit_id=row["id"])
    return Fit(row["id"], row["number"], name, row["made_at"], *told, gone, moved_from(connection, row["id"]))


def _but_withdrawn(connection: sqlite3.Connection, name: PlankName) -> str:
    row = connection.execute("SELECT 1 FROM fits WHERE plank_id = ?", (plank_id(connection, name),)).fetchone()
    return ": every one was withdrawn" if row else ""
