"""Notes on a plank that come without photographs, and what a steel rule read from edge to line.

A rule's reading changes no verdict: it is held against the photographs of its fit, and both are told.
"""

from __future__ import annotations

import math
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.fitlog import queries
from fitcheck.fitlog.chain import seal
from fitcheck.fitlog.clock import now
from fitcheck.fitlog.ends import need_on_plank
from fitcheck.fitlog.rows import plank_row
from fitcheck.fitlog.store import writing
from fitcheck.fitlog.told import as_text
from fitcheck.fitlog.withdrawn import Withdrawn
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: A rule is read by eye to half a millimetre, 1/64 in (common practice, no source).
RULE_U95_MM = 0.5
#: No edge lies so far off its line.
MOST_READ_MM = 100.0
#: A measured place so near speaks for the rule's; samples lie 5 mm apart.
NEAR_MM = 10.0


@dataclass(frozen=True)
class Note:
    """A note, or a rule's reading at ``at_mm`` where that is told; ``number`` counts the notes of the plank.

    ``measured`` is what the photographs of its fit say there, (past the line, u95) in mm, None where they say nothing.
    """

    number: int
    made_at: str
    who: str | None
    note: str
    fit: int | None
    at_mm: float | None
    past_line_mm: float | None
    measured: tuple[float, float] | None
    withdrawn: Withdrawn | None

    @property
    def agrees(self) -> bool | None:
        """Whether rule and photographs agree within their doubts; None where one of them says nothing."""
        if self.past_line_mm is None or self.measured is None:
            return None
        value_mm, u95_mm = self.measured
        return abs(self.past_line_mm - value_mm) <= math.hypot(u95_mm, RULE_U95_MM)


def record_note(
    db_path: Path,
    plank: PlankName,
    hull: Hull | None,
    *,
    note: str = "",
    at_mm: float | None = None,
    past_line_mm: float | None = None,
    who: str | None = None,
) -> None:
    """Put a note on record, or a rule's reading with its place, with or without a note.

    A note needs no fit; a reading is of the plank's latest one. Raises :class:`WrongCall` for nothing told, a reading
    that cannot be, a place beyond the plank's ends, and a reading where no fit is on record or wood came off since.
    """
    note = (as_text(note) or "").strip()
    if (at_mm is None) != (past_line_mm is None):
        raise WrongCall("a rule's reading is told with its place: --at, and --past or --short")
    if not note and at_mm is None:
        raise WrongCall("nothing is told: give a note, or a rule's reading")
    if at_mm is not None and past_line_mm is not None:
        if not abs(past_line_mm) <= MOST_READ_MM:
            raise WrongCall("no edge lies so far from its line: look at the reading again")
        need_on_plank(plank, hull, at_mm, at_mm, "this reading")
    with writing(db_path) as connection:
        plank_id = plank_row(connection, plank, hull.name if hull else None)
        fit = _latest(connection, plank)
        if at_mm is not None:
            _need_as_measured(connection, plank, fit)
        put = connection.execute(
            "INSERT INTO notes (plank_id, fit_id, made_at, who, note, at_mm, past_line_mm)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (plank_id, None if fit is None else fit.id, now(), who, note, at_mm, past_line_mm),
        )
        seal(connection, what="note", row_id=int(put.lastrowid or 0))


def take_note_back(db_path: Path, plank: PlankName, *, number: int, who: str, why: str) -> str:
    """Take a note or a reading back, by its number among the plank's; it stays on record. Say what was taken back.

    Raises :class:`WrongCall` without who and why, where there is no such note, or where it was taken back before.
    """
    if not who.strip() or not why.strip():
        raise WrongCall("taking something back asks for who does it and why: --who NAME --why 'reason'")
    with writing(db_path) as connection:
        rows = connection.execute("SELECT n.* FROM notes n WHERE plank_id = ? ORDER BY id", (_row(connection, plank),))
        found = rows.fetchall()
        if not 1 <= number <= len(found):
            raise WrongCall(f"there is no note {number} of {plank}, as fitcheck log show tells")
        row = found[number - 1]
        if row["taken_back_at"] is not None:
            raise WrongCall(
                f"note {number} of {plank} was withdrawn by {row['taken_back_by']}: {row['taken_back_why']}"
            )
        connection.execute(
            "UPDATE notes SET taken_back_at = ?, taken_back_by = ?, taken_back_why = ? WHERE id = ?",
            (now(), as_text(who.strip()), as_text(why.strip()), row["id"]),
        )
        seal(connection, what="note", row_id=row["id"])
    return f"note {number} of {plank}"


def notes(connection: sqlite3.Connection, plank: PlankName, *, withdrawn: bool = False) -> list[Note]:
    """The notes and readings of a plank in the order of entry, those taken back only where asked for."""
    rows = connection.execute(
        "SELECT n.*, f.number AS fit_number FROM notes n LEFT JOIN fits f ON f.id = n.fit_id"
        " WHERE n.plank_id = ? ORDER BY n.id",
        (_row(connection, plank),),
    ).fetchall()
    found = [_note(connection, number, row) for number, row in enumerate(rows, start=1)]
    return [one for one in found if withdrawn or one.withdrawn is None]


def _note(connection: sqlite3.Connection, number: int, row: sqlite3.Row) -> Note:
    gone = None
    if row["taken_back_at"] is not None:
        gone = Withdrawn(row["taken_back_at"], row["taken_back_by"], row["taken_back_why"], None)
    return Note(
        number=number,
        made_at=row["made_at"],
        who=row["who"],
        note=row["note"],
        fit=row["fit_number"],
        at_mm=row["at_mm"],
        past_line_mm=row["past_line_mm"],
        measured=None if row["at_mm"] is None else _measured(connection, row["fit_id"], row["at_mm"]),
        withdrawn=gone,
    )


def _measured(connection: sqlite3.Connection, fit_id: int, at_mm: float) -> tuple[float, float] | None:
    """What the photographs of a fit say at a place: of the nearest places with a number the surest."""
    near = [
        (abs(sample.place_mm - at_mm), sample.u95_mm or 0.0, sample.past_line_mm)
        for frame, samples in queries.edge_takes(connection, fit_id)
        if frame == "plank"
        for sample in samples
        if sample.past_line_mm is not None and abs(sample.place_mm - at_mm) <= NEAR_MM
    ]
    if not near:
        return None
    nearest_mm = min(near)[0]
    _, u95_mm, value_mm = min((one for one in near if one[0] <= nearest_mm + 2.5), key=lambda one: one[1])
    return value_mm, u95_mm


def _need_as_measured(connection: sqlite3.Connection, plank: PlankName, fit: queries.Fit | None) -> None:
    if fit is None:
        raise WrongCall(f"no fit of plank {plank} is recorded, to hold the reading against: give it as a note")
    if queries.cuts_after(connection, fit):
        raise WrongCall(
            f"{plank} was planed after fit {fit.number}: clamp it again and photograph it, then read the rule"
        )


def _latest(connection: sqlite3.Connection, plank: PlankName) -> queries.Fit | None:
    try:
        return queries.fit(connection, plank)
    except WrongCall:
        return None


def _row(connection: sqlite3.Connection, plank: PlankName) -> int | None:
    """The plank's row, None where nothing is recorded of it."""
    found = connection.execute(
        "SELECT id FROM planks WHERE (strake, side, part) = (?, ?, ?)", (plank.strake, plank.side, plank.part)
    ).fetchone()
    return None if found is None else int(found["id"])
