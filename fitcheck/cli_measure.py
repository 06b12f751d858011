"""The command ``fitcheck measure``."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitcheck.lengths import parse_length
from fitcheck.refusal import Refused, WrongCall
from fitcheck.settings import THIRTY_SECOND_MM, Settings

if TYPE_CHECKING:
    from fitcheck.calibration.camera import Camera
    from fitcheck.measurement import Measurement
    from fitcheck.photo import Photo

REFERENCES = "id1, card-us, card-eu, card-jp, a measured size such as 88.6x50.7mm, rule-mm, rule-in, or station"


def measure(
    photos: Annotated[list[Path], typer.Argument(help="Photographs along the lap.", show_default=False)],
    camera: Annotated[Path | None, typer.Option(help="The camera file that calibrate wrote.", show_default=False)] = None,
    reference: Annotated[str | None, typer.Option(help=f"What of known length lies on the strake: {REFERENCES}.", show_default=False)] = None,
    thickness: Annotated[str | None, typer.Option(help="The plank's thickness, as 1/2in or 12.7mm.", show_default=False)] = None,
    lap: Annotated[str | None, typer.Option(help="The width of the lap, as 1in or 25.4mm.", show_default=False)] = None,
    bevel: Annotated[str | None, typer.Option(help="The lap's bevel from the bevel gauge, as 6deg.", show_default=False)] = None,
    witness: Annotated[str | None, typer.Option(help="Distance of the witness line below the lap line, where one is struck.", show_default=False)] = None,
    keel: Annotated[str, typer.Option(help="How the hull lies in the photograph: down, up or auto.")] = "auto",
    stations: Annotated[Path | None, typer.Option(help="CSV of known station places: number,place.", show_default=False)] = None,
    limit: Annotated[str | None, typer.Option(help="How far the edge may lie from the line.  [default: 1/32in]", show_default=False)] = None,
    line_at: Annotated[list[str] | None, typer.Option(help="A place u,v on the line, in pixels, where it cannot be found. Repeatable.", show_default=False)] = None,
    edge_at: Annotated[list[str] | None, typer.Option(help="A place u,v on the plank's edge, in pixels. Repeatable.", show_default=False)] = None,
    may_slide: Annotated[str, typer.Option(help="How far the plank may still be moved up or down.")] = "0mm",
    may_swing: Annotated[str, typer.Option(help="How far one end may still swing, in a metre of plank.")] = "0mm",
    ends: Annotated[str, typer.Option(help="The plank's ends: free or held.")] = "free",
    prefer: Annotated[str, typer.Option(help="Cuts of least-wood or shallowest.")] = "least-wood",
    edge_line: Annotated[str, typer.Option(help="The edge should split, take (cover) or leave the line.")] = "split",
    units: Annotated[str, typer.Option(help="Units of the answer: in or mm.")] = "in",
    fraction: Annotated[int, typer.Option(help="Fractions of an inch: 8, 16, 32 or 64.")] = 32,
    plank: Annotated[str | None, typer.Option(help='Which plank, as "4 port".', show_default=False)] = None,
    json_to: Annotated[str | None, typer.Option("--json", help="Write the answer as JSON to a file, or - for standard output.", show_default=False)] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the report: picture, chart, page, ticket.", show_default=False)] = None,
) -> None:
    """Measure a clamped plank's edge against its lap line, and say where to plane."""
    settings = settings_of(locals())
    advice = _advice_options(may_slide, may_swing, ends, prefer, edge_line)
    if camera is None:
        raise WrongCall("--camera is needed: the file that fitcheck calibrate wrote")
    measured = _measure_all(photos, camera, settings, stations)
    answers = [(_with_advice(one, settings, advice), photo) for one, photo in measured]
    _tell(answers, to_stdout=json_to != "-")
    _write(answers, json_to, out, settings)
    if not any(one for one, _ in answers):
        raise typer.Exit(3)


def answer_photo(path: Path, camera: Camera, told: Mapping[str, str]) -> tuple[Measurement, Photo | None]:
    """Measure one photograph with settings told as text, and advise; the photograph comes back for its picture."""
    settings = settings_of(told)
    measurement, photo = _measure_one(path, camera, settings)
    return _with_advice(measurement, settings, {}), photo


def settings_of(told: Mapping[str, Any]) -> Settings:
    """The settings that options ask for. Raises WrongCall for one that is missing or cannot be."""
    from fitcheck.lengths import check_units
    from fitcheck.reference.kinds import card_kind

    told = {name: value for name, value in told.items() if value is not None}
    for name in ("reference", "thickness"):
        if name not in told:
            raise WrongCall(f"--{name} is needed")
    keel, units, fraction = told.get("keel", "auto"), told.get("units", "in"), told.get("fraction", 32)
    if keel not in ("auto", "down", "up"):
        raise WrongCall(f"--keel {keel!r}: give down, up or auto")
    check_units(units, fraction)
    card_kind(told["reference"])
    thickness_mm = _sized(told, "thickness", 3.0, 60.0)
    assert thickness_mm is not None
    return Settings(
        reference=told["reference"],
        thickness_mm=thickness_mm,
        lap_mm=_sized(told, "lap", 5.0, 200.0),
        bevel_deg=bevel_of(told["bevel"]) if "bevel" in told else None,
        witness_mm=_sized(told, "witness", 5.0, 100.0),
        keel=keel,
        limit_mm=_sized(told, "limit", 0.05, 20.0) or THIRTY_SECOND_MM,
        units=units,
        fraction=fraction,
        plank=told.get("plank"),
        line_at_px=tuple(_place(text, "--line-at") for text in told.get("line_at", ())),
        edge_at_px=tuple(_place(text, "--edge-at") for text in told.get("edge_at", ())),
    )


