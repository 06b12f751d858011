"""Measured fits put on record before anything is printed, so that no trouble with the output can lose one."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.cli.trouble import RECORDED
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.contract.gap_measurement import GapMeasurement
    from fitcheck.contract.measurement import Measurement
    from fitcheck.hull.settings_file import Hull
    from fitcheck.picture.photo import Photo


@dataclass(frozen=True)
class Kept:
    """What became of recording: what went on record, what is to be noted, and what kept the rest from it."""

    recorded: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    trouble: WrongCall | None = None


def as_read(paths: Sequence[Path], read: Sequence[Photo]) -> list[Path | Photo]:
    """Each photograph as it was read and measured, or by its path where it could not be read."""
    loaded = {photo.path: photo for photo in read}
    return [loaded.get(path, path) for path in paths]


def record_fits(
    measurements: Sequence[Measurement | GapMeasurement],
    photos: Sequence[Path | Photo],
    hull: Hull | None,
    told: Mapping[str, Any],
) -> Kept:
    """Record every measurement that succeeded as a fit of the plank told, where one is told and is to be recorded.

    Raises nothing: the answer was worked for and is still to be shown, so what went wrong is told after it.
    """
    if told["plank"] is None or told["record"] is False or hull is None:
        return Kept()
    from fitcheck.fitlog.recording import record

    same_fit = told["same_fit"] or None
    said: list[str] = []
    notes: list[str] = []
    for measurement, own in _with_photos(measurements, photos):
        if not measurement:
            continue
        try:
            recorded = record(
                measurement.as_json(),
                db_path=hull.db_path,
                plank=told["plank"],
                photos=own,
                hull=hull,
                note=told["note"],
                who=told["who"],
                moisture_pct=told["moisture"],
                temperature_c=told["temperature"],
                clamps=told["clamps"],
                at_mm=told["at_mm"],
                same_fit=same_fit,
            )
        except WrongCall as trouble:
            return Kept(tuple(said), tuple(notes), trouble)
        RECORDED.append(f"fit {recorded.number} of {recorded.plank}")
        said.append(str(recorded))
        notes += [f"Note: {warning}" for warning in recorded.warnings]
        # The photographs of one call are of one clamping.
        same_fit = True
    return Kept(tuple(said), tuple(notes))


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


@contextmanager
def then_shown(kept: Kept) -> Iterator[None]:
    """The block shows and writes the answer; then it is said what is on record, whatever became of the output.

    What stops the output goes on to the one place that tells trouble, which says what is on record all the same. Raises
    :class:`WrongCall` where recording failed, and says where the output failed too.
    """
    try:
        yield
        sys.stdout.flush()
    except (WrongCall, OSError) as error:
        if kept.trouble is None:
            raise
        raise WrongCall(f"{kept.trouble}; and the answer was not written: {error}") from error
    finally:
        with suppress(OSError):
            for line in [*kept.recorded, *kept.notes]:
                print(line, file=sys.stderr)
    if kept.trouble is not None:
        raise kept.trouble
