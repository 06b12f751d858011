"""Put right by a finger: the same photograph measured again with what was pointed at, and that taken back."""

from __future__ import annotations

import json
import math
import sqlite3
from typing import Any

from starlette.responses import Response

from fitcheck.ground.refusal import WrongCall
from fitcheck.page import jobs
from fitcheck.page.asked import Ask, then
from fitcheck.page.carried import carry

#: No one points at more places along one lap.
MOST_PLACES = 40
WHY = "what was pointed out by hand was taken back at the page"


def again(ask: Ask) -> Response:
    """Measure one photograph of a job again, with the places that were pointed at; it becomes a job of its own."""
    before = jobs.job(ask.shop.db_path, int(ask.at["job"]))
    if before.kind == "camera" or before.state not in jobs.ENDED:
        raise WrongCall("these photographs are not measured yet")
    name = ask.told.get("photo", "")
    if name not in before.photos:
        raise WrongCall("that photograph is not among those of this answer")
    # The note is on record with the first measuring.
    told = {
        **before.told,
        "note": "",
        **_pointed(ask),
        "same_fit": bool(before.fit) or before.told.get("same_fit", False),
    }
    made = jobs.open_job(
        ask.shop.db_path, plank=before.plank, kind=before.kind, who=ask.who, told=told, again_of=before.id
    )
    carry(ask.shop, before, made, [name])
    jobs.send(ask.shop.db_path, made)
    if ask.line is not None:
        ask.line.wake()
    return then(f"/job/{made}")


def undo(ask: Ask) -> Response:
    """Take back what a job put on record with the help of a finger: what was measured before it counts again."""
    from fitcheck.fitlog import withdraw
    from fitcheck.hull.plank_name import read_plank

    hull = ask.shop.hull()
    job = jobs.job(ask.shop.db_path, int(ask.at["job"]))
    if not job.told.get("pointed") or job.again_of is None:
        raise WrongCall("nothing was pointed out by hand in these photographs")
    if job.fit is not None:
        plank = read_plank(job.plank, hull)
        number, count = _set_of(ask, job)
        told = {"who": ask.named(), "why": WHY}
        if count > 1:
            withdraw.withdraw_set(hull.db_path, plank, hull, number=job.fit, set_number=number, **told)
        else:
            withdraw.withdraw_fit(hull.db_path, plank, number=job.fit, **told)
    return then(f"/job/{job.again_of}")


def _pointed(ask: Ask) -> dict[str, Any]:
    """What is told anew: places on edge and line, or how the hull lies."""
    keel = ask.told.get("keel", "")
    if keel not in ("", "down", "up"):
        raise WrongCall("the keel lies down or up")
    places = {name: _places(ask.told.get(name, "")) for name in ("edge_at", "line_at")}
    if not keel and not any(places.values()):
        raise WrongCall("nothing was pointed at: touch the picture along the edge or the line")
    told: dict[str, Any] = {name: found for name, found in places.items() if found} | {"pointed": any(places.values())}
    return {**told, **({"keel": keel} if keel else {})}


def _places(text: str) -> list[list[float]]:
    """Places "u,v u,v" in pixels. Raises :class:`WrongCall` for what is none, or for too many.

    >>> _places("10,20.5 30,21")
    [[10.0, 20.5], [30.0, 21.0]]
    """
    words = text.split()
    if len(words) > MOST_PLACES:
        raise WrongCall(f"at most {MOST_PLACES} places are pointed at")
    try:
        places = [[float(part) for part in word.split(",")] for word in words]
    except ValueError:
        raise WrongCall("a place is told by two numbers") from None
    if any(len(place) != 2 or not all(map(math.isfinite, place)) for place in places):
        raise WrongCall("a place is told by two numbers")
    return places


def _set_of(ask: Ask, job: jobs.Job) -> tuple[int, int]:
    """Which set of its fit a job put on record, and how many sets of that fit stand.

    It is the one of these photographs that was measured with just these places. Raises :class:`WrongCall` where it does
    not stand any more.
    """
    from fitcheck.fitlog import queries
    from fitcheck.fitlog.store import reading
    from fitcheck.hull.plank_name import read_plank

    digests = {jobs.digest_of(ask.shop.db_path, job.id, name) for name in job.photos}
    plank = read_plank(job.plank, ask.shop.hull())
    with reading(ask.shop.db_path) as connection:
        fit = queries.fit(connection, plank, job.fit, withdrawn=True)
        gone = {row["take_id"] for row in connection.execute("SELECT take_id FROM withdrawals")}
        sets = connection.execute("SELECT id, settings FROM takes WHERE fit_id = ? ORDER BY id", (fit.id,)).fetchall()
        standing = [row for row in sets if row["id"] not in gone and fit.withdrawn is None]
        own = [row for row in standing if _pointed_so(row, job) and _photographs(connection, row["id"]) == digests]
    if not own:
        raise WrongCall("that is taken back already")
    return [row["id"] for row in sets].index(own[-1]["id"]) + 1, len(standing)


def _pointed_so(row: sqlite3.Row, job: jobs.Job) -> bool:
    """Whether a set was measured with the places that a job tells."""
    settings = json.loads(row["settings"])
    return all(settings.get(f"{name}_px", []) == job.told.get(name, []) for name in ("edge_at", "line_at"))


def _photographs(connection: sqlite3.Connection, take_id: int) -> set[str]:
    rows = connection.execute("SELECT photograph FROM take_photographs WHERE take_id = ?", (take_id,))
    return {row["photograph"] for row in rows}
