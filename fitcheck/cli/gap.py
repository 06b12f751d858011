"""The command ``fitcheck gap``."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitcheck.cli.gains import ENDS_HELP, GAIN_HELP, with_gains
from fitcheck.cli.options import Known, earlier_of, file_option, hull_or_none, known_places, settings_of
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
    from fitcheck.contract.gap_measurement import GapMeasurement
    from fitcheck.hull.settings_file import Hull
    from fitcheck.picture.photo import Photo
    from fitcheck.plank.connected_parts import Earlier


@dataclass(frozen=True)
class Answer:
    """A measurement with the photographs its report shows, each with what it alone says, and all it was read of."""

    measurement: GapMeasurement
    photos: tuple[tuple[Photo, GapMeasurement], ...] = ()
    read: tuple[Photo, ...] = ()


def gap(
    photos: Annotated[list[Path], typer.Argument(help="Edge-on photographs of the lap.", show_default=False)],
    camera: Annotated[
        Path | None, typer.Option(help="The camera file that calibrate wrote.", show_default=False)
    ] = None,
    reference: Annotated[
        str | None,
        typer.Option(
            help="What of known length lies on the strake, as in measure; or thickness, to scale by the plank's.",
            show_default=False,
        ),
    ] = None,
    thickness: Annotated[
        str | None, typer.Option(help="The plank's thickness, as 1/2in or 12.7mm.", show_default=False)
    ] = None,
    lap: Annotated[str | None, typer.Option(help="The width of the lap, as 1in or 25.4mm.", show_default=False)] = None,
    bevel: Annotated[
        str | None, typer.Option(help="The lap's bevel from the bevel gauge, as 6deg.", show_default=False)
    ] = None,
    keel: Annotated[
        str | None,
        typer.Option(
            help="How the hull lies in the photograph: down, up or auto.  [default: auto]", show_default=False
        ),
    ] = None,
    edge_at: Annotated[
        list[str] | None,
        typer.Option(help="A place u,v on the plank's inner corner, in pixels. Repeatable.", show_default=False),
    ] = None,
    gain: Annotated[str | None, typer.Option(help=GAIN_HELP, show_default=False)] = None,
    gain_ends: Annotated[
        str | None, typer.Option(help=f"{ENDS_HELP} Found from the step where not told.", show_default=False)
    ] = None,
    stations: Annotated[
        Path | None, typer.Option(help="CSV of known station places: number,place.", show_default=False)
    ] = None,
    seam: Annotated[
        bool, typer.Option("--seam", help="A seam seen face-on, its ends told by --edge-at: how wide it is.")
    ] = False,
    units: Annotated[
        str | None, typer.Option(help="Units of the answer: in or mm.  [default: in]", show_default=False)
    ] = None,
    fraction: Fraction = None,
    plank: Annotated[
        str | None,
        typer.Option(
            help='Which plank, as "4 port"; where a hull\'s settings file is, it goes on record with its latest fit.',
            show_default=False,
        ),
    ] = None,
    record: Record = None,
    same_fit: SameFit = False,
    at: At = None,
    who: Who = None,
    note: Note = "",
    every: Every = False,
    json_to: Annotated[
        str | None,
        typer.Option(
            "--json", help="Write the answer as JSON to a file, or - for standard output.", show_default=False
        ),
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the report: picture, chart, page, ticket.")] = None,
    replace_old: Replace = False,
) -> None:
    """Measure from edge-on photographs where the lap stands open, and how far the plank stands proud."""
    told: dict[str, Any] = dict(locals())
    hull = hull_or_none()
    need_record(told, hull, seam=seam)
    told["at_mm"] = place_at(at, plank, hull)
    settings = with_gains(gap_settings(told, hull), told, hull)
    settings = with_tape(settings, plank, told["at_mm"], hull)
    camera = file_option(camera, hull.camera_path if hull else None)
    if camera is None:
        raise WrongCall("--camera is needed: the file that fitcheck calibrate wrote")
    known = known_places(stations, settings.reference, hull)
    need_outputs(json_to, out)
    if not replace_old:
        need_own_folder(out, "gap.json", plank, photos, apart=settings.reference != "station")
    answers = _measure_all(photos, camera, settings, known, earlier_of(hull, plank, settings.reference), seam=seam)
    # Moisture, temperature and clamps are told with the fit itself; a seam is no lap.
    more = {"moisture": None, "temperature": None, "clamps": None, "record": False if seam else record}
    measurements = [one.measurement for one in answers]
    read = as_read(photos, [photo for one in answers for photo in one.read])
    with then_shown(record_fits(measurements, read, hull, {**told, **more})):
        _tell([one.measurement for one in answers], to_stdout=json_to != "-", every=every)
        _write(answers, json_to, out)
    if not any(one.measurement for one in answers):
        raise typer.Exit(3)


def gap_settings(told: dict[str, Any], hull: Hull | None = None) -> Settings:
    """The settings that options ask for; where neither they nor the hull's settings tell a reference, by the thickness.

    Raises WrongCall for one that is missing or cannot be.
    """
    from dataclasses import replace

    from fitcheck.one_photo.open_lap import NO_REFERENCE

    reference = told["reference"] or (hull.reference if hull else None)
    if reference not in (None, NO_REFERENCE):
        return settings_of(told, hull)
    # A card stands in while the rest is read and checked; nothing of it is used.
    return replace(settings_of({**told, "reference": "id1"}, hull), reference=NO_REFERENCE)


def _measure_all(
    paths: Sequence[Path],
    camera_path: Path,
    settings: Settings,
    known: Known,
    earlier: Sequence[Earlier],
    *,
    seam: bool,
) -> list[Answer]:
    from fitcheck.calibration.camera import load_camera
    from fitcheck.ground.progress import each
    from fitcheck.one_photo.open_lap import NO_REFERENCE

    for path in paths:
        need_file(path)
    if seam and settings.reference in (NO_REFERENCE, "station"):
        raise WrongCall("--seam needs --reference: a card or rule on the wood beside the seam")
    camera = load_camera(camera_path)
    if settings.reference == "station":
        return _measure_stations(paths, camera, settings, known, earlier)
    return [_measure_one(path, camera, settings, seam=seam) for path in each(paths, "measuring")]


def _measure_one(path: Path, camera: Camera, settings: Settings, *, seam: bool) -> Answer:
    from fitcheck.contract.pointed import need_inside
    from fitcheck.one_photo.open_lap import gap_refusal, measure_gap_loaded
    from fitcheck.one_photo.seam import measure_seam_loaded
    from fitcheck.picture.photo import load_photo

    try:
        photo = load_photo(path, size_px=camera.size_px)
    except Refused as refused:
        return Answer(gap_refusal(refused.reason, settings, camera, ({"name": path.name},)))
    need_inside(photo, settings)
    measurement = (measure_seam_loaded if seam else measure_gap_loaded)(photo, camera, settings)
    return Answer(measurement, ((photo, measurement),), (photo,))


def _measure_stations(
    paths: Sequence[Path], camera: Camera, settings: Settings, known: Known, earlier: Sequence[Earlier]
) -> list[Answer]:
    """One plank from its edge-on photographs with station cards in them, an answer for each of its parts."""
    from fitcheck.ground.progress import share_done
    from fitcheck.plank.plank_gaps import measure_gaps_along_plank

    if settings.edge_at_px:
        raise WrongCall("--edge-at points into one photograph: measure that one by itself, with a card")
    with share_done("measuring") as progress:
        found = measure_gaps_along_plank(paths, camera, settings, stations=known, earlier=earlier, progress=progress)
    return [
        Answer(
            one.measurement,
            tuple((view.photo, part) for view, part in one.parts if view.photo is not None),
            one.photos,
        )
        for one in found
    ]


def _tell(measurements: Sequence[GapMeasurement], *, to_stdout: bool, every: bool) -> None:
    from fitcheck.report.edge.brief import MOST_EACH, MOST_LINES
    from fitcheck.report.gap.gap_words import brief_gap_lines, gap_lines

    stream = sys.stdout if to_stdout else sys.stderr
    most = MOST_LINES if len(measurements) == 1 else MOST_EACH
    told = [gap_lines(one) if every else brief_gap_lines(one, most=most) for one in measurements]
    stream.write("\n\n".join("\n".join(lines) for lines in told) + "\n")


def _write(answers: Sequence[Answer], json_to: str | None, out: Path | None) -> None:
    from fitcheck.ground.files import write_json

    if json_to is not None:
        answer = joined_gap_json([one.measurement for one in answers])
        if json_to == "-":
            sys.stdout.write(json_line(answer))
        else:
            write_json(json_to, answer)
    if out is not None:
        from fitcheck.report.gap.gap_write import write_gap_report

        for number, one in enumerate(answers):
            folder = out if len(answers) == 1 else out / f"{number + 1:02d}"
            for path in write_gap_report(one.measurement, one.photos, folder):
                print(f"wrote {path}", file=sys.stderr)


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