def _sized(told: Mapping[str, Any], name: str, least_mm: float, most_mm: float) -> float | None:
    if name not in told:
        return None
    text = told[name]
    size = parse_length(text)
    if not least_mm <= size <= most_mm:
        raise WrongCall(f"--{name} {text} is {size:g} mm; between {least_mm:g} and {most_mm:g} mm is needed")
    return size


def bevel_of(text: str) -> float:
    """A bevel in degrees from text such as ``6deg``, ``6°`` or ``6``. Raises WrongCall beyond 0 to 30 degrees.

    >>> bevel_of("6.5deg")
    6.5
    """
    try:
        bevel = float(text.strip().removesuffix("deg").removesuffix("°"))
    except ValueError:
        raise WrongCall(f"--bevel {text!r}: give an angle such as 6deg") from None
    if not 0.0 <= bevel <= 30.0:
        raise WrongCall(f"--bevel {text}: between 0 and 30 degrees is needed; laps lie between 2 and 12")
    return bevel


def _place(text: str, option: str) -> tuple[float, float]:
    try:
        u, v = (float(part) for part in text.split(","))
    except ValueError:
        raise WrongCall(f"{option} {text!r}: give a place in pixels, as 1020,766") from None
    return u, v


def _advice_options(may_slide: str, may_swing: str, ends: str, prefer: str, edge_line: str) -> dict[str, Any]:
    return {
        "may_slide_mm": parse_length(may_slide),
        "may_swing_mm_per_m": parse_length(may_swing),
        "ends": ends,
        "prefer": prefer,
        "edge_takes_line": edge_line,
    }


def _measure_all(
    paths: Sequence[Path], camera_path: Path, settings: Settings, stations: Path | None
) -> list[tuple[Measurement, Photo | None]]:
    from fitcheck.calibration.camera import load_camera
    from fitcheck.progress import each

    for path in paths:
        if not path.is_file():
            raise WrongCall(f"cannot read {path}: there is no such file")
    camera = load_camera(camera_path)
    return [_measure_one(path, camera, settings) for path in each(paths, "measuring")]


def _measure_one(path: Path, camera: Camera, settings: Settings) -> tuple[Measurement, Photo | None]:
    from fitcheck.measure import measure_loaded, refusal
    from fitcheck.photo import load_photo

    try:
        photo = load_photo(path)
    except Refused as refused:
        return refusal(refused.reason, settings, camera, ({"name": path.name},)), None
    return measure_loaded(photo, camera, settings), photo


def _with_advice(measurement: Measurement, settings: Settings, options: Mapping[str, Any]) -> Measurement:
    if not measurement:
        return measurement
    from fitcheck.measure import with_planing
    from fitcheck.planing.advice import advise

    planing = advise(
        measurement.samples,
        limit_mm=settings.limit_mm,
        lap_mm=settings.lap_mm,
        units=settings.units,
        fraction=settings.fraction,
        **options,
    )
    return with_planing(measurement, planing)


def _tell(answers: Sequence[tuple[Measurement, Photo | None]], *, to_stdout: bool) -> None:
    from fitcheck.report.table import print_table

    stream = sys.stdout if to_stdout else sys.stderr
    for number, (measurement, _) in enumerate(answers):
        if number:
            stream.write("\n")
        print_table(measurement, stream)


def _write(
    answers: Sequence[tuple[Measurement, Photo | None]], json_to: str | None, out: Path | None, settings: Settings
) -> None:
    from fitcheck.files import write_json

    if json_to is not None:
        answer = joined_json([one for one, _ in answers])
        if json_to == "-":
            sys.stdout.write(json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=1) + "\n")
        else:
            write_json(json_to, answer)
    if out is not None:
        from fitcheck.report.write import write_report

        for number, (measurement, photo) in enumerate(answers):
            folder = out if len(answers) == 1 else out / f"{number + 1:02d}"
            for path in write_report(measurement, [] if photo is None else [photo.pixels], folder):
                print(f"wrote {path}", file=sys.stderr)


def joined_json(measurements: Sequence[Measurement]) -> dict[str, Any]:
    """The JSON of one photograph, or of several without station cards: theirs one after another under "measurements".

    Several photographs share no frame, so only what is true of all stands at the top: measured if any was, and the reasons of those that were not.
    """
    first = measurements[0].as_json()
    if len(measurements) == 1:
        return first
    every = [one.as_json() for one in measurements]
    best = next((one for one in every if one["state"] == "measured"), first)
    return {
        **best,
        "photos": [{**photo, "state": one["state"], "reasons": one["reasons"]} for one in every for photo in one["photos"]],
        "reasons": [reason for one in every for reason in one["reasons"]],
        "measurements": every,
    }
