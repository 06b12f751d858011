"""Options that `measure` and `gap` share: how a measurement goes on record, and how its lengths are printed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from fitcheck.hull import Hull
    from fitcheck.settings import Settings

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
Who = Annotated[str | None, typer.Option(help="Who clamped and photographed.", show_default=False)]
Note = Annotated[str, typer.Option(help="A note for the record.", show_default=False)]


def place_at(at: str | None, plank: str | None, hull: Hull | None) -> float | None:
    """The place that ``--at`` tells, in mm along the plank; None where it is not told.

    Raises WrongCall for what is no place, or one beyond the ends of the plank.
    """
    from fitcheck.fitlog.ends import need_on_plank
    from fitcheck.fitlog.names import read_plank
    from fitcheck.lengths import parse_length

    if at is None:
        return None
    at_mm = parse_length(at, signed=True)
    if plank is not None and hull is not None:
        need_on_plank(read_plank(plank, hull), hull, at_mm, at_mm, "--at")
    return at_mm


def with_tape(settings: Settings, plank: str | None, at_mm: float | None, hull: Hull | None) -> Settings:
    """The settings with what turns places into the tape's: where the reference lay, the tape's sense, the plank's ends.

    Which way the tape runs goes by the plank's side; where that is not told, places stay left and right of the
    reference.
    """
    from dataclasses import replace

    from fitcheck.fitlog.names import extent_mm, read_plank
    from fitcheck.fitlog.recording import along_sign
    from fitcheck.refusal import WrongCall

    settings = replace(settings, tape=hull.tape_style if hull else "")
    try:
        name = None if plank is None else read_plank(plank, hull)
    except WrongCall:
        # Without a hull's settings a plank may be called anything.
        name = None
    if name is None:
        return settings
    low_mm, high_mm = extent_mm(name, hull)
    ends_mm = None if low_mm is None or high_mm is None else (low_mm, high_mm)
    return replace(settings, at_mm=at_mm, along_sign=along_sign(name.side, hull), ends_mm=ends_mm)
