"""Edge-on photographs and seams measured as a request asks: answers with their advice, their JSON and their reports."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.answering.folders import folders_of
from fitcheck.answering.read_places import earlier_of
from fitcheck.answering.request import MeasurementRequest, Progress
from fitcheck.ground.files import need_file
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.reference.kinds import reference_kind

if TYPE_CHECKING:
    from fitcheck.calibration.camera import Camera
    from fitcheck.contract.gap_measurement import GapMeasurement
    from fitcheck.contract.settings import Settings
    from fitcheck.picture.photo import Photo


@dataclass(frozen=True, kw_only=True, eq=False)
class GapAnswer:
    """A measurement with its advice, and what its report shows.

    ``photos`` are the photographs to be shown, each with what it alone says; ``read`` are all that could be read, as
    they were measured.
    """

    measurement: GapMeasurement
    photos: tuple[tuple[Photo, GapMeasurement], ...] = ()
    read: tuple[Photo, ...] = ()


def gap_request(request: MeasurementRequest, progress: Progress | None = None) -> tuple[GapAnswer, ...]:
    """Measure gap and step in the request's edge-on photographs: one answer each, or one for each part of a plank.

    An answer is false (``answer.measurement``), with its reasons, where nothing could be measured. ``progress`` is
    called with the share of the work done. Nothing is written and nothing goes on record:
    :func:`fitcheck.answering.on_record.record_answers` and :func:`write_gap_answers` do that. Raises
    :class:`~fitcheck.ground.refusal.WrongCall` for a missing photograph, an unusable camera file, a place pointed at
    that lies outside its photograph, or a seam without a card or rule beside it.
    """
    from fitcheck.calibration.camera import load_camera

    kind = reference_kind(request.settings.reference, edge_on=True)
    for path in request.photos:
        need_file(path)
    if request.seam and kind.find is None:
        raise WrongCall("--seam needs --reference: a card or rule on the wood beside the seam")
    camera = load_camera(request.camera)
    if kind.joins:
        return _measure_plank(request, camera, progress)
    found = []
    for number, path in enumerate(request.photos, start=1):
        found.append(_measure_one(path, camera, request.settings, seam=request.seam))
        if progress is not None:
            progress(number / len(request.photos))
    return tuple(found)


def write_gap_answers(answers: Sequence[GapAnswer], request: MeasurementRequest) -> list[Path]:
    """Write the report of each answer into the request's folder, in numbered ones for several; the files' paths."""
    from fitcheck.report.gap.gap_write import write_gap_report

    folders = folders_of(request.output.folder, len(answers))
    return [
        path
        for one, folder in zip(answers, folders, strict=False)
        for path in write_gap_report(one.measurement, one.photos, folder)
    ]


def joined_gap_json(measurements: Sequence[GapMeasurement]) -> dict[str, Any]:
    """The JSON of one photograph, or of several one after another under "measurements", the first measured on top."""
    every = [one.as_json() for one in measurements]
    if len(every) == 1:
        return every[0]
    if all("parts" in one for one in every):
        return _parts_joined(every)
    best = next((one for one in every if one["state"] == "measured"), every[0])
    photos = [{**photo, "state": one["state"], "reasons": one["reasons"]} for one in every for photo in one["photos"]]
    reasons = [reason for one in every for reason in one["reasons"]]
    return {**best, "photos": photos, "reasons": reasons, "measurements": every}


def _parts_joined(every: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """A plank in parts: each place with the part it is of and the card it counts from, each part whole in itself."""

    def joined(key: str) -> list[dict[str, Any]]:
        return [
            {**one, "part": part["parts"][0]["part"], "from_card": part["parts"][0]["from_card"]}
            for part in every
            for one in part[key]
        ]

    return {
        **every[0],
        "reference": {**every[0]["reference"], "from_card": None},
        **{key: joined(key) for key in ("samples", "stations", "unseen")},
        "bevel": None,
        "gains": [],
        "parts": [{**part["parts"][0], "bevel": part["bevel"], "gains": part["gains"]} for part in every],
        "measurements": list(every),
    }


def _measure_one(path: Path, camera: Camera, settings: Settings, *, seam: bool) -> GapAnswer:
    from fitcheck.contract.hints import need_inside
    from fitcheck.one_photo.open_lap import gap_refusal, measure_gap_loaded
    from fitcheck.one_photo.seam import measure_seam_loaded
    from fitcheck.picture.photo import load_photo

    try:
        photo = load_photo(path, size_px=camera.size_px)
    except Refused as refused:
        return GapAnswer(measurement=gap_refusal(refused.reason, settings, camera, ({"name": path.name},)))
    need_inside(photo, settings.hints)
    measurement = (measure_seam_loaded if seam else measure_gap_loaded)(photo, camera, settings)
    return GapAnswer(measurement=measurement, photos=((photo, measurement),), read=(photo,))


def _measure_plank(request: MeasurementRequest, camera: Camera, progress: Progress | None) -> tuple[GapAnswer, ...]:
    """One plank from its edge-on photographs with station cards in them, an answer for each of its parts."""
    from fitcheck.plank.plank_gaps import measure_gaps_along_plank

    found = measure_gaps_along_plank(
        request.photos,
        camera,
        request.settings,
        stations=request.known_mm,
        earlier=earlier_of(request.hull, request.settings),
        progress=progress,
    )
    return tuple(
        GapAnswer(
            measurement=one.measurement,
            photos=tuple((view.photo, part) for view, part in one.parts if view.photo is not None),
            read=one.photos,
        )
        for one in found
    )
