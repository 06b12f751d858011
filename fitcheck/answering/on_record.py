"""Answers put on record, with what was given for it; asked about before anything is measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.answering.request import ForRecord, MeasurementRequest
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.contract.gap_measurement import GapMeasurement
    from fitcheck.contract.measurement import Measurement
    from fitcheck.fitlog.recording import Recorded
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull
    from fitcheck.picture.photo import Photo

OF_A_PLANK = 'is for the record: name the plank too, as --plank "4 port"'


@dataclass(frozen=True)
class Kept:
    """What became of recording: what went on record, what is to be noted, and what kept the rest from it."""

    recorded: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    trouble: WrongCall | None = None


def record_answers(
    measurements: Sequence[Measurement | GapMeasurement],
    read: Sequence[Photo],
    request: MeasurementRequest,
    on_record: Callable[[Recorded], None] = lambda _: None,
) -> Kept:
    """Record every measurement that succeeded as a fit of the request's plank, where there is one and it is wanted.

    ``read`` are the photographs as they were read and measured, so that these and no later ones are kept;
    ``on_record`` is called as soon as each fit is safely there. Raises nothing of its own: the answer was worked for
    and is still to be shown, so what went wrong comes back with it.
    """
    plank, hull, more = request.settings.plank, request.hull, request.record
    if plank is None or more.wanted is False or hull is None or request.seam:
        return Kept()
    from fitcheck.fitlog.recording import record

    same_fit = more.same_fit or None
    said: list[str] = []
    notes: list[str] = []
    for measurement, own in _with_photos(measurements, _as_read(request.photos, read)):
        if not measurement:
            continue
        try:
            recorded = record(
                measurement.as_json(),
                db_path=hull.db_path,
                plank=plank,
                photos=own,
                hull=hull,
                note=more.note,
                who=more.who,
                moisture_pct=more.moisture_pct,
                temperature_c=more.temperature_c,
                clamps=more.clamps,
                at_mm=request.settings.at_mm,
                same_fit=same_fit,
            )
        except WrongCall as trouble:
            return Kept(tuple(said), tuple(notes), trouble)
        on_record(recorded)
        said.append(str(recorded))
        notes += [f"Note: {warning}" for warning in recorded.warnings]
        # The photographs of one call are of one clamping.
        same_fit = True
    return Kept(tuple(said), tuple(notes))


def _as_read(paths: Sequence[Path], read: Sequence[Photo]) -> list[Path | Photo]:
    """Each photograph as it was read and measured, or by its path where it could not be read."""
    loaded = {photo.path: photo for photo in read}
    return [loaded.get(path, path) for path in paths]


def _with_photos(
    measurements: Sequence[Measurement | GapMeasurement], photos: Sequence[Path | Photo]
) -> list[tuple[Measurement | GapMeasurement, Sequence[Path | Photo]]]:
    """Every answer to be recorded by itself, with its own photographs: a plank in parts is recorded part by part."""
    parts = [part for one in measurements for part in getattr(one, "parts", ()) or (one,)]
    if len(parts) > 1 and all(part.part is not None for part in parts):
        # What is of no part, as it could not be used, stays with the first.
        return [
            (one, [path for path, photo in zip(photos, one.photos, strict=True) if (photo["part"] or 1) == number])
            for number, one in enumerate(parts, start=1)
        ]
    if len(parts) == len(photos):
        return [(one, [path]) for one, path in zip(parts, photos, strict=True)]
    return [(one, photos) for one in parts]


def need_record(record: ForRecord, plank: str | None, hull: Hull | None, *, seam: bool = False) -> None:
    """Raise :class:`WrongCall` where what is given for the record could not go there, before anything is measured."""
    if record.wanted is False:
        return
    if seam and (plank is not None or record.wanted):
        raise WrongCall("a seam seen face-on does not go on record: leave out --plank, or say --no-record")
    if plank is None:
        _need_plank(record)
        return
    if hull is None:
        raise WrongCall(
            "--plank names a plank of a hull, and there is no fitcheck.toml here or in a folder above to record it in: "
            "go to the hull's folder, write one with fitcheck new, or say --no-record"
        )
    from fitcheck.fitlog.recording import check_told
    from fitcheck.hull.plank_name import read_plank

    check_told(record.moisture_pct, record.temperature_c, record.clamps)
    _need_sure_name(read_plank(plank, hull), hull)


def _need_plank(record: ForRecord) -> None:
    if record.wanted:
        raise WrongCall('--record needs the plank: name it, as --plank "4 port"')
    given = {
        "--same-fit": record.same_fit or None,
        "--who": record.who,
        "--note": record.note or None,
        "--moisture": record.moisture_pct,
        "--temperature": record.temperature_c,
        "--clamps": record.clamps or None,
    }
    for option, value in given.items():
        if value not in (None, ""):
            raise WrongCall(f"{option} {OF_A_PLANK}")


def _need_sure_name(name: PlankName, hull: Hull) -> None:
    from fitcheck.fitlog.connection import Damaged
    from fitcheck.fitlog.likeness import need_sure_name
    from fitcheck.fitlog.store import reading

    if not hull.db_path.exists():
        return
    # A record that cannot be read is told when recording fails: the answer is shown all the same.
    with suppress(Damaged), reading(hull.db_path) as connection:
        need_sure_name(connection, name, hull)
