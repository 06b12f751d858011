"""``fitcheck log ...`` and ``fitcheck new``: thin commands over the fit record, which is imported when one runs."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, ParamSpec

import typer

if TYPE_CHECKING:
    from fitcheck.fitlog.names import PlankName
    from fitcheck.hull import Hull

log_app = typer.Typer(
    name="log",
    help="The fit record: every dry fit of every plank, until it may be fastened.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

P = ParamSpec("P")
Plank = Annotated[str, typer.Argument(help='Strake, side and part: "4 port", "garboard starboard", "6 port fore".')]
HullFile = Annotated[
    Path | None, typer.Option("--hull", help="The hull's fitcheck.toml, if not here or in a folder above.")
]
Json = Annotated[str | None, typer.Option("--json", help="Write JSON to this file, or to - for the terminal.")]
Who = Annotated[str | None, typer.Option("--who", help="Who did it.")]
Note = Annotated[str, typer.Option("--note", help="A few words to keep.")]
FitNumber = Annotated[int | None, typer.Option("--fit", help="The fit's number; the latest unless told.")]
Out = Annotated[Path | None, typer.Option("--out", help="Write to this file.")]


def plainly(command: Callable[P, None]) -> Callable[P, None]:
    """A command that says what went wrong in one plain line: exit 2 for a wrong call, 3 for a refusal."""

    @functools.wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        from fitcheck.refusal import Refused, WrongCall

        try:
            command(*args, **kwargs)
        except (WrongCall, Refused) as error:
            typer.echo(f"fitcheck: {error}", err=True)
            raise typer.Exit(3 if isinstance(error, Refused) else 2) from error

    return run


@log_app.command("list")
@plainly
def list_(
    every: Annotated[bool, typer.Option("--all", help="Every fit in a line, instead of every plank.")] = False,
    hull: HullFile = None,
    json: Json = None,
) -> None:
    """Where every plank stands, and what needs doing next."""
    from fitcheck.fitlog import tell
    from fitcheck.fitlog.listing import every_fit, standings_at
    from fitcheck.fitlog.store import reading

    settings = _hull(hull)
    if every:
        with reading(settings.db_path) as connection:
            rows = every_fit(connection)
        _say(tell.fit_lines(rows, settings), json, [dict(row) for row in rows])
        return
    found = standings_at(settings)
    _say(tell.standing_lines(found, settings), json, {"hull": settings.name, "planks": _plain(found)})


@log_app.command()
@plainly
def show(plank: Plank, fit: FitNumber = None, hull: HullFile = None, json: Json = None) -> None:
    """One fit of a plank: what was measured, asked, planed, felt and signed."""
    from fitcheck.fitlog import queries, tell
    from fitcheck.fitlog.export import fit_as_json
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.summary import summary_of
    from fitcheck.fitlog.terms import terms_of
    from fitcheck.report.lap_on_record import lap_lines

    settings, name = _named(plank, hull)
    with reading(settings.db_path) as connection:
        found = queries.fit(connection, name, fit)
        summary = summary_of(connection, found.id, terms_of(name, settings))
        whole = {"plank": str(name), "summary": summary, **fit_as_json(connection, found)} if json else None
        lap = lap_lines(connection, found.id, summary, settings)
        _say(tell.show_lines(connection, found, summary, settings, lap=lap), json, whole)


@log_app.command()
@plainly
def compare(
    plank: Plank,
    old: Annotated[int | None, typer.Argument(help="The earlier fit; the one before the later unless told.")] = None,
    new: Annotated[int | None, typer.Argument(help="The later fit; the latest unless told.")] = None,
    hull: HullFile = None,
    json: Json = None,
) -> None:
    """Two fits of one plank: what moved, what was planed off against what was asked, what got worse."""
    from fitcheck.fitlog.compare import compare as compared
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.tell_between import compare_lines
    from fitcheck.fitlog.terms import terms_of

    settings, name = _named(plank, hull)
    with reading(settings.db_path) as connection:
        found = compared(connection, name, terms_of(name, settings), old=old, new=new)
    _say(compare_lines(found, settings), json, _plain(found))


@log_app.command()
@plainly
def twin(plank: Plank, hull: HullFile = None, json: Json = None) -> None:
    """Port against starboard of one strake, mirrored, as seen from the bow."""
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.tell_between import twin_lines
    from fitcheck.fitlog.twin import twin as both

    settings, name = _named(plank, hull)
    with reading(settings.db_path) as connection:
        found = both(connection, name, settings)
    _say(twin_lines(found, settings), json, _plain(found))


@log_app.command()
@plainly
def cut(
    plank: Plank,
    from_: Annotated[str | None, typer.Option("--from", help="Where the cut begins, along the tape.")] = None,
    to: Annotated[str | None, typer.Option("--to", help="Where it ends.")] = None,
    depth: Annotated[str | None, typer.Option("--depth", help="How deep, at the deepest.")] = None,
    advised: Annotated[bool, typer.Option("--as-asked", help="Every cut the latest fit asked for was made.")] = False,
    who: Who = None,
    note: Note = "",
    hull: HullFile = None,
) -> None:
    """Report what was planed. It opens a sign-off again."""
    from fitcheck.fitlog import tell
    from fitcheck.fitlog.by_hand import record_advised_cuts, record_cut
    from fitcheck.refusal import WrongCall

    settings, name = _named(plank, hull)
    if advised and not (from_ or to or depth):
        made = record_advised_cuts(settings.db_path, name, units=settings.units, who=who, note=note)
        typer.echo(
            f"{len(made)} cut{'s' if len(made) > 1 else ''} of {name} recorded; clamp it again and photograph it"
        )
        for cut_made in made:
            where = tell.span(cut_made["from_mm"], cut_made["to_mm"], settings)
            typer.echo(f"  {where}, {tell.asked_depth(cut_made['deepest_mm'], settings)} deep")
        return
    if advised or from_ is None or to is None or depth is None:
        raise WrongCall("tell a cut with --from, --to and --depth, or all that was asked for with --as-asked alone")
    ends = (_place(from_, "--from"), _place(to, "--to"))
    deepest_mm = _length(depth, "--depth")
    record_cut(
        settings.db_path, name, settings, from_mm=ends[0], to_mm=ends[1], deepest_mm=deepest_mm, who=who, note=note
    )
    typer.echo(f"cut of {name} recorded; clamp it again and photograph it")


@log_app.command()
@plainly
def feeler(
    plank: Plank,
    blade: Annotated[str, typer.Option("--blade", help="Thickness of the blade, or of a slip of paper (about 0.1mm).")],
    goes_in: Annotated[bool, typer.Option("--goes-in/--stays-out", help="Whether it went into the lap.")],
    at: Annotated[str | None, typer.Option("--at", help="The place tried, along the tape.")] = None,
    from_: Annotated[str | None, typer.Option("--from", help="Where a stretch tried all along begins.")] = None,
    to: Annotated[str | None, typer.Option("--to", help="Where it ends.")] = None,
    who: Who = None,
    note: Note = "",
    hull: HullFile = None,
) -> None:
    """Enter a feeler reading of the lap, with its place."""
    from fitcheck.fitlog.by_hand import record_feeler
    from fitcheck.refusal import WrongCall

    settings, name = _named(plank, hull)
    if at is not None and from_ is None and to is None:
        start = end = _place(at, "--at")
    elif at is None and from_ is not None and to is not None:
        start, end = _place(from_, "--from"), _place(to, "--to")
    else:
        raise WrongCall("tell one place with --at, or a stretch with --from and --to")
    record_feeler(
        settings.db_path,
        name,
        settings,
        from_mm=start,
        to_mm=end,
        blade_mm=_length(blade, "--blade"),
        goes_in=goes_in,
        who=who,
        note=note,
    )
    typer.echo(f"feeler reading of {name} recorded")


@log_app.command()
@plainly
def sign(
    plank: Plank,
    who: Annotated[str, typer.Option("--who", help="Who signs.")],
    overrule: Annotated[
        str | None, typer.Option("--overrule", help="Sign against what is missing, with the reason.")
    ] = None,
    hull: HullFile = None,
) -> None:
    """Sign a plank off for fastening, or say what is still missing (exit status 3)."""
    from fitcheck.fitlog.signing import sign as signed

    settings, name = _named(plank, hull)
    found = signed(settings.db_path, name, settings, who=who, overrule=overrule)
    typer.echo(f"{name} signed off by {found.who} after fit {found.fit_number}")
    for reason in found.missing:
        typer.echo(f"  overruled: {reason.text}")
    typer.echo("This speaks of the fit where it was photographed, not of strength or tightness: local rules go first.")


@log_app.command()
@plainly
def repeat(plank: Plank, fit: FitNumber = None, hull: HullFile = None, json: Json = None) -> None:
    """How well readings repeat: one clamp-up photographed several times by several people (--same-fit --who NAME)."""
    from fitcheck.fitlog.repeat import study
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.tell_between import study_lines
    from fitcheck.fitlog.terms import terms_of

    settings, name = _named(plank, hull)
    with reading(settings.db_path) as connection:
        found = study(connection, name, terms_of(name, settings), number=fit)
    _say(study_lines(found, settings), json, _plain(found))


@log_app.command()
@plainly
def export(
    form: Annotated[str, typer.Argument(help="csv (a row a sample) or json (everything).")],
    plank: Annotated[str | None, typer.Option("--plank", help="One plank; all unless told.")] = None,
    out: Out = None,
    hull: HullFile = None,
) -> None:
    """Write the record out as CSV or JSON, to a file or to the terminal."""
    from json import dumps

    from fitcheck.files import write_text
    from fitcheck.fitlog.export import as_csv, as_json
    from fitcheck.fitlog.names import read_plank
    from fitcheck.fitlog.store import reading
    from fitcheck.refusal import WrongCall

    if form not in ("csv", "json"):
        raise WrongCall(f"the record is exported as csv or json, not {form!r}")
    settings = _hull(hull)
    name = read_plank(plank, settings) if plank is not None else None
    with reading(settings.db_path) as connection:
        text = (
            as_csv(connection, name) if form == "csv" else dumps(as_json(connection, name), ensure_ascii=False) + "\n"
        )
    if out is None:
        typer.echo(text, nl=False)
    else:
        typer.echo(f"written: {write_text(out, text)}")


@log_app.command()
@plainly
def report(
    plank: Annotated[str | None, typer.Argument(help="One plank's history; the whole hull unless told.")] = None,
    out: Out = None,
    hull: HullFile = None,
) -> None:
    """Write the history of a plank, or the sheet of the hull, as one HTML file to look at or print."""
    from fitcheck.fitlog.names import read_plank
    from fitcheck.report.history_page import write_plank_history
    from fitcheck.report.hull_page import write_hull_sheet

    settings = _hull(hull)
    if plank is None:
        path = write_hull_sheet(settings, out or Path("fitcheck-hull.html"))
    else:
        name = read_plank(plank, settings)
        path = write_plank_history(settings, name, out or Path(f"fitcheck-strake-{name.strake}-{name.side}.html"))
    typer.echo(f"written: {path}")


@log_app.command()
@plainly
def backup(out: Out = None, hull: HullFile = None) -> None:
    """Make a checked copy of the record. Photographs in the store are files of their own: copy that folder too."""
    from fitcheck.fitlog.backup import copy_checked
    from fitcheck.fitlog.photos import photo_store
    from fitcheck.fitlog.store import reading

    settings = _hull(hull)
    with reading(settings.db_path):
        path = copy_checked(settings.db_path, out=out)
    typer.echo(f"checked copy: {path}")
    if photo_store(settings.db_path).exists():
        typer.echo(f"the photographs lie in {photo_store(settings.db_path)}: copy that folder as well")


@log_app.command()
@plainly
def restore(
    copy: Annotated[Path, typer.Argument(help="The checked copy to put in the record's place.")], hull: HullFile = None
) -> None:
    """Put a checked copy in the record's place; what was there is kept aside."""
    from fitcheck.fitlog.backup import restore as put_back

    settings = _hull(hull)
    aside = put_back(settings.db_path, copy)
    typer.echo(f"restored from {copy}")
    if aside is not None:
        typer.echo(f"what was there is kept: {aside}")


