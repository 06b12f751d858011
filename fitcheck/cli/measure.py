"""The command ``fitcheck measure``."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitcheck.cli.advice_options import advice_options
from fitcheck.cli.gains import ENDS_HELP, GAIN_HELP, need_ends, with_gains
from fitcheck.cli.options import (
    SWING_HELP,
    Known,
    earlier_of,
    file_option,
    hull_or_none,
    known_places,
    settings_of,
)
from fitcheck.cli.own_folder import need_outputs, need_own_folder
from fitcheck.cli.record_first import as_read, record_fits, then_shown
from fitcheck.cli.record_options import (
    At,
    Every,
    Fraction,
    Note,
    Record,
    Replace,
    SameFit,
    Who,
    need_record,
    place_at,
    with_tape,
)
from fitcheck.contract.settings import Settings
from fitcheck.ground.files import need_file
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.ground.streams import json_line

if TYPE_CHECKING:
    from fitcheck.calibration.camera import Camera
    from fitcheck.contract.measurement import Measurement, Sample
    from fitcheck.hull.settings_file import Hull
    from fitcheck.picture.photo import Photo
    from fitcheck.plank.connected_parts import Earlier

REFERENCES = "id1, card-us, card-eu, card-jp, a measured size such as 88.6x50.7mm, rule-mm, rule-in, or station"


@dataclass(frozen=True)
class Answer:
    """A measurement, what its report shows (a photograph, or a plank's straightened bands), and all that was read."""

    measurement: Measurement
    photos: tuple[Photo, ...] = ()
    bands: tuple[Any, ...] = ()
    read: tuple[Photo, ...] = ()


def measure(
    photos: Annotated[list[Path], typer.Argument(help="Photographs along the lap.", show_default=False)],
    camera: Annotated[
        Path | None, typer.Option(help="The camera file that calibrate wrote.", show_default=False)
    ] = None,
    reference: Annotated[
        str | None, typer.Option(help=f"What of known length lies on the strake: {REFERENCES}.", show_default=False)
    ] = None,
    thickness: Annotated[
        str | None, typer.Option(help="The plank's thickness, as 1/2in or 12.7mm.", show_default=False)
    ] = None,
    lap: Annotated[str | None, typer.Option(help="The width of the lap, as 1in or 25.4mm.", show_default=False)] = None,
    bevel: Annotated[
        str | None, typer.Option(help="The lap's bevel from the bevel gauge, as 6deg.", show_default=False)
    ] = None,
    witness: Annotated[
        str | None,
        typer.Option(help="Distance of the witness line below the lap line, where one is struck.", show_default=False),
    ] = None,
    keel: Annotated[
        str | None,
        typer.Option(
            help="How the hull lies in the photograph: down, up or auto.  [default: auto]", show_default=False
        ),
    ] = None,
    stations: Annotated[
        Path | None, typer.Option(help="CSV of known station places: number,place.", show_default=False)
    ] = None,
    limit: Annotated[
        str | None, typer.Option(help="How far the edge may lie from the line.  [default: 1/32in]", show_default=False)
    ] = None,
    line_at: Annotated[
        list[str] | None,
        typer.Option(
            help="A place u,v on the line, in pixels, where it cannot be found. Repeatable.", show_default=False
        ),
    ] = None,
    edge_at: Annotated[
        list[str] | None,
        typer.Option(help="A place u,v on the plank's edge, in pixels. Repeatable.", show_default=False),
    ] = None,
    gain: Annotated[str | None, typer.Option(help=GAIN_HELP, show_default=False)] = None,
    gain_ends: Annotated[str | None, typer.Option(help=ENDS_HELP, show_default=False)] = None,
    may_slide: Annotated[
        str | None,
        typer.Option(
            help="How far the plank may still be moved up or down. Where neither this nor --may-swing is told, a small "
            "move is looked for where the edge is short.",
            show_default=False,
        ),
    ] = None,
    may_swing: Annotated[str | None, typer.Option(help=SWING_HELP, show_default=False)] = None,
    ends: Annotated[str, typer.Option(help="The plank's ends: free or held.")] = "free",
    prefer: Annotated[str, typer.Option(help="Cuts of least-wood or shallowest.")] = "least-wood",
    edge_line: Annotated[str, typer.Option(help="The edge should split, take (cover) or leave the line.")] = "split",
    units: Annotated[
        str | None, typer.Option(help="Units of the answer: in or mm.  [default: in]", show_default=False)
    ] = None,
    fraction: Fraction = None,
    plank: Annotated[
        str | None,
        typer.Option(
            help='Which plank, as "4 port"; where a hull\'s settings file is, the fit is recorded.', show_default=False
        ),
    ] = None,
    record: Record = None,
    same_fit: SameFit = False,
    at: At = None,
    who: Who = None,
    note: Note = "",
    moisture: Annotated[
        float | None, typer.Option(help="The wood's moisture content, percent.", show_default=False)
    ] = None,
    temperature: Annotated[float | None, typer.Option(help="The air's temperature, °C.", show_default=False)] = None,
    clamps: Annotated[str | None, typer.Option(help="Clamps: tight or eased.", show_default=False)] = None,
    every: Every = False,
    json_to: Annotated[
        str | None,
        typer.Option(
            "--json", help="Write the answer as JSON to a file, or - for standard output.", show_default=False
        ),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="Folder for the report: picture, chart, page, ticket.", show_default=False)
    ] = None,
    replace_old: Replace = False,
) -> None:
    """Measure a clamped plank's edge against its lap line, and say where to plane."""
    told = dict(locals())
    need_ends(told)
    hull = hull_or_none()
    need_record(told, hull)
    told["at_mm"] = place_at(at, plank, hull)
    settings = with_gains(settings_of(told, hull), told, hull)
    settings = with_tape(settings, plank, told["at_mm"], hull)
    advice = advice_options(
        may_slide=may_slide, may_swing=may_swing, ends=ends, prefer=prefer, edge_line=edge_line, hull=hull
    )
    advice["plank_length_mm"] = _plank_length_mm(hull, plank)
    camera = file_option(camera, hull.camera_path if hull else None)
    if camera is None:
        raise WrongCall("--camera is needed: the file that fitcheck calibrate wrote")
    known = known_places(stations, settings.reference, hull)
    need_outputs(json_to, out)
    if not replace_old:
        need_own_folder(out, "report.json", plank, photos, apart=settings.reference != "station")
    measured = _measure_all(photos, camera, settings, known, earlier_of(hull, plank, settings.reference))
    answers = [replace(one, measurement=_with_advice(one.measurement, settings, advice)) for one in measured]
    read = [photo for one in answers for photo in (*one.photos, *one.read)]
    with then_shown(record_fits([one.measurement for one in answers], as_read(photos, read), hull, told)):
        _tell([one.measurement for one in answers], to_stdout=json_to != "-", every=every)
        _write(answers, json_to, out, _bevel_first(hull, plank) if same_fit else ())
    if not any(one.measurement for one in answers):
        raise typer.Exit(3)


