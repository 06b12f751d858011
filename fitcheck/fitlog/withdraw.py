"""A mistake taken back: a fit, a set of photographs, a cut or a feeler reading no longer counts, and stays on record.

What is withdrawn is struck through wherever the record is shown, with who and why. Its photographs are free again.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.fitlog import queries
from fitcheck.fitlog.chain import seal
from fitcheck.fitlog.clock import now
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.store import writing
from fitcheck.fitlog.summary import refresh
from fitcheck.fitlog.told import as_text
from fitcheck.fitlog.withdrawn import Withdrawn, withdrawn_of
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


def withdraw_fit(db_path: Path, plank: PlankName, *, number: int, who: str, why: str) -> str:
    """Take a whole fit back, with its photographs and feeler readings; say what was withdrawn.

    Raises :class:`WrongCall` without who and why, where there is no such fit, or where it was withdrawn before.
    """
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank, number, withdrawn=True)
        what = f"fit {number} of {plank}"
        put_withdrawal(connection, queries.plank_id(connection, plank), what, who=who, why=why, fit_id=fit.id)
    return what


def withdraw_set(
    db_path: Path, plank: PlankName, hull: Hull | None, *, number: int, set_number: int, who: str, why: str
) -> str:
    """Take one set of photographs of a fit back; a set it was measured anew from counts again. Say what was withdrawn.

    Raises :class:`WrongCall` as :func:`withdraw_fit`, and where it is the fit's only set.
    """
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank, number)
        take_id = set_of(connection, fit, set_number)
        what = f"set {set_number} of fit {number} of {plank}"
        put_withdrawal(connection, queries.plank_id(connection, plank), what, who=who, why=why, take_id=take_id)
        if connection.execute("SELECT 1 FROM standing_takes WHERE fit_id = ?", (fit.id,)).fetchone() is None:
            raise WrongCall(f"{what} is the only one it has: withdraw the fit (--fit {number} without --set)")
        refresh(connection, fit.id, terms_of(plank, hull))
    return what


def withdraw_cut(db_path: Path, plank: PlankName, *, number: int, who: str, why: str) -> str:
    """Take a reported cut back, by its number among the plank's cuts; say what was withdrawn.

    Raises :class:`WrongCall` as :func:`withdraw_fit`.
    """
    with writing(db_path) as connection:
        plank_id = queries.plank_id(connection, plank)
        rows = connection.execute("SELECT id FROM cuts WHERE plank_id = ? ORDER BY id", (plank_id,)).fetchall()
        what = f"cut {number} of {plank}"
        cut_id = _numbered(rows, number, what, f"no cut of {plank} is recorded")
        put_withdrawal(connection, plank_id, what, who=who, why=why, cut_id=cut_id)
    return what


def withdraw_feeler(db_path: Path, plank: PlankName, hull: Hull | None, *, number: int, who: str, why: str) -> str:
    """Take a feeler reading back, by its number among the plank's readings; say what was withdrawn.

    Raises :class:`WrongCall` as :func:`withdraw_fit`.
    """
    with writing(db_path) as connection:
        plank_id = queries.plank_id(connection, plank)
        rows = connection.execute(
            "SELECT r.id, r.fit_id FROM feelers r JOIN fits f ON f.id = r.fit_id WHERE f.plank_id = ? ORDER BY r.id",
            (plank_id,),
        ).fetchall()
        what = f"feeler reading {number} of {plank}"
        feeler_id = _numbered(rows, number, what, f"no feeler reading of {plank} is recorded")
        put_withdrawal(connection, plank_id, what, who=who, why=why, feeler_id=feeler_id)
        refresh(connection, rows[number - 1]["fit_id"], terms_of(plank, hull))
    return what


def put_withdrawal(connection: sqlite3.Connection, plank_id: int, what: str, *, who: str, why: str, **row: int) -> int:
    """Write down that one row is withdrawn, in the transaction of the caller; give the withdrawal's own row.

    ``row`` is its key: ``fit_id``, ``take_id``, ``cut_id`` or ``feeler_id``. Raises :class:`WrongCall` without who and
    why, or where it was withdrawn before.
    """
    if not who.strip() or not why.strip():
        raise WrongCall("taking something back asks for who does it and why: --who NAME --why 'reason'")
    who, why = as_text(who) or "", as_text(why) or ""
    gone = withdrawn_of(connection, **row)
    if gone is not None:
        raise WrongCall(f"{what} {withdrawn_words(gone)}")
    ((column, row_id),) = row.items()
    put = connection.execute(
        f"INSERT INTO withdrawals (plank_id, {column}, made_at, who, why) VALUES (?, ?, ?, ?, ?)",
        (plank_id, row_id, now(), who.strip(), why.strip()),
    )
    withdrawal_id = int(put.lastrowid or 0)
    seal(connection, what="withdrawal", row_id=withdrawal_id)
    return withdrawal_id


def withdrawn_words(gone: Withdrawn) -> str:
    """By whom, why and where to, in words that follow on what was withdrawn."""
    done = "was withdrawn" if gone.moved_to is None else f"was moved to {gone.moved_to}"
    return f"{done} by {gone.who}: {gone.why}"


def set_of(connection: sqlite3.Connection, fit: queries.Fit, number: int) -> int:
    """The row of one set of photographs by its number in its fit. Raises :class:`WrongCall` where there is none."""
    rows = connection.execute("SELECT id FROM takes WHERE fit_id = ? ORDER BY id", (fit.id,)).fetchall()
    return _numbered(rows, number, f"set {number} of fit {fit.number} of {fit.plank}", "the fit has no photographs")


def _numbered(rows: list[sqlite3.Row], number: int, what: str, none: str) -> int:
    if not rows:
        raise WrongCall(none)
    if not 1 <= number <= len(rows):
        raise WrongCall(f"there is no {what}: they are numbered 1 to {len(rows)}, as fitcheck log show tells")
    return int(rows[number - 1]["id"])
