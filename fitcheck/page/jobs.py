"""Jobs: photographs sent to be measured, in a table of the record, so that a restart or a crash loses none of them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitcheck.fitlog.clock import now
from fitcheck.fitlog.store import is_begun, reading, writing
from fitcheck.ground.refusal import WrongCall

#: A job waits or is worked on; then it has ended.
IN_HAND = ("waiting", "measuring", "recording")
ENDED = ("measured", "refused", "failed", "cancelled")
MOST_IN_HAND = 200
#: No hull has so many jobs.
MOST_JOBS = 1_000_000_000
#: A job at which the measuring process ended so often is not tried again.
MOST_CRASHES = 2
CRASHED = "the program that measured these photographs ended twice before it was done: send other photographs"


@dataclass(frozen=True)
class Job:
    """One job; ``told`` is what was told with the photographs, ``photos`` are files in the job's folder."""

    id: int
    made_at: str
    who: str | None
    plank: str
    kind: str
    told: Mapping[str, Any]
    photos: tuple[str, ...]
    state: str
    crashes: int
    said: str
    fit: int | None
    again_of: int | None


def open_job(
    db_path: Path, *, plank: str, kind: str, who: str | None, told: Mapping[str, Any], again_of: int | None = None
) -> int:
    """A new job, to which photographs may be added until it is sent.

    Raises :class:`WrongCall` where too many are in hand, or where the record cannot be written.
    """
    with writing(db_path) as connection:
        waiting = connection.execute(f"SELECT count(*) FROM jobs WHERE state IN {IN_HAND}").fetchone()[0]
        if waiting >= MOST_IN_HAND:
            raise WrongCall(f"{waiting} sets of photographs are waiting to be measured: let some of them be done first")
        made = connection.execute(
            "INSERT INTO jobs (made_at, changed_at, who, plank, kind, told, again_of) VALUES (?1, ?1, ?, ?, ?, ?, ?)",
            (now(), who or None, plank, kind, json.dumps(told), again_of),
        )
        return int(made.lastrowid or 0)


def add_photo(db_path: Path, job_id: int, *, digest: str, ending: str, part: Path, most: int) -> str:
    """Give the file ``part`` its name and place in the job's folder, and put it into the job; its name is given back.

    The same file sent twice counts once. Raises :class:`WrongCall` where the job takes no more photographs.
    """
    with writing(db_path) as connection:
        row = _need(connection, job_id)
        photos = json.loads(row["photos"])
        for one in photos:
            if one["sha256"] == digest:
                return str(one["name"])
        if row["state"] != "open":
            raise WrongCall("these photographs are sent already: begin anew for others")
        if len(photos) >= most:
            raise WrongCall(f"at most {most} photographs are measured together")
        name = f"photo-{len(photos) + 1}{ending}"
        part.replace(part.with_name(name))
        photos.append({"name": name, "sha256": digest})
        _put(connection, job_id, photos=json.dumps(photos))
        return name


def send(db_path: Path, job_id: int) -> None:
    """Let a job be measured; nothing where it was sent already. Raises :class:`WrongCall` where no photograph came."""
    with writing(db_path) as connection:
        row = _need(connection, job_id)
        if row["state"] != "open":
            return
        if row["photos"] == "[]":
            raise WrongCall("no photograph has come yet")
        _put(connection, job_id, state="waiting")


def take_next(db_path: Path) -> Job | None:
    """The job that waits longest, now measured by whoever took it; None where none waits."""
    if not is_begun(db_path):
        return None
    with writing(db_path) as connection:
        row = connection.execute("SELECT * FROM jobs WHERE state = 'waiting' ORDER BY id LIMIT 1").fetchone()
        if row is None:
            return None
        _put(connection, row["id"], state="measuring")
        return _job(row, state="measuring")


def change(
    db_path: Path, job_id: int, *, to: str, among: Collection[str], said: str = "", fit: int | None = None
) -> bool:
    """Bring a job into the state ``to`` if its state is ``among`` these, and tell whether it was."""
    with writing(db_path) as connection:
        if _need(connection, job_id)["state"] not in among:
            return False
        _put(connection, job_id, state=to, said=said, fit=fit)
        return True


def put_back(db_path: Path, *, job_id: int | None = None) -> None:
    """What was being measured waits again: after a restart, or of one job whose process ended before it did.

    A job in recording may be on record already: then it is found there when it is measured again, and not done twice.
    """
    if not is_begun(db_path):
        return
    with writing(db_path) as connection:
        if job_id is None:
            connection.execute("UPDATE jobs SET state = 'waiting' WHERE state IN ('measuring', 'recording')")
            return
        row = _need(connection, job_id)
        if row["state"] not in ("measuring", "recording"):
            return
        crashes = row["crashes"] + 1
        over = crashes >= MOST_CRASHES
        _put(connection, job_id, crashes=crashes, state="failed" if over else "waiting", said=CRASHED if over else "")


def job(db_path: Path, job_id: int) -> Job:
    """One job. Raises :class:`WrongCall` where there is none of that number."""
    if not is_begun(db_path):
        raise WrongCall(f"there are no photographs of number {job_id}")
    with reading(db_path) as connection:
        return _job(_need(connection, job_id))


def digest_of(db_path: Path, job_id: int, name: str) -> str:
    """The SHA-256 of one of a job's photographs. Raises :class:`WrongCall` where it has none of that name."""
    with reading(db_path) as connection:
        for one in json.loads(_need(connection, job_id)["photos"]):
            if one["name"] == name:
                return str(one["sha256"])
    raise WrongCall(f"there is no {name} among the photographs of number {job_id}")


def jobs_of(db_path: Path, plank: str, *, most: int = 30) -> list[Job]:
    """The latest jobs of a plank that were sent, the latest first."""
    return _found(db_path, "plank = ? AND state NOT IN ('open', 'cancelled')", (plank,), most)


def in_hand(db_path: Path) -> list[Job]:
    """Every job that waits or is worked on, the latest first."""
    return _found(db_path, f"state IN {IN_HAND}", (), MOST_IN_HAND)


def _found(db_path: Path, where: str, told: tuple[Any, ...], most: int) -> list[Job]:
    if not is_begun(db_path):
        return []
    with reading(db_path) as connection:
        rows = connection.execute(f"SELECT * FROM jobs WHERE {where} ORDER BY id DESC LIMIT ?", (*told, most))
        return [_job(row) for row in rows]


def _need(connection: sqlite3.Connection, job_id: int) -> sqlite3.Row:
    # SQLite could not hold a number of twenty digits.
    found = connection.execute("SELECT * FROM jobs WHERE id = ?", (job_id,)) if job_id < MOST_JOBS else None
    row: sqlite3.Row | None = None if found is None else found.fetchone()
    if row is None:
        raise WrongCall(f"there are no photographs of number {job_id}")
    return row


def _put(connection: sqlite3.Connection, job_id: int, **values: Any) -> None:
    columns = ", ".join(f"{name} = :{name}" for name in values)
    connection.execute(
        f"UPDATE jobs SET {columns}, changed_at = :now WHERE id = :id", {**values, "now": now(), "id": job_id}
    )


def _job(row: sqlite3.Row, *, state: str | None = None) -> Job:
    return Job(
        id=row["id"],
        made_at=row["made_at"],
        who=row["who"],
        plank=row["plank"],
        kind=row["kind"],
        told=json.loads(row["told"]),
        photos=tuple(one["name"] for one in json.loads(row["photos"])),
        state=state or row["state"],
        crashes=row["crashes"],
        said=row["said"],
        fit=row["fit"],
        again_of=row["again_of"],
    )
