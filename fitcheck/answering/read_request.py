"""A request read from what is given as text, the hull's settings and the program's own."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.answering.given import Given, GivenMove
from fitcheck.answering.on_record import need_record
from fitcheck.answering.read_gains import need_ends, with_gains
from fitcheck.answering.read_places import known_places, place_at, with_tape
from fitcheck.answering.read_planing import read_planing
from fitcheck.answering.read_settings import read_settings
from fitcheck.answering.request import ForRecord, MeasurementRequest, Output
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


def read_request(
    photos: Sequence[Path],
    given: Given,
    *,
    camera: Path | None = None,
    hull: Hull | None = None,
    move: GivenMove | None = None,
    record: ForRecord | None = None,
    output: Output | None = None,
) -> MeasurementRequest:
    """The request to measure square-on photographs of a clamped plank; what is not given is the hull's.

    Raises :class:`WrongCall` for what is missing or cannot be, before anything is measured.
    """
    need_ends(given)
    record = record or ForRecord()
    need_record(record, given.plank, hull)
    settings = _settings(given, hull, edge_on=False)
    return MeasurementRequest(
        photos=tuple(photos),
        settings=settings,
        planing=read_planing(move or GivenMove(), hull, given.plank),
        camera=_camera(camera, hull),
        hull=hull,
        known_mm=known_places(given.stations, settings.reference, hull),
        record=record,
        output=output or Output(),
    )


def read_gap_request(
    photos: Sequence[Path],
    given: Given,
    *,
    camera: Path | None = None,
    hull: Hull | None = None,
    seam: bool = False,
    record: ForRecord | None = None,
    output: Output | None = None,
) -> MeasurementRequest:
    """The request to measure edge-on photographs of a lap, or with ``seam`` a seam seen face-on, which goes not on
    record; otherwise as :func:`read_request`."""
    record = record or ForRecord()
    need_record(record, given.plank, hull, seam=seam)
    settings = _settings(given, hull, edge_on=True)
    return MeasurementRequest(
        photos=tuple(photos),
        settings=settings,
        camera=_camera(camera, hull),
        hull=hull,
        known_mm=known_places(given.stations, settings.reference, hull),
        record=record,
        output=output or Output(),
        seam=seam,
    )


def _settings(given: Given, hull: Hull | None, *, edge_on: bool) -> Settings:
    at_mm = place_at(given.at, given.plank, hull)
    settings = with_gains(read_settings(given, hull, edge_on=edge_on), given, at_mm, hull)
    return with_tape(settings, given.plank, at_mm, hull)


def _camera(camera: Path | None, hull: Hull | None) -> Path:
    path = camera if camera is not None or hull is None else hull.camera_path
    if path is None:
        raise WrongCall("--camera is needed: the file that fitcheck calibrate wrote")
    return path
