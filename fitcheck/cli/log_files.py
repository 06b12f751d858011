"""``fitcheck log export``, ``import``, ``report``, ``check``, ``backup``, ``restore``: the record as files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fitcheck.cli.log_common import HullFile, Json, Out, hull_of, log_app, on_record, say, warn_of_altered


@log_app.command()
def export(
    form: Annotated[str, typer.Argument(help="csv (a row a sample) or json (everything).")],
    plank: Annotated[str | None, typer.Option("--plank", help="One plank; all unless told.")] = None,
    out: Out = None,
    hull: HullFile = None,
) -> None:
    """Write the record out as CSV or JSON, to a file or to the terminal."""
    from fitcheck.fitlog.export import as_csv, as_json
    from fitcheck.fitlog.store import reading
    from fitcheck.ground.files import write_text
    from fitcheck.ground.refusal import WrongCall
    from fitcheck.ground.streams import json_line
    from fitcheck.hull.plank_name import read_plank

    if form not in ("csv", "json"):
        raise WrongCall(f"the record is exported as csv or json, not {form!r}")
    settings = hull_of(hull)
    name = read_plank(plank, settings) if plank is not None else None
    with reading(settings.db_path) as connection:
        warn_of_altered(connection, name)
        text = as_csv(connection, name) if form == "csv" else json_line(as_json(connection, name), indent=None)
    if out is None:
        typer.echo(text, nl=False)
    else:
        typer.echo(f"written: {write_text(out, text)}")


@log_app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(help="What fitcheck log export json wrote of a whole record.")],
    hull: HullFile = None,
) -> None:
    """Bring an exported record in where there is none yet, equal to the last digit; its seals are checked."""
    from fitcheck.fitlog.bring_in import bring_in
    from fitcheck.fitlog.photos import photo_store

    settings = hull_of(hull)
    found = bring_in(settings.db_path, file)
    on_record(f"imported: planks {found.planks}, fits {found.fits}, photographs {found.photographs}; the seals hold")
    if found.not_in_store:
        store = photo_store(settings.db_path)
        typer.echo(f"{found.not_in_store} of the photographs are not in {store}: copy them there from where it was")


@log_app.command()
def report(
    plank: Annotated[str | None, typer.Argument(help="One plank's history; the whole hull unless told.")] = None,
    out: Out = None,
    hull: HullFile = None,
) -> None:
    """Write the history of a plank, or the sheet of the hull, as one HTML file to look at or print."""
    from fitcheck.fitlog.store import is_begun, reading
    from fitcheck.hull.plank_name import read_plank
    from fitcheck.report.record.history_page import write_plank_history
    from fitcheck.report.record.hull_page import write_hull_sheet

    settings = hull_of(hull)
    name = None if plank is None else read_plank(plank, settings)
    if is_begun(settings.db_path):
        with reading(settings.db_path) as connection:
            warn_of_altered(connection, name, numbers=[] if name is None else None)
    if name is None:
        path = write_hull_sheet(settings, out or Path("fitcheck-hull.html"))
    else:
        path = write_plank_history(settings, name, out or Path(f"fitcheck-strake-{name.in_a_file_name()}.html"))
    typer.echo(f"written: {path}")


@log_app.command()
def check(hull: HullFile = None, json: Json = None) -> None:
    """Is the record what was written, and are its photographs? Says what is not, and how to mend it (exit status 3)."""
    from fitcheck.fitlog.as_written import check_record

    found = check_record(hull_of(hull).db_path)
    say(found.lines(), json, found.as_json())
    if found.troubles:
        raise typer.Exit(3)


@log_app.command()
def backup(out: Out = None, hull: HullFile = None) -> None:
    """Make a checked copy of the record. Photographs in the store are files of their own: copy that folder too."""
    from fitcheck.fitlog.backup import copy_checked
    from fitcheck.fitlog.photos import photo_store
    from fitcheck.fitlog.store import reading

    settings = hull_of(hull)
    with reading(settings.db_path):
        path = copy_checked(settings.db_path, out=out)
    typer.echo(f"checked copy: {path}")
    if photo_store(settings.db_path).exists():
        typer.echo(f"the photographs lie in {photo_store(settings.db_path)}: copy that folder as well")


@log_app.command()
def restore(
    copy: Annotated[Path, typer.Argument(help="The checked copy to put in the record's place.")], hull: HullFile = None
) -> None:
    """Put a checked copy in the record's place; what was there is kept aside."""
    from fitcheck.fitlog.restore import restore as put_back

    settings = hull_of(hull)
    aside = put_back(settings.db_path, copy)
    typer.echo(f"restored from {copy}")
    if aside is not None:
        typer.echo(f"what was there is kept: {aside}")