def answer_photo(path: Path, camera: Camera, told: Mapping[str, str]) -> Answer:
    """Measure one photograph with settings told as text, and advise."""
    settings = settings_of(told)
    answer = _measure_one(path, camera, settings)
    return replace(answer, measurement=_with_advice(answer.measurement, settings, {}))


def write_answer(answer: Answer, folder: Path, first: Sequence[str] = ()) -> list[Path]:
    """Write the report of one answer; ``first`` is what its ticket tells before the edge."""
    from fitcheck.report.edge.write import write_report

    whole = None
    if answer.bands:
        from fitcheck.report.edge.plank_picture import plank_pictures

        whole = plank_pictures(answer.measurement, answer.bands)
    return write_report(answer.measurement, _pixels(answer), folder, whole=whole, first=first)


def _pixels(answer: Answer) -> list[Any]:
    """The pixels of the photographs that get a picture, in the measurement's order, None for the others."""
    from fitcheck.report.edge.one_of_many import worth_showing

    if answer.photos:
        return [photo.pixels for photo in answer.photos]
    shown = worth_showing(answer.measurement)
    read = {photo.digest: photo for photo in answer.read}
    digests = [photo.get("sha256") for photo in answer.measurement.photos]
    return [read[one].decoded() if at in shown and one in read else None for at, one in enumerate(digests)]


def _bevel_first(hull: Hull | None, plank: str | None) -> list[str]:
    """What the record says is to come before the edge, of the fit that these photographs are added to."""
    if hull is None or plank is None:
        return []
    from fitcheck.hull.plank_name import read_plank
    from fitcheck.report.record.lap_on_record import bevel_first

    return bevel_first(hull, read_plank(plank, hull))


