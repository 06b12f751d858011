"""Square-on photographs measured as a request asks: answers with their advice, their JSON and their reports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.answering.folders import folders_of
from fitcheck.answering.read_places import earlier_of
from fitcheck.answering.request import MeasurementRequest, Progress
from fitcheck.ground.files import need_file
from fitcheck.ground.refusal import Refused
from fitcheck.reference.kinds import reference_kind

if TYPE_CHECKING:
    from fitcheck.calibration.camera import Camera
    from fitcheck.contract.measurement import Measurement, Sample
    from fitcheck.contract.settings import Settings
    from fitcheck.picture.photo import Photo
    from fitcheck.plank.plank_band import Band


@dataclass(frozen=True, kw_only=True, eq=False)
class EdgeAnswer:
    """A measurement with its advice, and what its report shows.

    ``photos`` are the measurement's photographs to be shown as they are, None for one that is not, ``bands`` the
    straightened strips of each part of a plank; ``read`` are all photographs that could be read, as they were measured.
    """

    measurement: Measurement
    photos: tuple[Photo | None, ...] = ()
    bands: tuple[tuple[Band, ...], ...] = ()
    read: tuple[Photo, ...] = ()


def measure_request(request: MeasurementRequest, progress: Progress | None = None) -> tuple[EdgeAnswer, ...]:
    """Measure the request's photographs, edge against line, and advise: one lap's, or with station cards a plank's.

    An answer is false (``answer.measurement``), with its reasons, where nothing could be measured. ``progress`` is
    called with the share of the work done. Nothing is written and nothing goes on record:
    :func:`fitcheck.answering.on_record.record_answers` and :func:`write_answers` do that. Raises
    :class:`~fitcheck.ground.refusal.WrongCall` for a missing photograph, an unusable camera file, or a place pointed at
    that lies outside its photograph.
    """
    from fitcheck.calibration.camera import load_camera

    for path in request.photos:
        need_file(path)
    camera = load_camera(request.camera)
    if reference_kind(request.settings.reference).joins:
        return (_advised(_measure_plank(request, camera, progress), request),)
    measure = _measure_looks if len(request.photos) > 1 else _measure_one
    answer = _advised(measure(request.photos, camera, request.settings), request)
    if progress is not None:
        progress(1.0)
    return (answer,)


def write_answers(answers: Sequence[EdgeAnswer], request: MeasurementRequest) -> list[Path]:
    """Write the report of each answer into the request's folder, in numbered ones for several; the files' paths.

    Where the photographs are added to the latest fit, the ticket tells first what that fit's record asks for first.
    """
    first = _bevel_first(request) if request.record.same_fit else []
    folders = folders_of(request.output.folder, len(answers))
    return [path for one, folder in zip(answers, folders, strict=False) for path in write_answer(one, folder, first)]


def write_answer(answer: EdgeAnswer, folder: Path, first: Sequence[str] = ()) -> list[Path]:
    """Write the report of one answer; ``first`` is what its ticket tells before the edge."""
    from fitcheck.report.edge.write import write_report

    whole = None
    if answer.bands:
        from fitcheck.report.edge.plank_picture import plank_pictures

        whole = plank_pictures(answer.measurement, answer.bands)
    return write_report(answer.measurement, _pixels(answer), folder, whole=whole, first=first)


def _measure_one(paths: Sequence[Path], camera: Camera, settings: Settings) -> EdgeAnswer:
    """One lap from the one photograph of it."""
    from fitcheck.contract.hints import need_inside
    from fitcheck.one_photo.edge import refusal
    from fitcheck.one_photo.scored_edge import measure_either_way
    from fitcheck.picture.photo import load_photo

    try:
        photo = load_photo(paths[0], size_px=camera.size_px)
    except Refused as refused:
        return EdgeAnswer(measurement=refusal(refused.reason, settings, camera, ({"name": paths[0].name},)))
    need_inside(photo, settings.hints)
    return EdgeAnswer(measurement=measure_either_way(photo, camera, settings), photos=(photo,), read=(photo,))


def _measure_looks(paths: Sequence[Path], camera: Camera, settings: Settings) -> EdgeAnswer:
    """One lap from several photographs of it. Places pointed at are those of the first."""
    from fitcheck.contract.hints import Hints, need_inside
    from fitcheck.one_photo.edge import refusal
    from fitcheck.one_photo.several_looks import measure_looks
    from fitcheck.picture.photo import load_photo

    photos: list[Photo] = []
    unread = []
    for path in paths:
        try:
            photos.append(load_photo(path, size_px=camera.size_px))
        except Refused as refused:
            unread.append({"name": path.name, "state": "refused", "reasons": [refused.reason.as_json()]})
            reason = refused.reason
    if not photos:
        return EdgeAnswer(measurement=refusal(reason, settings, camera, tuple(unread)))
    if unread and unread[0]["name"] == paths[0].name:
        # What was pointed at was in the first photograph.
        settings = replace(settings, hints=Hints(keel=settings.hints.keel))
    need_inside(photos[0], settings.hints)
    measured = measure_looks(photos, camera, settings)
    whole = replace(measured, photos=(*measured.photos, *unread))
    # Places and pixels are those of the first that was used; the others are shown where they were not.
    chief = next((one.photos[0] for one in measured.samples if one.photos), "")
    by_digest = {photo.digest: photo for photo in photos}
    shown = [one.get("state") == "refused" or not chief or one["name"] == chief for one in whole.photos]
    pictures = [by_digest.get(str(one.get("sha256"))) for one in whole.photos]
    drawn = tuple(one if there else None for one, there in zip(pictures, shown, strict=True))
    return EdgeAnswer(measurement=whole, photos=drawn, read=tuple(photos))


def _measure_plank(request: MeasurementRequest, camera: Camera, progress: Progress | None) -> EdgeAnswer:
    """One plank from its photographs with station cards in them."""
    from fitcheck.plank.plank_edge import look_along_plank

    plank = look_along_plank(
        request.photos,
        camera,
        request.settings,
        stations=request.known_mm,
        earlier=earlier_of(request.hull, request.settings),
        progress=progress,
    )
    return EdgeAnswer(measurement=plank.measurement, bands=plank.bands, read=plank.photos)


def _advised(answer: EdgeAnswer, request: MeasurementRequest) -> EdgeAnswer:
    if not answer.measurement:
        return answer
    from fitcheck.advice.planing.advice_in_parts import with_advice
    from fitcheck.advice.planing.planing_advice import advise

    settings, terms = request.settings, request.planing

    def of_part(samples: Sequence[Sample], at_least_mm: float | None) -> dict[str, Any]:
        lengths = [length for length in (at_least_mm, terms.plank_length_mm) if length is not None]
        return advise(
            samples,
            limit_mm=settings.limit_mm,
            lap_mm=settings.lap_mm,
            units=settings.units,
            fraction=settings.fraction,
            may_turn=at_least_mm is None,
            plank_length_mm=max(lengths, default=None),
            may_slide_mm=terms.may_slide_mm,
            may_swing_mm_per_m=terms.may_swing_mm_per_m,
            ends=terms.ends,
            prefer=terms.prefer,
            edge_takes_line=terms.edge_takes_line,
            look_again_mm=terms.look_again_mm,
        )

    return replace(answer, measurement=with_advice(answer.measurement, of_part))


def _pixels(answer: EdgeAnswer) -> list[Any]:
    """The pixels of the photographs that get a picture, in the measurement's order, None for the others."""
    from fitcheck.report.edge.one_of_many import worth_showing

    if answer.photos:
        return [None if photo is None else photo.pixels for photo in answer.photos]
    shown = worth_showing(answer.measurement)
    read = {photo.digest: photo for photo in answer.read}
    digests = [photo.get("sha256") for photo in answer.measurement.photos]
    return [read[one].decoded() if at in shown and one in read else None for at, one in enumerate(digests)]


def _bevel_first(request: MeasurementRequest) -> list[str]:
    """What the record says is to come before the edge, of the fit that these photographs are added to."""
    if request.hull is None or request.settings.plank is None:
        return []
    from fitcheck.hull.plank_name import read_plank
    from fitcheck.report.record.lap_on_record import bevel_first

    return bevel_first(request.hull, read_plank(request.settings.plank, request.hull))