@plainly
def new(
    name: Annotated[str, typer.Option("--name", help="The hull's name.")] = "my hull",
    units: Annotated[str, typer.Option("--units", help="in or mm: how lengths are printed.")] = "in",
    lap: Annotated[str, typer.Option("--lap", help="Width of the lap.")] = "1in",
    thickness: Annotated[str, typer.Option("--thickness", help="Thickness of the planking.")] = "1/2in",
    strakes: Annotated[int, typer.Option("--strakes", help="Strakes a side.")] = 8,
) -> None:
    """Write fitcheck.toml, the hull's settings with a comment beside each, into this folder."""
    from fitcheck.hull_new import write_new_hull

    hull = write_new_hull(Path.cwd(), name=name, units=units, lap=lap, thickness=thickness, strakes=strakes)
    typer.echo(f"written: {hull.path}")
    for warning in hull.warnings():
        typer.echo(f"note: {warning.text}", err=True)


def _hull(path: Path | None) -> Hull:
    from fitcheck.hull import hull_here, load_hull

    return hull_here() if path is None else load_hull(path)


def _named(plank: str, path: Path | None) -> tuple[Hull, PlankName]:
    from fitcheck.fitlog.names import read_plank

    hull = _hull(path)
    return hull, read_plank(plank, hull)


