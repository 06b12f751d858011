"""Options that `measure` and `gap` share: how a measurement goes on record, and how its lengths are printed."""

from __future__ import annotations

from typing import Annotated

import typer

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
