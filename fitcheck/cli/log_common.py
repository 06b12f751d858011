"""What the commands of ``fitcheck log`` share: the application, its options, the plank told, how they answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitcheck.fitlog.told import as_text

if TYPE_CHECKING:
    import sqlite3

    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull

log_app = typer.Typer(
    name="log",
    help="The fit record: every dry fit of every plank, until it may be fastened.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Plank = Annotated[str, typer.Argument(help='Strake, side and part: "4 port", "garboard starboard", "6 port fore".')]
HullFile = Annotated[
    Path | None, typer.Option("--hull", help="The hull's fitcheck.toml, if not here or in a folder above.")
]
Json = Annotated[str | None, typer.Option("--json", help="Write JSON to this file, or to - for the terminal.")]
Who = Annotated[str | None, typer.Option("--who", help="Who did it.", callback=as_text)]
Note = Annotated[str, typer.Option("--note", help="A few words to keep.", callback=as_text)]
FitNumber = Annotated[int | None, typer.Option("--fit", help="The fit's number; the latest unless told.")]
Out = Annotated[Path | None, typer.Option("--out", help="Write to this file.")]


def on_record(done: str, more: str = "") -> None:
    """Say what has gone on record, and ``more`` after it; where it cannot be said here, what tells of that says it."""
    from fitcheck.cli.trouble import RECORDED

    RECORDED.append(done)
    typer.echo(done + more)


def hull_of(path: Path | None) -> Hull:
    from fitcheck.hull.settings_file import hull_here, load_hull

    return hull_here() if path is None else load_hull(path)


def named(plank: str, path: Path | None) -> tuple[Hull, PlankName]:
    from fitcheck.hull.plank_name import read_plank

    hull = hull_of(path)
    return hull, read_plank(plank, hull)


def warn_of_altered(
    connection: sqlite3.Connection, name: PlankName | None = None, *, numbers: Iterable[int | None] | None = None
) -> None:
    """Say on the error stream what is not as it was written of a plank that is opened, or of all; no more than that.

    ``numbers`` are the fits whose contents are shown, None among them for the latest ones; all unless told.
    """
    from fitcheck.fitlog.as_written import altered_of

    for trouble in altered_of(connection, name, numbers=numbers):
        typer.echo(f"warning: {trouble}; see fitcheck log check", err=True)


def place(text: str, option: str, *, from_card: int = 0) -> float:
    """A place in mm from an option's text, counted from card ``from_card``."""
    from fitcheck.ground.tape_places import parse_place

    with _named(option):
        return parse_place(text, from_card=from_card)


def length(text: str, option: str) -> float:
    """A length in mm from an option's text."""
    from fitcheck.ground.lengths import parse_length

    with _named(option):
        return parse_length(text)


@contextmanager
def _named(option: str) -> Iterator[None]:
    """What is wrong with an option's text is told with the option."""
    from fitcheck.ground.refusal import WrongCall

    try:
        yield
    except WrongCall as error:
        raise WrongCall(f"{option}: {error}") from error


def say(lines: Iterable[str], json: str | None, value: Any) -> None:
    """Lines to the terminal; with ``--json -`` they go to the error stream and the JSON to the terminal."""
    from fitcheck.ground.streams import json_line

    text = "\n".join(lines)
    if json is None:
        typer.echo(text)
    elif json == "-":
        typer.echo(text, err=True)
        typer.echo(json_line(value, indent=None), nl=False)
    else:
        from fitcheck.ground.files import write_json

        write_json(json, value)
        typer.echo(text)


def plain(value: Any) -> Any:
    """A finding, and all in it, as what JSON can hold: planks by their names, what is boundless as null."""
    from math import isfinite

    from fitcheck.hull.plank_name import PlankName

    if isinstance(value, PlankName):
        return str(value)
    if isinstance(value, float) and not isfinite(value):
        return None
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if hasattr(value, "__dataclass_fields__"):
        return {key: plain(item) for key, item in vars(value).items()}
    return value
