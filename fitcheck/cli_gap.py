"""The command ``fitcheck gap``."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitcheck.cli_options import file_option, hull_or_none, settings_of
from fitcheck.refusal import Refused, WrongCall
from fitcheck.settings import Settings

if TYPE_CHECKING:
    from fitcheck.lap.gap_measurement import GapMeasurement
    from fitcheck.photo import Photo

    Answer = tuple[GapMeasurement, Photo | None]


def gap(
    photos: Annotated[list[Path], typer.Argument(help="Edge-on photographs of the lap.", show_default=False)],
    camera: Annotated[
        Path | None, typer.Option(help="The camera file that calibrate wrote.", show_default=False)
    ] = None,
    reference: Annotated[
        str | None,
        typer.Option(
            help="What of known length lies on the strake, as in measure. Without it the thickness is the scale.",
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
    gain: Annotated[
        str | None,
        typer.Option(
            help="The gain at the plank's end: length, height at its start, at its end, straight or eased, "
            "as 14in,1/4in,0in,eased.",
            show_default=False,
        ),
    ] = None,
    seam: Annotated[
        bool, typer.Option("--seam", help="A seam seen face-on, its ends told by --edge-at: how wide it is.")
    ] = False,
    units: Annotated[
        str | None, typer.Option(help="Units of the answer: in or mm.  [default: in]", show_default=False)
    ] = None,
    fraction: Annotated[
        int | None, typer.Option(help="Fractions of an inch: 8, 16, 32 or 64.  [default: 32]", show_default=False)
    ] = None,
    plank: Annotated[str | None, typer.Option(help='Which plank, as "4 port".', show_default=False)] = None,
    json_to: Annotated[
        str | None,
        typer.Option(
            "--json", help="Write the answer as JSON to a file, or - for standard output.", show_default=False
        ),
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the report: picture, chart, page.")] = None,
) -> None:
    """Measure from edge-on photographs where the lap stands open, and how far the plank stands proud."""
    from fitcheck.gap import NO_REFERENCE

    told: dict[str, Any] = dict(locals())
    told.pop("NO_REFERENCE")
    hull = hull_or_none()
    told["reference"] = reference or NO_REFERENCE
    settings = gap_settings(told, hull)
    camera = file_option(camera, hull.camera_path if hull else None)
    if camera is None:
        raise WrongCall("--camera is needed: the file that fitcheck calibrate wrote")
    answers = [(_with_gain(one, gain), photo) for one, photo in _measure_all(photos, camera, settings, seam)]
    _tell([one for one, _ in answers], to_stdout=json_to != "-")
    _write(answers, json_to, out)
    if not any(one for one, _ in answers):
        raise typer.Exit(3)


def gap_settings(told: dict[str, Any], hull: Any = None) -> Settings:
    """The settings that options ask for; without a reference the plank's thickness is told in its place.

    Raises WrongCall for one that is missing or cannot be.
    """
    from dataclasses import replace

    from fitcheck.gap import NO_REFERENCE

    if told["reference"] != NO_REFERENCE:
        return settings_of(told, hull)
    # A card stands in while the rest is read and checked; nothing of it is used.
    return replace(settings_of({**told, "reference": "id1"}, hull), reference=NO_REFERENCE)


def _with_gain(measurement: GapMeasurement, gain: str | None) -> GapMeasurement:
    if gain is None or not measurement:
        return measurement
    from dataclasses import replace

    from fitcheck.gain import read_gain
    from fitcheck.lap.gap_gain import gain_advice

    return replace(measurement, gain=gain_advice(measurement.samples, read_gain(gain)))


def _measure_all(paths: Sequence[Path], camera_path: Path, settings: Settings, seam: bool) -> list[Answer]:
    from fitcheck.calibration.camera import load_camera
    from fitcheck.gap import NO_REFERENCE, gap_refusal, measure_gap_loaded
    from fitcheck.photo import load_photo
    from fitcheck.progress import each
    from fitcheck.seam import measure_seam_loaded

    for path in paths:
        if not path.is_file():
            raise WrongCall(f"cannot read {path}: there is no such file")
    if seam and settings.reference == NO_REFERENCE:
        raise WrongCall("--seam needs --reference: a card or rule on the wood beside the seam")
    measured = measure_seam_loaded if seam else measure_gap_loaded
    camera = load_camera(camera_path)
    answers: list[Answer] = []
    for path in each(paths, "measuring"):
        try:
            photo = load_photo(path)
        except Refused as refused:
            answers.append((gap_refusal(refused.reason, settings, camera, ({"name": path.name},)), None))
            continue
        answers.append((measured(photo, camera, settings), photo))
    return answers


def _tell(measurements: Sequence[GapMeasurement], *, to_stdout: bool) -> None:
    from fitcheck.report.gap_words import gap_lines

    stream = sys.stdout if to_stdout else sys.stderr
    stream.write("\n\n".join("\n".join(gap_lines(one)) for one in measurements) + "\n")


def _write(answers: Sequence[Answer], json_to: str | None, out: Path | None) -> None:
    from fitcheck.files import write_json

    if json_to is not None:
        answer = joined_gap_json([one for one, _ in answers])
        if json_to == "-":
            sys.stdout.write(json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=1) + "\n")
        else:
            write_json(json_to, answer)
    if out is not None:
        from fitcheck.report.gap_write import write_gap_report

        for number, (measurement, photo) in enumerate(answers):
            folder = out if len(answers) == 1 else out / f"{number + 1:02d}"
            for path in write_gap_report(measurement, None if photo is None else photo.pixels, folder):
                print(f"wrote {path}", file=sys.stderr)


def joined_gap_json(measurements: Sequence[GapMeasurement]) -> dict[str, Any]:
    """The JSON of one photograph, or of several one after another under "measurements", the first measured on top."""
    every = [one.as_json() for one in measurements]
    if len(every) == 1:
        return every[0]
    best = next((one for one in every if one["state"] == "measured"), every[0])
    photos = [{**photo, "state": one["state"], "reasons": one["reasons"]} for one in every for photo in one["photos"]]
    reasons = [reason for one in every for reason in one["reasons"]]
    return {**best, "photos": photos, "reasons": reasons, "measurements": every}
