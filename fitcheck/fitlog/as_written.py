"""Is the record what was written? Its pages, its chain of seals, its photographs, and the copies beside it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitcheck.fitlog.backup import sha256
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.chain_words import plain_date
from fitcheck.fitlog.connection import Damaged, offer
from fitcheck.fitlog.copies import copies, digest_file
from fitcheck.fitlog.left_over import clear_left_over
from fitcheck.fitlog.photos import not_as_kept
from fitcheck.fitlog.store import last_backup, reading
from fitcheck.hull.plank_name import PlankName


@dataclass(frozen=True)
class Checked:
    """What a check found. ``late`` of the ``seals`` were given on ``late_at``, to what was on record before seals."""

    seals: int
    late: int
    late_at: str | None
    fits: int
    photographs: int
    copies: int
    record_troubles: tuple[str, ...]
    photograph_troubles: tuple[str, ...]
    copy_troubles: tuple[str, ...]
    mend: str

    @property
    def troubles(self) -> tuple[str, ...]:
        """Everything that is not as it was written."""
        return (*self.record_troubles, *self.photograph_troubles, *self.copy_troubles)

    def lines(self) -> list[str]:
        """The check in words."""
        held = (
            f"{_count(self.fits, 'fit')}, {_count(self.seals, 'seal')}, {_count(self.photographs, 'photograph')} in the"
        )
        held += f" store, {_count(self.copies, 'copy', 'copies')} of the record"
        lines = [f"checked: {held}"]
        if self.late and self.late_at:
            lines.append(
                f"{_count(self.late, 'seal')} given on {plain_date(self.late_at)}, when the record was upgraded:"
                " what is older is known as it stood then"
            )
        if not self.troubles:
            return [*lines, "all is as it was written"]
        lines += ["not as it was written:", *(f"  - {trouble}" for trouble in self.troubles)]
        return [*lines, self.mend] if self.record_troubles else lines

    def as_json(self) -> dict[str, Any]:
        """The check as JSON."""
        return {
            "as_written": not self.troubles,
            "seals": self.seals,
            "late_seals": self.late,
            "fits": self.fits,
            "photographs": self.photographs,
            "copies": self.copies,
            "record": list(self.record_troubles),
            "photographs_not_as_kept": list(self.photograph_troubles),
            "copies_changed": list(self.copy_troubles),
        }


def check_record(db_path: Path) -> Checked:
    """Check the whole record, every photograph in its store, and the SHA-256 of every copy beside it.

    Raises :class:`WrongCall` where there is no record, :class:`Damaged` where its pages do not read through.
    """
    clear_left_over(db_path)
    with reading(db_path) as connection:
        _need_whole(connection, db_path)
        late, late_at = connection.execute("SELECT count(*), min(made_at) FROM seals WHERE late = 1").fetchone()
        return Checked(
            seals=_rows(connection, "SELECT count(*) FROM seals"),
            late=late,
            late_at=late_at,
            fits=_rows(connection, "SELECT count(*) FROM fits"),
            photographs=_rows(connection, "SELECT count(*) FROM photographs WHERE stored = 1"),
            copies=len(copies(db_path)),
            record_troubles=tuple(check(connection)),
            photograph_troubles=tuple(not_as_kept(connection, db_path)),
            copy_troubles=tuple(_changed_copies(db_path)),
            mend=_mend(db_path),
        )


def altered_of(
    connection: sqlite3.Connection, name: PlankName | None = None, *, numbers: Iterable[int | None] | None = None
) -> list[str]:
    """What is not as it was written of one plank, or of all; ``numbers`` are the fits whose contents are read.

    None among the numbers is for the latest two. What is not on record is nothing, and told by whoever asks for it.
    """
    if name is None:
        return check(connection, fits=None if numbers is None else ())
    row = connection.execute(
        "SELECT id FROM planks WHERE strake = ? AND side = ? AND part = ?", (name.strake, name.side, name.part)
    ).fetchone()
    if row is None:
        return []
    fits = None if numbers is None else _fits(connection, row["id"], list(numbers))
    return check(connection, plank_id=row["id"], fits=fits)


def _fits(connection: sqlite3.Connection, plank_id: int, numbers: list[int | None]) -> set[int]:
    rows = connection.execute("SELECT id, number FROM fits WHERE plank_id = ? ORDER BY number DESC", (plank_id,))
    found = rows.fetchall()
    wanted = {row["id"] for row in found if row["number"] in numbers}
    return wanted | ({row["id"] for row in found[:2]} if None in numbers else set())


def _need_whole(connection: sqlite3.Connection, db_path: Path) -> None:
    said = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    astray = connection.execute("PRAGMA foreign_key_check").fetchone()
    if said != "ok" or astray is not None:
        why = "rows point at rows that are gone" if said == "ok" else str(said).splitlines()[-1]
        raise Damaged(f"{db_path} is damaged ({why}) and is left as it is. {offer(db_path)}")


def _changed_copies(db_path: Path) -> Iterator[str]:
    for copy in copies(db_path):
        told = digest_file(copy.path)
        if told.exists():
            try:
                if told.read_text(encoding="utf-8", errors="replace").split(" ")[0].strip() != sha256(copy.path):
                    yield f"the copy {copy.path.name} has changed since it was made (its SHA-256 differs)"
            except OSError as error:
                yield f"the copy {copy.path.name} cannot be read: {error.strerror or error}"


def _mend(db_path: Path) -> str:
    if last_backup(db_path) is None:
        return "No copy lies beside the record: restore one of your own, if you have one (fitcheck log restore)."
    return (
        "A copy made before the change brings back what was written; what is there now is kept aside. The last one:"
        f' fitcheck log restore "{last_backup(db_path)}"'
    )


def _rows(connection: sqlite3.Connection, query: str) -> int:
    return int(connection.execute(query).fetchone()[0])


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
