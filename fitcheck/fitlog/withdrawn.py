"""What was withdrawn, by whom and why, and where it was moved: as the record tells it."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from fitcheck.hull.plank_name import PlankName


@dataclass(frozen=True)
class Withdrawn:
    """Why something no longer counts; ``moved_to`` names where it stands now, None where it was only taken back."""

    made_at: str
    who: str
    why: str
    moved_to: str | None


def withdrawn_of(connection: sqlite3.Connection, **what: int) -> Withdrawn | None:
    """How one row was withdrawn, by ``fit_id``, ``take_id``, ``cut_id`` or ``feeler_id``; None where it stands."""
    ((column, row_id),) = what.items()
    row = connection.execute(
        f"SELECT w.*, m.fit_id AS to_fit, m.take_id AS to_take FROM withdrawals w"
        f" LEFT JOIN moves m ON m.withdrawal_id = w.id WHERE w.{column} = ?",
        (row_id,),
    ).fetchone()
    if row is None:
        return None
    moved_to = _named(connection, row["to_fit"]) if row["to_fit"] else "another place" if row["to_take"] else None
    return Withdrawn(row["made_at"], row["who"], row["why"], moved_to)


def moved_from(connection: sqlite3.Connection, fit_id: int) -> str | None:
    """The fit of another plank that a fit was moved from, None where it was not moved."""
    row = connection.execute(
        "SELECT w.fit_id FROM moves m JOIN withdrawals w ON w.id = m.withdrawal_id WHERE m.fit_id = ?", (fit_id,)
    ).fetchone()
    return None if row is None else _named(connection, row["fit_id"])


def _named(connection: sqlite3.Connection, fit_id: int) -> str:
    row = connection.execute(
        "SELECT f.number, p.strake, p.side, p.part FROM fits f JOIN planks p ON p.id = f.plank_id WHERE f.id = ?",
        (fit_id,),
    ).fetchone()
    return f"fit {row['number']} of {PlankName(row['strake'], row['side'], row['part'])}"
