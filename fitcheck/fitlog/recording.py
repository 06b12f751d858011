"""A measurement put on record: one call, one transaction, and the fit it belongs to."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.fitlog import rows
from fitcheck.fitlog.backup import copy_now_and_then
from fitcheck.fitlog.chain import seal
from fitcheck.fitlog.ends import need_lap_on_strake
from fitcheck.fitlog.judged_by import Terms, terms_of
from fitcheck.fitlog.left_over import clear_left_over
from fitcheck.fitlog.likeness import need_sure_name
from fitcheck.fitlog.lock import at_work
from fitcheck.fitlog.photos import Given, Photograph, need_measured, put_in_place, take_in
from fitcheck.fitlog.recorded_input import Take, read_take
from fitcheck.fitlog.store import writing
from fitcheck.fitlog.summary import refresh
from fitcheck.fitlog.told import as_text
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName, read_plank

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


@dataclass(frozen=True)
class Recorded:
    """What became of a recording. ``new`` is False where these photographs, so measured, were on record already."""

    fit_id: int
    plank: PlankName
    number: int
    new: bool
    warnings: tuple[str, ...] = ()

    def __str__(self) -> str:
        said = "recorded as" if self.new else "on record already as"
        return f"{said} fit {self.number} of {self.plank}"


def record(
    measurement_json: Mapping[str, Any],
    *,
    db_path: str | os.PathLike[str],
    plank: str | PlankName,
    photos: Iterable[Given] = (),
    hull: Hull | None = None,
    note: str = "",
    who: str | None = None,
    moisture_pct: float | None = None,
    temperature_c: float | None = None,
    clamps: str | None = None,
    at_mm: float | None = None,
    same_fit: bool | None = None,
    keep: str | None = None,
) -> Recorded:
    """Record a measurement (the JSON of ``measure`` or ``gap``) of ``plank``, with its photographs, as a dry fit.

    It becomes a new fit; or joins the latest fit of the plank where ``same_fit`` says that nothing but clamps and
    camera moved (None: edge-on views join the latest fit unless a cut was reported after it, others begin a new one).
    Photographs that are on record already bring their measurement into their own fit, and measured anew supersede it.
    ``at_mm`` tells where along the plank the reference's centre lay, where no station cards do. ``clamps`` is "tight"
    or "eased"; ``keep`` "copy" or "leave" (the hull's setting, else "copy"). A checked copy of the record is made now
    and then.

    Once this returns, the fit is kept whatever happens to the program. Raises :class:`WrongCall` for what cannot be
    recorded, or not written: then nothing is, and what was there stays; and for a photograph that is not the one that
    was measured, by the digests the measurement tells. A copy that fails is a warning.
    """
    db_path = Path(db_path)
    name = read_plank(str(plank), hull)
    given = rows.Circumstances(
        who=as_text(who),
        note=as_text(note) or "",
        moisture_pct=moisture_pct,
        temperature_c=temperature_c,
        clamps=clamps,
    )
    check_told(moisture_pct, temperature_c, clamps)
    take = read_take(measurement_json, at_mm=at_mm, along_sign=along_sign(name.side, hull))
    beyond = need_lap_on_strake(name, hull, take) if take.frame == "plank" else ""
    terms = terms_of(name, hull, take.document.get("settings"))
    keep = keep or (hull.photos if hull else "copy")
    clear_left_over(db_path)
    with at_work(db_path):
        photographs = take_in(photos, db_path, keep=keep)
        need_measured(photographs, take.document.get("photos"))
        with writing(db_path) as connection:
            need_sure_name(connection, name, hull)
            plank_id = rows.plank_row(connection, name, hull.name if hull else None)
            recorded = _put(connection, plank_id, name, take, photographs, given, same_fit, terms)
        recorded = replace(recorded, warnings=(beyond,) if beyond else ())
        recorded = _warned(recorded, "a photograph has no place in the store yet", put_in_place, photographs, db_path)
    if keep == "copy":
        left = [
            f"{one.name} is left where it is: what it tells of people and places cannot be taken out"
            for one in photographs
            if not one.stored
        ]
        recorded = replace(recorded, warnings=(*recorded.warnings, *left))
    if not recorded.new:
        return recorded
    return _warned(recorded, "the backup was not made", copy_now_and_then, db_path)


def along_sign(side: str, hull: Hull | None) -> int:
    """Whether places along the plank rise (1) or fall (-1) to the right, as one faces the hull's outside, keel down.

    Facing the port side the bow is on the left, facing the starboard side on the right; cards are numbered from the
    bow unless the settings say otherwise.
    """
    from_bow = hull is None or hull.stations.end_of(side) == "bow"
    return 1 if (side == "port") == from_bow else -1


def _put(
    connection: sqlite3.Connection,
    plank_id: int,
    name: PlankName,
    take: Take,
    photographs: Sequence[Photograph],
    given: rows.Circumstances,
    same_fit: bool | None,
    terms: Terms,
) -> Recorded:
    fit_id = _fit_of_photographs(connection, plank_id, photographs)
    if fit_id is not None and _is_there(connection, fit_id, take, photographs):
        rows.renew_places(connection, photographs)
        return Recorded(fit_id, name, rows.number(connection, fit_id), False)
    if fit_id is None and _joins(connection, plank_id, take.kind, same_fit):
        fit_id = rows.latest(connection, plank_id)
    if fit_id is None:
        fit_id = rows.new_fit(connection, plank_id, given)
    else:
        rows.tell_more(connection, fit_id, given)
    take_id = rows.put_take(connection, fit_id, take, given.who, terms.key())
    rows.put_photographs(connection, take_id, photographs)
    rows.supersede(connection, fit_id, take_id, take.kind)
    refresh(connection, fit_id, terms)
    seal(connection, what="fit", row_id=fit_id)
    seal(connection, what="set", row_id=take_id)
    return Recorded(fit_id, name, rows.number(connection, fit_id), True)


def _fit_of_photographs(connection: sqlite3.Connection, plank_id: int, photographs: Sequence[Photograph]) -> int | None:
    """The fit these photographs belong to by what is on record of them, None where nothing is."""
    found: dict[int, str] = {}
    for photograph in photographs:
        known = connection.execute(
            "SELECT f.id, f.number, f.plank_id, p.strake, p.side, p.part FROM take_photographs tp"
            " JOIN takes t ON t.id = tp.take_id JOIN standing_fits f ON f.id = t.fit_id"
            " JOIN planks p ON p.id = f.plank_id"
            " WHERE tp.photograph = ? AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.take_id = t.id)",
            (photograph.digest,),
        )
        for row in known:
            whose = PlankName(row["strake"], row["side"], row["part"])
            if row["plank_id"] != plank_id:
                raise WrongCall(
                    f"{photograph.name} is on record as fit {row['number']} of {whose}: a photograph shows one plank"
                )
            found[row["id"]] = photograph.name
    if len(found) > 1:
        names = " and ".join(sorted(found.values()))
        raise WrongCall(f"{names} are on record in different fits of this plank: record them apart")
    return next(iter(found), None)


def _is_there(connection: sqlite3.Connection, fit_id: int, take: Take, photographs: Sequence[Photograph]) -> bool:
    digests = {photograph.digest for photograph in photographs}
    takes = connection.execute(
        "SELECT id FROM takes t WHERE fit_id = ? AND digest = ?"
        " AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.take_id = t.id)",
        (fit_id, take.digest),
    )
    return any(rows.digests(connection, row["id"]) == digests for row in takes.fetchall())


def _joins(connection: sqlite3.Connection, plank_id: int, kind: str, same_fit: bool | None) -> bool:
    latest = rows.latest(connection, plank_id)
    if same_fit and latest is None:
        raise WrongCall("no fit of this plank is on record that these photographs could join")
    planed = latest is not None and rows.planed(connection, latest)
    if same_fit and planed:
        raise WrongCall("the plank was planed after its latest fit: these photographs show a new fit")
    if same_fit is None:
        return kind == "gap" and latest is not None and not planed
    return same_fit


def _warned(recorded: Recorded, what: str, work: Callable[..., object], *told: Any) -> Recorded:
    """Do what comes after the recording; where it fails, the recording stays, and carries a warning."""
    try:
        work(*told)
    except WrongCall as error:
        return replace(recorded, warnings=(*recorded.warnings, f"recorded, but {what}: {error}"))
    return recorded


def check_told(moisture_pct: float | None, temperature_c: float | None, clamps: str | None) -> None:
    """Raise :class:`WrongCall` for a moisture, a temperature or a state of the clamps that cannot be."""
    if moisture_pct is not None and not 0 <= moisture_pct <= 200:
        raise WrongCall(f"a moisture content lies between 0 and 200 %, not at {moisture_pct}")
    if temperature_c is not None and not -50 <= temperature_c <= 70:
        raise WrongCall(f"a temperature lies between -50 and 70 °C, not at {temperature_c}")
    if clamps not in (None, "tight", "eased"):
        raise WrongCall(f"clamps are 'tight' or 'eased', not {clamps!r}")
