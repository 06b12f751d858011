"""The command ``fitcheck gap``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitcheck.answering.gap_answers import gap_request, joined_gap_json, write_gap_answers
from fitcheck.answering.given import Given
from fitcheck.answering.on_record import record_answers
from fitcheck.answering.read_request import read_gap_request
from fitcheck.answering.request import ForRecord, Output
from fitcheck.cli.options import (
    GAIN_ENDS_HELP,
    At,
    Bevel,
    Camera,
    Every,
    Fraction,
    Gain,
    JsonTo,
    KeelWord,
    Lap,
    Note,
    Out,
    Record,
    ReferenceAt,
    Replace,
    SameFit,
    Stations,
    Thickness,
    Units,
    Who,
    hints_of,
    hull_or_none,
)
from fitcheck.cli.own_folder import need_outputs
from fitcheck.cli.record_first import measuring, put_out, recorded, then_shown

if TYPE_CHECKING:
    from fitcheck.contract.gap_measurement import GapMeasurement


def gap(
    photos: Annotated[list[Path], typer.Argument(help="Edge-on photographs of the lap.", show_default=False)],
    camera: Camera = None,
    reference: Annotated[
        str | None,
        typer.Option(
            help="What of known length lies on the strake, as in measure; or thickness, to scale by the plank's.",
            show_default=False,
        ),
    ] = None,
    thickness: Thickness = None,
    lap: Lap = None,
    bevel: Bevel = None,
    eased: Annotated[
        str | None,
        typer.Option(
            help="How far the plank's inner corner is eased, as 0.3mm, or sharp; else found from the picture.",
            show_default=False,
        ),
    ] = None,
    keel: KeelWord = None,
    edge_at: Annotated[
        list[str] | None,
        typer.Option(help="A place u,v on the plank's inner corner, in pixels. Repeatable.", show_default=False),
    ] = None,
    reference_at: ReferenceAt = None,
    gain: Gain = None,
    gain_ends: Annotated[
        str | None, typer.Option(help=f"{GAIN_ENDS_HELP} Found from the step where not told.", show_default=False)
    ] = None,
    stations: Stations = None,
    seam: Annotated[
        bool, typer.Option("--seam", help="A seam seen face-on, its ends told by --edge-at: how wide it is.")
    ] = False,
    units: Units = None,
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
    json_to: JsonTo = None,
    out: Out = None,
    replace_old: Replace = False,
) -> None:
    """Measure from edge-on photographs where the lap stands open, and how far the plank stands proud."""
    request = read_gap_request(
        photos,
        Given(
            plank=plank,
            reference=reference,
            thickness=thickness,
            lap=lap,
            bevel=bevel,
            eased=eased,
            gain=gain,
            gain_ends=gain_ends,
            at=at,
            stations=stations,
            units=units,
            fraction=fraction,
            hints=hints_of(edge_at=edge_at, reference_at=reference_at, keel=keel),
        ),
        camera=camera,
        hull=hull_or_none(),
        seam=seam,
        # Moisture, temperature and clamps are given with the fit itself.
        record=ForRecord(wanted=record, same_fit=same_fit, who=who, note=note),
        output=Output(folder=out, json=json_to, replace=replace_old),
    )
    need_outputs(request, "gap.json")
    with measuring(request) as progress:
        answers = gap_request(request, progress)
    measurements = [one.measurement for one in answers]
    read = [photo for one in answers for photo in one.read]
    with then_shown(record_answers(measurements, read, request, recorded)):
        _tell(measurements, to_stdout=json_to != "-", every=every)
        put_out(request, lambda: joined_gap_json(measurements), lambda: write_gap_answers(answers, request))
    if not any(measurements):
        raise typer.Exit(3)


def _tell(measurements: Sequence[GapMeasurement], *, to_stdout: bool, every: bool) -> None:
    from fitcheck.report.edge.brief import MOST_EACH, MOST_LINES
    from fitcheck.report.gap.gap_words import brief_gap_lines, gap_lines

    stream = sys.stdout if to_stdout else sys.stderr
    most = MOST_LINES if len(measurements) == 1 else MOST_EACH
    told = [gap_lines(one) if every else brief_gap_lines(one, most=most) for one in measurements]
    stream.write("\n\n".join("\n".join(lines) for lines in told) + "\n")
