"""Measured fits put on record before anything is printed, so that no trouble with the output can lose one."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.hull import Hull
    from fitcheck.lap.gap_measurement import GapMeasurement
    from fitcheck.measurement import Measurement


@dataclass(frozen=True)
class Kept:
    """What became of recording: what went on record, what is to be noted, and what kept the rest from it."""

    recorded: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    trouble: WrongCall | None = None


def record_fits(
    measurements: Sequence[Measurement | GapMeasurement],
    photos: Sequence[Path],
    hull: Hull | None,
    told: Mapping[str, Any],
) -> Kept:
    """Record every measurement that succeeded as a fit of the plank told, where one is told and is to be recorded.

    Raises nothing: the answer was worked for and is still to be shown, so what went wrong is told after it.
    """
    if told["plank"] is None or not told["record"] or hull is None:
        return Kept()
    from fitcheck.fitlog.recording import record

    one_each = len(measurements) == len(photos)
    same_fit = told["same_fit"] or None
    said: list[str] = []
    notes: list[str] = []
    for measurement, photo in zip(measurements, photos if one_each else [None] * len(measurements), strict=True):
        if not measurement:
            continue
        try:
            recorded = record(
                measurement.as_json(),
                db_path=hull.db_path,
                plank=told["plank"],
                photos=photos if photo is None else [photo],
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
        said.append(str(recorded))
        notes += [f"Note: {warning}" for warning in recorded.warnings]
        # The photographs of one call are of one clamping.
        same_fit = True
    return Kept(tuple(said), tuple(notes))


@contextmanager
def then_shown(kept: Kept) -> Iterator[None]:
    """The block shows and writes the answer; then it is said what is on record, whatever became of the output.

    Raises :class:`WrongCall` where the output failed, saying what is on record all the same, and where recording did.
    """
    try:
        yield
        sys.stdout.flush()
    except (WrongCall, OSError) as error:
        if isinstance(error, OSError):
            _drop_stdout()
        if kept.trouble is not None:
            raise WrongCall(f"{kept.trouble}; and the answer was not written: {_reason(error)}") from error
        if not kept.recorded:
            raise
        said = f"{'; '.join(dict.fromkeys(kept.recorded))}; nothing on record is lost"
        raise WrongCall(f"{said}, but the answer was not written: {_reason(error)}") from error
    except BaseException as error:
        _say(kept)
        if isinstance(error, KeyboardInterrupt) and kept.recorded:
            # What stops the program elsewhere says that nothing was written.
            print("fitcheck: stopped while the answer was written; what is on record stays", file=sys.stderr)
            raise SystemExit(130) from error
        raise
    _say(kept)
    if kept.trouble is not None:
        raise kept.trouble


def _say(kept: Kept) -> None:
    with suppress(OSError):
        for line in [*kept.recorded, *kept.notes]:
            print(line, file=sys.stderr)


def _reason(error: Exception) -> str:
    if isinstance(error, BrokenPipeError):
        return "what reads the output went away"
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)


def _drop_stdout() -> None:
    """What is left to print goes nowhere: written out at the program's end it would fail a second time."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
