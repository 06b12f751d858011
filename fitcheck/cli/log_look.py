"""``fitcheck log list``, ``show``, ``compare``, ``twin`` and ``repeat``: what the record says."""

from __future__ import annotations

from typing import Annotated

import typer

from fitcheck.cli.log_common import (
    FitNumber,
    HullFile,
    Json,
    Plank,
    hull_of,
    log_app,
    named,
    plain,
    say,
    warn_of_altered,
)


@log_app.command("list")
def list_(
    every: Annotated[bool, typer.Option("--all", help="Every fit in a line, instead of every plank.")] = False,
    hull: HullFile = None,
    json: Json = None,
) -> None:
    """Where every plank stands, and what needs doing next."""
    from fitcheck.fitlog.listing import every_fit, standings_at
    from fitcheck.fitlog.store import reading
    from fitcheck.report.record import record_lines

    settings = hull_of(hull)
    if every:
        with reading(settings.db_path) as connection:
            rows = every_fit(connection)
        say(record_lines.fit_lines(rows, settings), json, [dict(row) for row in rows])
        return
    found = standings_at(settings)
    say(record_lines.standing_lines(found, settings), json, {"hull": settings.name, "planks": plain(found)})


@log_app.command()
def show(plank: Plank, fit: FitNumber = None, hull: HullFile = None, json: Json = None) -> None:
    """One fit of a plank: what was measured, asked, planed, felt and signed."""
    from fitcheck.fitlog import queries
    from fitcheck.fitlog.export import fit_as_json
    from fitcheck.fitlog.judged_by import terms_of
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.summary import summary_of
    from fitcheck.report.record.edge_on_record import edge_lines
    from fitcheck.report.record.fit_lines import show_lines
    from fitcheck.report.record.lap_on_record import lap_lines

    settings, name = named(plank, hull)
    with reading(settings.db_path) as connection:
        found = queries.fit(connection, name, fit, withdrawn=True)
        warn_of_altered(connection, name, numbers=[found.number])
        summary = summary_of(connection, found.id, terms_of(name, settings))
        whole = {"plank": str(name), **fit_as_json(connection, found), "summary": summary} if json else None
        lap = lap_lines(connection, found.id, summary, settings)
        edge = edge_lines(connection, found.id, summary, settings)
        say(show_lines(connection, found, summary, settings, advice=edge, lap=lap), json, whole)


@log_app.command()
def compare(
    plank: Plank,
    old: Annotated[int | None, typer.Argument(help="The earlier fit; the one before the later unless told.")] = None,
    new: Annotated[int | None, typer.Argument(help="The later fit; the latest unless told.")] = None,
    hull: HullFile = None,
    json: Json = None,
) -> None:
    """Two fits of one plank: what moved, what was planed off against what was asked, what got worse."""
    from fitcheck.fitlog.compare import compare as compared
    from fitcheck.fitlog.judged_by import terms_of
    from fitcheck.fitlog.store import reading
    from fitcheck.report.record.between_lines import compare_lines

    settings, name = named(plank, hull)
    with reading(settings.db_path) as connection:
        warn_of_altered(connection, name, numbers=[old, new])
        found = compared(connection, name, terms_of(name, settings), old=old, new=new, units=settings.units)
    say(compare_lines(found, settings), json, plain(found))


@log_app.command()
def twin(plank: Plank, hull: HullFile = None, json: Json = None) -> None:
    """Port against starboard of one strake, mirrored, as seen from the bow."""
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.twin import twin as both
    from fitcheck.report.record.between_lines import twin_lines

    settings, name = named(plank, hull)
    with reading(settings.db_path) as connection:
        found = both(connection, name, settings)
        for one in (name, name.twin()):
            warn_of_altered(connection, one, numbers=[None])
    say(twin_lines(found, settings), json, plain(found))


@log_app.command()
def repeat(plank: Plank, fit: FitNumber = None, hull: HullFile = None, json: Json = None) -> None:
    """How well readings repeat: one clamp-up photographed several times by several people (--same-fit --who NAME)."""
    from fitcheck.fitlog.judged_by import terms_of
    from fitcheck.fitlog.repeat import study
    from fitcheck.fitlog.store import reading
    from fitcheck.report.record.between_lines import study_lines

    settings, name = named(plank, hull)
    with reading(settings.db_path) as connection:
        warn_of_altered(connection, name, numbers=[fit])
        found = study(connection, name, terms_of(name, settings), number=fit)
    say(study_lines(found, settings), json, plain(found))
