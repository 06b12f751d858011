"""The commands put together: thin over the library, one room a command."""

from __future__ import annotations

from typing import Annotated

import typer

from fitcheck import __version__
from fitcheck.cli.calibrate import calibrate, print_board
from fitcheck.cli.demo import demo
from fitcheck.cli.gap import gap
from fitcheck.cli.log import log_app, new
from fitcheck.cli.measure import measure
from fitcheck.cli.page_command import page
from fitcheck.cli.print_cards import print_cards

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Measure from photographs whether a lapstrake plank lands on its lap line, and where to plane it.",
    epilog="A first session: fitcheck print board, fitcheck calibrate, fitcheck measure. Try: fitcheck demo.",
)
print_app = typer.Typer(
    no_args_is_help=True, help="True-size sheets to print: the calibration board, the station cards."
)
print_app.command("board")(print_board)
print_app.command("cards")(print_cards)
app.command("demo")(demo)
app.add_typer(print_app, name="print")
app.command("calibrate")(calibrate)
app.command("measure")(measure)
app.command("gap")(gap)
app.command("page")(page)
app.command("new")(new)
app.add_typer(log_app, name="log")


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"fitcheck {__version__}")
        raise typer.Exit


@app.callback()
def _fitcheck(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version.")
    ] = False,
) -> None:
    pass
