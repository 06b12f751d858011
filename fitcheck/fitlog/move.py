"""What was recorded under a wrong plank, or at a wrong place, brought to the right one: withdrawn and written anew."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.fitlog import queries, rows
from fitcheck.fitlog.chain import seal
from fitcheck.fitlog.clock import now
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.recorded_input import advice_at, as_text
from fitcheck.fitlog.recording import along_sign
from fitcheck.fitlog.store import writing
from fitcheck.fitlog.summary import refresh
from fitcheck.fitlog.withdraw import put_withdrawal, set_of
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: Tables whose rows belong to a set of photographs and go with it.
OF_A_TAKE = ("samples", "gap_samples", "take_photographs")


def move_fit(
    db_path: Path, plank: PlankName, to: PlankName, hull: Hull | None, *, number: int, who: str, why: str
) -> int:
    """Bring a fit, with its photographs, feeler and rule readings, to another plank; its number there.

    It keeps its place in time: a later fit of that plank stays the latest. Cuts reported after it stay where they
    were reported. A sign-off of that plank is opened. Raises :class:`WrongCall` without who and why, where there is no
    such fit or it was withdrawn, or where ``to`` is the same plank.
    """
    if to == plank:
        raise WrongCall(f"fit {number} is a fit of {plank} already")
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank, number)
        plank_id = rows.plank_row(connection, to, None)
        what = f"fit {number} of {plank}"
        gone = put_withdrawal(connection, queries.plank_id(connection, plank), what, who=who, why=why, fit_id=fit.id)
        connection.execute(
            "UPDATE signoffs SET opened_at = ?, opened_why = 'fit' WHERE plank_id = ? AND opened_at IS NULL",
            (now(), plank_id),
        )
        number_there = connection.execute(
            "SELECT coalesce(max(number), 0) + 1 FROM fits WHERE plank_id = ?", (plank_id,)
        ).fetchone()[0]
        fit_id = _copied(connection, "fits", fit.id, plank_id=plank_id, number=number_there)
        _write_move(connection, gone, fit_id=fit_id, first_id=fit.rank)
        seal(connection, what="fit", row_id=fit_id)
        _bring_sets(connection, fit.id, fit_id, along_sign(to.side, hull))
        there = {"plank_id": plank_id, "fit_id": fit_id}
        for feeler in connection.execute("SELECT id FROM standing_feelers WHERE fit_id = ?", (fit.id,)).fetchall():
            seal(connection, what="feeler", row_id=_copied(connection, "feelers", feeler["id"], fit_id=fit_id))
        read = "SELECT id FROM notes WHERE fit_id = ? AND at_mm IS NOT NULL AND taken_back_at IS NULL"
        for note in connection.execute(read, (fit.id,)).fetchall():
            seal(connection, what="note", row_id=_copied(connection, "notes", note["id"], **there))
        refresh(connection, fit_id, terms_of(to, hull))
    return int(number_there)


def move_set(
    db_path: Path,
    plank: PlankName,
    hull: Hull | None,
    *,
    number: int,
    set_number: int | None,
    at_mm: float,
    who: str,
    why: str,
) -> None:
    """Bring one set of photographs of a fit, taken without station cards, to another place: the reference's middle lay
    at ``at_mm`` along the plank. ``set_number`` may be None where the fit has one set that counts.

    Raises :class:`WrongCall` as :func:`move_fit`, where the set is not told though there are several, or where its
    places come from station cards.
    """
    with writing(db_path) as connection:
        fit = queries.fit(connection, plank, number)
        take_id = _only_set(connection, fit) if set_number is None else set_of(connection, fit, set_number)
        if connection.execute("SELECT 1 FROM takes WHERE id = ? AND at_mm IS ?", (take_id, at_mm)).fetchone():
            raise WrongCall("these photographs are at that place already")
        what = f"that set of fit {number} of {plank}"
        gone = put_withdrawal(connection, queries.plank_id(connection, plank), what, who=who, why=why, take_id=take_id)
        new_id = _bring_set(connection, take_id, fit.id, along_sign(plank.side, hull), at_mm)
        _write_move(connection, gone, take_id=new_id)
        refresh(connection, fit.id, terms_of(plank, hull))


def _bring_sets(connection: sqlite3.Connection, fit_id: int, to_id: int, sign: int) -> None:
    for take in connection.execute("SELECT id FROM standing_takes WHERE fit_id = ? ORDER BY id", (fit_id,)).fetchall():
        _bring_set(connection, take["id"], to_id, sign, None)


def _bring_set(connection: sqlite3.Connection, take_id: int, fit_id: int, sign: int, at_mm: float | None) -> int:
    """A set written anew in a fit, its places from ``at_mm`` where it is told, else from where it was told to lie."""
    new_id = _copied(connection, "takes", take_id, fit_id=fit_id, superseded_by=None)
    for table in OF_A_TAKE:
        _copied_rows(connection, table, take_id, new_id)
    take = connection.execute("SELECT * FROM takes WHERE id = ?", (new_id,)).fetchone()
    table = "gap_samples" if take["kind"] == "gap" else "samples"
    by_card = connection.execute(f"SELECT 1 FROM {table} WHERE take_id = ? AND plank_mm IS NOT NULL", (new_id,))
    if by_card.fetchone() is not None:
        if at_mm is not None:
            raise WrongCall("the places of these photographs come from station cards: mend the stations, measure anew")
    elif at_mm is not None or take["at_mm"] is not None:
        lay_mm = take["at_mm"] if at_mm is None else at_mm
        connection.execute(
            f"UPDATE {table} SET place_mm = :at + :sign * along_mm WHERE take_id = :take",
            {"at": lay_mm, "sign": sign, "take": new_id},
        )
        advice = advice_at(take["kind"], json.loads(take["document"]), lay_mm, sign)
        connection.execute(
            "UPDATE takes SET frame = 'plank', at_mm = ?, advice = ? WHERE id = ?",
            (lay_mm, None if advice is None else as_text(advice), new_id),
        )
    seal(connection, what="set", row_id=new_id)
    return new_id


def _write_move(connection: sqlite3.Connection, withdrawal_id: int, **to: int) -> None:
    columns, marks = ", ".join(to), ", ".join("?" * len(to))
    put = connection.execute(
        f"INSERT INTO moves (withdrawal_id, {columns}) VALUES (?, {marks})", (withdrawal_id, *to.values())
    )
    seal(connection, what="move", row_id=int(put.lastrowid or 0))


def _only_set(connection: sqlite3.Connection, fit: queries.Fit) -> int:
    found = connection.execute("SELECT id FROM standing_takes WHERE fit_id = ?", (fit.id,)).fetchall()
    if len(found) != 1:
        raise WrongCall(f"fit {fit.number} of {fit.plank} has {len(found)} sets of photographs: tell which with --set")
    return int(found[0]["id"])


def _copied(connection: sqlite3.Connection, table: str, row_id: int, **changed: int | None) -> int:
    """A row written again with some columns changed; the new row's id."""
    found = connection.execute(f"SELECT * FROM {table} WHERE id = ?", (row_id,)).fetchone()
    row = {**dict(found), **changed}
    del row["id"]
    columns, marks = ", ".join(row), ", ".join(f":{column}" for column in row)
    return int(connection.execute(f"INSERT INTO {table} ({columns}) VALUES ({marks})", row).lastrowid or 0)


def _copied_rows(connection: sqlite3.Connection, table: str, take_id: int, new_id: int) -> None:
    columns = [row["name"] for row in connection.execute(f"PRAGMA table_info({table})") if row["name"] != "take_id"]
    named = ", ".join(columns)
    connection.execute(
        f"INSERT INTO {table} (take_id, {named}) SELECT ?, {named} FROM {table} WHERE take_id = ?", (new_id, take_id)
    )
