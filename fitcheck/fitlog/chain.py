"""The chain of seals: a digest of every event on record, so that what is there can be held against what was written.

An event is a row of a table with all that belongs to it. Where a row may rightly change later, the change is sealed
anew, and the newest seal of a row is what it must agree with. Each seal's digest takes in the one before, so that a
seal changed or taken out shows. A digest is no lock: it tells of flipped bits, and of a hand that changed the file by
other means than this program; it cannot tell of someone who works out the whole chain anew.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

from fitcheck.fitlog.chain_words import altered, plain_date
from fitcheck.fitlog.clock import now

#: The first seal follows on this.
START = "0" * 64


@dataclass(frozen=True)
class Kind:
    """One kind of event: a row of ``table``, known by ``key``, called ``words``.

    Its content is every column that is not NULL, but for those ``without``, or of those in ``only``; a row then counts
    as an event once the first of these is told. ``more`` holds, by name, queries of the rows that belong to it, each
    asked with the row's key. Columns that later schemas add are taken in by themselves: give them no default but NULL.
    Events that ``follow`` come about by other events (a trigger of the schema) and are sealed along with these.
    """

    table: str
    words: str
    key: str = "id"
    without: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    more: dict[str, str] = field(default_factory=dict)
    follows: bool = False

    def every(self) -> str:
        """The query of every row that is such an event."""
        where = f" WHERE {self.only[0]} IS NOT NULL" if self.only else ""
        return f"SELECT {self.key} AS id FROM {self.table}{where}"


_PLANK = "SELECT p.strake, p.side, p.part FROM planks p JOIN {} t ON t.plank_id = p.id WHERE t.id = ?"
_SET = {
    "samples": "SELECT * FROM samples WHERE take_id = ? ORDER BY n",
    "gaps": "SELECT * FROM gap_samples WHERE take_id = ? ORDER BY n",
    "photographs": "SELECT p.digest, p.name, p.bytes FROM take_photographs tp JOIN photographs p"
    " ON p.digest = tp.photograph WHERE tp.take_id = ? ORDER BY p.digest",
    "camera": "SELECT c.identity FROM takes t JOIN calibrations c ON c.digest = t.calibration WHERE t.id = ?",
}
TAKEN_BACK = ("taken_back_at", "taken_back_by", "taken_back_why")
#: Every kind of event. A kind more is a line more.
KINDS = {
    "fit": Kind("fits", "fit", more={"plank": _PLANK.format("fits")}),
    "set": Kind("takes", "a set of photographs", without=("superseded_by",), more=_SET),
    "replacing": Kind("takes", "a set measured anew", only=("superseded_by",), follows=True),
    "summary": Kind("summaries", "the line in the list", key="fit_id"),
    "cut": Kind("cuts", "a cut", more={"plank": _PLANK.format("cuts")}),
    "feeler": Kind("feelers", "a feeler reading"),
    "note": Kind("notes", "a note", without=TAKEN_BACK, more={"plank": _PLANK.format("notes")}),
    "note taken back": Kind("notes", "a note taken back", only=TAKEN_BACK, follows=True),
    "signing": Kind(
        "signoffs", "the signing", without=("opened_at", "opened_why"), more={"plank": _PLANK.format("signoffs")}
    ),
    "withdrawal": Kind("withdrawals", "the withdrawal"),
    "move": Kind("moves", "the move"),
    "opening": Kind("signoffs", "the opening again", only=("opened_at", "opened_why"), follows=True),
}


def seal(connection: sqlite3.Connection, *, what: str, row_id: int, late: bool = False) -> None:
    """Seal one event in the transaction that writes it, with what follows from it; nothing where it is sealed as is.

    ``what`` is a kind of :data:`KINDS`; a row that was changed rightly is sealed again. ``late`` tells that the row was
    on record before there were seals.
    """
    _seal(connection, what, row_id, late)
    for other, kind in KINDS.items():
        if kind.follows:
            for row in _unsealed(connection, other):
                _seal(connection, other, row, late)


def seal_all(connection: sqlite3.Connection) -> None:
    """Seal everything that has no seal, as it stands: for a record from before there were seals."""
    for what in KINDS:
        for row_id in _unsealed(connection, what):
            _seal(connection, what, row_id, late=True)


def check(
    connection: sqlite3.Connection, *, plank_id: int | None = None, fits: Collection[int] | None = None
) -> list[str]:
    """What is not as it was written, each in a line that names it; nothing where all is. Of one plank, or of all.

    With ``fits``, the contents of those fits alone are read, which is quick; what is gone is found of all.
    """
    troubles = list(_broken(connection, plank_id))
    for row in _newest(connection, plank_id):
        fit_id = _fit_of(connection, row["what"], row["row_id"])
        if fits is None or fit_id is None or fit_id in fits:
            troubles += _altered(row, content(connection, row["what"], row["row_id"]))
    for what in KINDS:
        for row_id in _unsealed(connection, what):
            whose, about = _about(connection, what, row_id)
            if plank_id in (None, whose):
                troubles.append(f"{about} was put in by something other than fitcheck: it has no seal")
    return troubles


def content(connection: sqlite3.Connection, what: str, row_id: int) -> dict[str, str] | None:
    """The digest of every column of an event and of the rows that belong to it; None where there is no such row."""
    kind = KINDS[what]
    row = connection.execute(f"SELECT * FROM {kind.table} WHERE {kind.key} = ?", (row_id,)).fetchone()
    if row is None or (kind.only and row[kind.only[0]] is None):
        return None
    held: dict[str, Any] = {
        column: row[column]
        for column in row.keys()  # noqa: SIM118
        if column in (kind.only or (column,)) and column not in (kind.key, *kind.without)
    }
    for name, query in kind.more.items():
        cursor = connection.execute(query, (row_id,))
        columns = [described[0] for described in cursor.description]
        held |= {f"{name}.{column}": values for column, values in zip(columns, zip(*cursor, strict=True), strict=False)}
    return {name: _digest(value) for name, value in held.items() if not _is_null(value)}


def _seal(connection: sqlite3.Connection, what: str, row_id: int, late: bool) -> None:
    stands = _text(content(connection, what, row_id) or {})
    newest = connection.execute(
        "SELECT content FROM seals WHERE what = ? AND row_id = ? ORDER BY id DESC LIMIT 1", (what, row_id)
    ).fetchone()
    if newest is not None and newest["content"] == stands:
        return
    plank_id, about = _about(connection, what, row_id)
    last = connection.execute("SELECT id, digest FROM seals ORDER BY id DESC LIMIT 1").fetchone()
    row = {"id": last["id"] + 1 if last else 1, "made_at": now(), "what": what, "row_id": row_id}
    row |= {"plank_id": plank_id, "about": about, "late": int(late), "content": stands}
    row["digest"] = _chained(last["digest"] if last else START, row)
    columns, marks = ", ".join(row), ", ".join(f":{column}" for column in row)
    connection.execute(f"INSERT INTO seals ({columns}) VALUES ({marks})", row)


def _chained(before: str, row: dict[str, Any]) -> str:
    return hashlib.sha256((before + _text({key: row[key] for key in row if key != "digest"})).encode()).hexdigest()


def _broken(connection: sqlite3.Connection, plank_id: int | None) -> Iterator[str]:
    """The seals that do not follow on the one before, and those that are gone."""
    rows = connection.execute(
        "SELECT s.*, b.digest AS before FROM seals s LEFT JOIN seals b ON b.id = s.id - 1"
        " WHERE :plank IS NULL OR s.plank_id = :plank ORDER BY s.id",
        {"plank": plank_id},
    )
    for row in rows:
        sealed = dict(row)
        before = sealed.pop("before") or (START if row["id"] == 1 else None)
        if before is None:
            yield f"the seal before that of {row['about']} ({plain_date(row['made_at'])}) is gone"
        elif _chained(before, sealed) != row["digest"]:
            yield f"the seal of {row['about']} ({plain_date(row['made_at'])}), or the one before it, was altered"
    last = connection.execute("SELECT coalesce(max(id), 0) FROM seals").fetchone()[0]
    given = connection.execute("SELECT coalesce(max(seq), 0) FROM sqlite_sequence WHERE name = 'seals'").fetchone()[0]
    if given != last:
        yield f"the last seals are gone: {given} were given, and the last one there is number {last}"


def _altered(row: sqlite3.Row, stands: dict[str, str] | None) -> list[str]:
    """How an event differs from what its newest seal says, in no line or one."""
    sealed = json.loads(row["content"])
    if stands is None:
        gone = f"{row['about']} is gone; it was on record on {plain_date(row['made_at'])}"
        return [gone] if sealed else []
    differing = sorted(key for key in sealed.keys() | stands.keys() if sealed.get(key) != stands.get(key))
    return [altered(row["about"], row["made_at"], differing)] if differing else []


def _fit_of(connection: sqlite3.Connection, what: str, row_id: int) -> int | None:
    """The fit an event belongs to, None where it belongs to none or is gone."""
    kind = KINDS[what]
    row = connection.execute(f"SELECT * FROM {kind.table} WHERE {kind.key} = ?", (row_id,)).fetchone()
    if row is None or kind.table == "fits":
        return None if row is None else row_id
    return dict(row).get("fit_id")


def _newest(connection: sqlite3.Connection, plank_id: int | None) -> list[sqlite3.Row]:
    # With one max(), SQLite takes the other columns from the row that holds it.
    return connection.execute(
        "SELECT max(id) AS id, what, row_id, about, made_at, content FROM seals"
        " WHERE :plank IS NULL OR plank_id = :plank GROUP BY what, row_id ORDER BY id",
        {"plank": plank_id},
    ).fetchall()


def _unsealed(connection: sqlite3.Connection, what: str) -> list[int]:
    query = f"{KINDS[what].every()} EXCEPT SELECT row_id FROM seals WHERE what = ? ORDER BY 1"
    return [row["id"] for row in connection.execute(query, (what,)).fetchall()]


def _about(connection: sqlite3.Connection, what: str, row_id: int) -> tuple[int | None, str]:
    """The plank an event speaks of, None where it speaks of none, and the event in words."""
    kind = KINDS[what]
    row = connection.execute(f"SELECT * FROM {kind.table} WHERE {kind.key} = ?", (row_id,)).fetchone()
    told = dict(row) if row is not None else {}
    fit_id = row_id if kind.table == "fits" else told.get("fit_id")
    fit = connection.execute("SELECT plank_id, number FROM fits WHERE id = ?", (fit_id,)).fetchone()
    plank_id = told.get("plank_id") or (fit["plank_id"] if fit else None)
    plank = connection.execute("SELECT strake, side, part FROM planks WHERE id = ?", (plank_id,)).fetchone()
    words = f"{kind.words} {fit['number']}" if kind.table == "fits" and fit else kind.words
    if fit and kind.table != "fits":
        words += f" of fit {fit['number']}"
    return plank_id, words + (f" of {' '.join(str(part) for part in plank if part != '')}" if plank else "")


def _is_null(value: Any) -> bool:
    return value is None or (isinstance(value, tuple) and all(one is None for one in value))


def _digest(value: Any) -> str:
    return hashlib.sha256(_text(value).encode()).hexdigest()[:32]


def _text(value: Any) -> str:
    """Canonical JSON: keys sorted, no spaces, floats by their shortest repr."""
    return json.dumps(value, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
