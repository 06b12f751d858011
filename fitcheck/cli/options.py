"""Options that `measure` and `gap` share, each declared once, and what they have in common when read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitcheck.contract.hints import Hints, keel_named
from fitcheck.fitlog.told import as_text
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

GAIN_ENDS_HELP = (
    "Where the gain ends along the plank; without station cards or --at, from the reference's middle (+ right)."
)
Camera = Annotated[Path | None, typer.Option(help="The camera file that calibrate wrote.", show_default=False)]
Thickness = Annotated[str | None, typer.Option(help="The plank's thickness, as 1/2in or 12.7mm.", show_default=False)]
Lap = Annotated[str | None, typer.Option(help="The width of the lap, as 1in or 25.4mm.", show_default=False)]
Bevel = Annotated[str | None, typer.Option(help="The lap's bevel from the bevel gauge, as 6deg.", show_default=False)]
KeelWord = Annotated[
    str | None,
    typer.Option(help="How the hull lies in the photograph: down, up or auto.  [default: auto]", show_default=False),
]
ReferenceAt = Annotated[
    list[str] | None,
    typer.Option(
        help="A place u,v on the card, in pixels, where it is not found; or, given four times, near its corners.",
        show_default=False,
    ),
]
Stations = Annotated[Path | None, typer.Option(help="CSV of known station places: number,place.", show_default=False)]
Gain = Annotated[
    str | None,
    typer.Option(
        help="The gain at the plank's end: length, height at its start, at its end, straight or eased, "
        "as 14in,1/4in,0in,eased.",
        show_default=False,
    ),
]
Units = Annotated[str | None, typer.Option(help="Units of the answer: in or mm.  [default: in]", show_default=False)]
Fraction = Annotated[
    int | None, typer.Option(help="Fractions of an inch: 8, 16, 32 or 64.  [default: 32]", show_default=False)
]
Every = Annotated[bool, typer.Option("--all", help="Every place, every note and the limit, not the answer alone.")]
SameFit = Annotated[
    bool, typer.Option("--same-fit", help="Only clamps and camera moved since the latest fit: add to it.")
]
At = Annotated[
    str | None,
    typer.Option(help="Where along the plank the reference's middle lies, without station cards.", show_default=False),
]
Record = Annotated[
    bool | None,
    typer.Option("--record/--no-record", help="Record the named plank.  [default: record]", show_default=False),
]
Replace = Annotated[bool, typer.Option("--replace", help="Write over another plank's report in the --out folder.")]
Who = Annotated[str | None, typer.Option(help="Who clamped and photographed.", show_default=False, callback=as_text)]
Note = Annotated[str, typer.Option(help="A note for the record.", show_default=False, callback=as_text)]
JsonTo = Annotated[
    str | None,
    typer.Option("--json", help="Write the answer as JSON to a file, or - for standard output.", show_default=False),
]
Out = Annotated[
    Path | None, typer.Option(help="Folder for the report: picture, chart, page, ticket.", show_default=False)
]


def hull_or_none() -> Hull | None:
    """The hull whose settings file lies here or above, if there is one."""
    from fitcheck.hull.settings_file import find_hull, load_hull

    path = find_hull()
    return None if path is None else load_hull(path)


def hints_of(
    *,
    line_at: Sequence[str] | None = None,
    edge_at: Sequence[str] | None = None,
    reference_at: Sequence[str] | None = None,
    keel: str | None,
) -> Hints:
    """The hints that options give, places as ``u,v``. Raises :class:`WrongCall` for what is no place, or no keel.

    >>> hints_of(edge_at=["1020,766"], keel="up")
    Hints(line_at_px=(), edge_at_px=((1020.0, 766.0),), reference_at_px=(), keel='up')
    """
    return Hints(
        line_at_px=tuple(_place(text, "--line-at") for text in line_at or ()),
        edge_at_px=tuple(_place(text, "--edge-at") for text in edge_at or ()),
        reference_at_px=tuple(_place(text, "--reference-at") for text in reference_at or ()),
        keel=keel_named(keel),
    )


def _place(text: str, option: str) -> tuple[float, float]:
    try:
        u, v = (float(part) for part in text.split(","))
    except ValueError:
        u = v = math.nan
    if not (math.isfinite(u) and math.isfinite(v)):
        raise WrongCall(f"{option} {text!r}: give a place in pixels, as 1020,766")
    return u, v