def _plank_length_mm(hull: Hull | None, plank: str | None) -> float | None:
    """How long the plank's lap is, where the hull's settings tell its ends."""
    if hull is None or plank is None:
        return None
    from fitcheck.hull.plank_name import extent_mm, read_plank

    from_mm, to_mm = extent_mm(read_plank(plank, hull), hull)
    return None if from_mm is None or to_mm is None else to_mm - from_mm


def _measure_all(
    paths: Sequence[Path], camera_path: Path, settings: Settings, known: Known, earlier: Sequence[Earlier]
) -> list[Answer]:
    from fitcheck.calibration.camera import load_camera
    from fitcheck.ground.progress import each

    for path in paths:
        need_file(path)
    camera = load_camera(camera_path)
    if settings.reference == "station":
        return [measure_stations(paths, camera, settings, known, earlier)]
    return [_measure_one(path, camera, settings) for path in each(paths, "measuring")]


def _measure_one(path: Path, camera: Camera, settings: Settings) -> Answer:
    from fitcheck.contract.pointed import need_inside
    from fitcheck.one_photo.edge import measure_loaded, refusal
    from fitcheck.picture.photo import load_photo

    try:
        photo = load_photo(path, size_px=camera.size_px)
    except Refused as refused:
        return Answer(refusal(refused.reason, settings, camera, ({"name": path.name},)))
    need_inside(photo, settings)
    return Answer(measure_loaded(photo, camera, settings), (photo,))


def measure_stations(
    paths: Sequence[Path], camera: Camera, settings: Settings, known: Known, earlier: Sequence[Earlier] = ()
) -> Answer:
    """One plank from its photographs with station cards in them; ``earlier`` are sets on record of the same plank."""
    from fitcheck.ground.progress import share_done
    from fitcheck.plank.plank_edge import look_along_plank

    with share_done("measuring") as progress:
        plank = look_along_plank(paths, camera, settings, stations=known, earlier=earlier, progress=progress)
    return Answer(plank.measurement, bands=tuple(plank.bands), read=plank.photos)


def _with_advice(measurement: Measurement, settings: Settings, options: Mapping[str, Any]) -> Measurement:
    if not measurement:
        return measurement
    from fitcheck.advice.planing.advice_in_parts import with_advice
    from fitcheck.advice.planing.planing_advice import advise

    def of_part(samples: Sequence[Sample], at_least_mm: float | None) -> dict[str, Any]:
        lengths = [length for length in (at_least_mm, options.get("plank_length_mm")) if length is not None]
        told = {**options, "plank_length_mm": max(lengths, default=None)}
        return advise(
            samples,
            limit_mm=settings.limit_mm,
            lap_mm=settings.lap_mm,
            units=settings.units,
            fraction=settings.fraction,
            may_turn=at_least_mm is None,
            **told,
        )

    return with_advice(measurement, of_part)


def _tell(measurements: Sequence[Measurement], *, to_stdout: bool, every: bool) -> None:
    from fitcheck.report.edge.brief import MOST_EACH, MOST_LINES
    from fitcheck.report.edge.table import print_table

    stream = sys.stdout if to_stdout else sys.stderr
    most = None if every else MOST_LINES if len(measurements) == 1 else MOST_EACH
    for number, measurement in enumerate(measurements):
        if number:
            stream.write("\n")
        print_table(measurement, stream, most=most)


def _write(answers: Sequence[Answer], json_to: str | None, out: Path | None, first: Sequence[str]) -> None:
    from fitcheck.ground.files import write_json

    if json_to is not None:
        answer = joined_json([one.measurement for one in answers])
        if json_to == "-":
            sys.stdout.write(json_line(answer))
        else:
            write_json(json_to, answer)
    if out is not None:
        for number, one in enumerate(answers):
            folder = out if len(answers) == 1 else out / f"{number + 1:02d}"
            for path in write_answer(one, folder, first):
                print(f"wrote {path}", file=sys.stderr)


def joined_json(measurements: Sequence[Measurement]) -> dict[str, Any]:
    """The JSON of one photograph, or of several without station cards: theirs one after another under "measurements".

    Several photographs share no frame, so only what is true of all stands at the top: measured if any was, and the
    reasons of those that were not.
    """
    first = measurements[0].as_json()
    if len(measurements) == 1:
        return first
    every = [one.as_json() for one in measurements]
    best = next((one for one in every if one["state"] == "measured"), first)
    return {
        **best,
        "photos": [
            {**photo, "state": one["state"], "reasons": one["reasons"]} for one in every for photo in one["photos"]
        ],
        "reasons": [reason for one in every for reason in one["reasons"]],
        "measurements": every,
    }
