"""Options that `measure` and `gap` share: how a measurement goes on record, and how its lengths are printed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from fitcheck.hull import Hull

Fraction = Annotated[
    int | None, typer.Option(help="Fractions of an inch: 8, 16, 32 or 64.  [default: 32]", show_default=False)
]
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
