"""The command ``fitcheck measure``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitcheck.answering.edge_answers import measure_request, write_answers
from fitcheck.answering.given import Given, GivenMove
from fitcheck.answering.on_record import record_answers
from fitcheck.answering.read_request import read_request
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
from fitcheck.reference.kinds import NAMED

if TYPE_CHECKING:
    from fitcheck.contract.measurement import Measurement

SWING_HELP = 'How far one end may still swing, as "1/8in over 10ft"; a length alone is for a metre of plank.'


def measure(
    photos: Annotated[list[Path], typer.Argument(help="Photographs along the lap.", show_default=False)],
    camera: Camera = None,
    reference: Annotated[
        str | None, typer.Option(help=f"What of known length lies on the strake: {NAMED}.", show_default=False)
    ] = None,
    thickness: Thickness = None,
    lap: Lap = None,
    bevel: Bevel = None,
    witness: Annotated[
        str | None,
        typer.Option(help="Distance of the witness line below the lap line, where one is struck.", show_default=False),
    ] = None,
    keel: KeelWord = None,
    stations: Stations = None,
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
    reference_at: ReferenceAt = None,
    gain: Gain = None,
    gain_ends: Annotated[str | None, typer.Option(help=GAIN_ENDS_HELP, show_default=False)] = None,
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
    units: Units = None,
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
    json_to: JsonTo = None,
    out: Out = None,
    replace_old: Replace = False,
) -> None:
    """Measure a clamped plank's edge against its lap line, and say where to plane."""
    request = read_request(
        photos,
        Given(
            plank=plank,
            reference=reference,
            thickness=thickness,
            lap=lap,
            bevel=bevel,
            witness=witness,
            limit=limit,
            gain=gain,
            gain_ends=gain_ends,
            at=at,
            stations=stations,
            units=units,
            fraction=fraction,
            hints=hints_of(line_at=line_at, edge_at=edge_at, reference_at=reference_at, keel=keel),
        ),
        camera=camera,
        hull=hull_or_none(),
        move=GivenMove(may_slide=may_slide, may_swing=may_swing, ends=ends, prefer=prefer, edge_line=edge_line),
        record=ForRecord(
            wanted=record,
            same_fit=same_fit,
            who=who,
            note=note,
            moisture_pct=moisture,
            temperature_c=temperature,
            clamps=clamps,
        ),
        output=Output(folder=out, json=json_to, replace=replace_old),
    )
    need_outputs(request, "report.json")
    with measuring(request) as progress:
        answers = measure_request(request, progress)
    measurements = [one.measurement for one in answers]
    read = [photo for one in answers for photo in one.read]
    with then_shown(record_answers(measurements, read, request, recorded)):
        _tell(measurements, to_stdout=json_to != "-", every=every)
        put_out(request, measurements[0].as_json, lambda: write_answers(answers, request))
    if not any(measurements):
        raise typer.Exit(3)


def _tell(measurements: Sequence[Measurement], *, to_stdout: bool, every: bool) -> None:
    from fitcheck.report.edge.brief import MOST_EACH, MOST_LINES
    from fitcheck.report.edge.table import print_table

    stream = sys.stdout if to_stdout else sys.stderr
    most = None if every else MOST_LINES if len(measurements) == 1 else MOST_EACH
    for number, measurement in enumerate(measurements):
        if number:
            stream.write("\n")
        print_table(measurement, stream, most=most)
