"""``fitcheck log ...`` and ``fitcheck new``: thin commands over the fit record, which is imported when one runs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fitcheck.cli.log_common import log_app

# isort: off
# In the order in which the help lists them.
from fitcheck.cli import log_look
from fitcheck.cli import log_enter
from fitcheck.cli import log_takeback
from fitcheck.cli import log_files
# isort: on

__all__ = ["log_alone", "log_app", "log_enter", "log_files", "log_look", "log_takeback", "new"]


def log_alone() -> typer.Typer:
    """The commands of the record under their own name, without the other commands."""
    alone = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
    alone.add_typer(log_app, name="log")
    return alone


def new(
    name: Annotated[str, typer.Option("--name", help="The hull's name.")] = "my hull",
    units: Annotated[str, typer.Option("--units", help="in or mm: how lengths are printed.")] = "in",
    lap: Annotated[str, typer.Option("--lap", help="Width of the lap.")] = "1in",
    thickness: Annotated[str, typer.Option("--thickness", help="Thickness of the planking.")] = "1/2in",
    strakes: Annotated[int, typer.Option("--strakes", help="Strakes a side.")] = 8,
) -> None:
    """Write fitcheck.toml, the hull's settings with a comment beside each, into this folder."""
    from fitcheck.hull.first_file import write_new_hull

    hull = write_new_hull(Path.cwd(), name=name, units=units, lap=lap, thickness=thickness, strakes=strakes)
    typer.echo(f"written: {hull.path}")
    for warning in hull.warnings():
        typer.echo(f"note: {warning.text}", err=True)
