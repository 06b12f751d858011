"""The command ``fitcheck print cards``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def print_cards(
    out: Annotated[Path, typer.Option(help="The PDF to write.")] = Path("cards.pdf"),
    count: Annotated[int, typer.Option(help="How many cards.")] = 9,
    first: Annotated[int, typer.Option(help="The first card's number.")] = 0,
    paper: Annotated[str, typer.Option(help="Paper: a4 or letter.")] = "a4",
) -> None:
    """Write station cards as a true-size PDF, several to a sheet."""
    from fitcheck.reference.station.station_cards import print_cards as write

    path = write(out, count=count, first=first, paper=paper)
    print(f"The cards are in {path}. Print them at 100 % on card, check the bar with a rule, and cut them out.")