def _place(text: str, option: str) -> float:
    return _length(text, option, signed=True)


def _length(text: str, option: str, *, signed: bool = False) -> float:
    from fitcheck.lengths import parse_length
    from fitcheck.refusal import WrongCall

    try:
        return parse_length(text, signed=signed)
    except WrongCall as error:
        raise WrongCall(f"{option}: {error}") from error


def _say(lines: Iterable[str], json: str | None, value: Any) -> None:
    """Lines to the terminal; with ``--json -`` they go to the error stream and the JSON to the terminal."""
    from fitcheck.streams import json_line

    text = "\n".join(lines)
    if json is None:
        typer.echo(text)
    elif json == "-":
        typer.echo(text, err=True)
        typer.echo(json_line(value, indent=None), nl=False)
    else:
        from fitcheck.files import write_json

        write_json(json, value)
        typer.echo(text)


def _plain(value: Any) -> Any:
    """A finding, and all in it, as what JSON can hold: planks by their names, what is boundless as null."""
    from math import isfinite

    from fitcheck.fitlog.names import PlankName

    if isinstance(value, PlankName):
        return str(value)
    if isinstance(value, float) and not isfinite(value):
        return None
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if hasattr(value, "__dataclass_fields__"):
        return {key: _plain(item) for key, item in vars(value).items()}
    return value
