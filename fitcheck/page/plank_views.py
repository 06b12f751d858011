"""One plank: where it stands, what to do, and its fits on record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from fitcheck.ground.refusal import WrongCall
from fitcheck.page.asked import Ask
from fitcheck.page.hull_views import plank_card

if TYPE_CHECKING:
    import sqlite3

    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull


def plank(ask: Ask) -> Response:
    """What to do with one plank, and its fits, the latest first."""
    from fitcheck.fitlog.listing import not_begun, standings
    from fitcheck.fitlog.store import is_begun, reading

    hull = ask.shop.hull()
    name = ask.plank(hull)
    standing, fits, altered = not_begun(name), [], []
    if is_begun(hull.db_path):
        from fitcheck.fitlog.as_written import altered_of

        with reading(hull.db_path) as connection:
            standing = next((one for one in standings(connection, hull) if one.plank == name), standing)
            fits = _fits(connection, name, hull) if standing.fits else []
            altered = list(altered_of(connection, name)) if fits else []
    return ask.page(
        "plank.html", hull=hull.name, plank=str(name), card=plank_card(standing), fits=fits, altered=altered
    )


def fit(ask: Ask) -> Response:
    """One fit as it is on record."""
    from fitcheck.fitlog import queries
    from fitcheck.fitlog.as_written import altered_of
    from fitcheck.fitlog.judged_by import terms_of
    from fitcheck.fitlog.store import reading
    from fitcheck.fitlog.summary import summary_of
    from fitcheck.report.record.edge_on_record import edge_lines
    from fitcheck.report.record.fit_lines import show_lines
    from fitcheck.report.record.lap_on_record import lap_lines

    hull = ask.shop.hull()
    name = ask.plank(hull)
    with reading(hull.db_path) as connection:
        found = queries.fit(connection, name, _number(ask), withdrawn=True)
        summary = summary_of(connection, found.id, terms_of(name, hull))
        lap = lap_lines(connection, found.id, summary, hull)
        edge = edge_lines(connection, found.id, summary, hull)
        lines = show_lines(connection, found, summary, hull, advice=edge, lap=lap)
        altered = list(altered_of(connection, name, numbers=[found.number]))
    return ask.page(
        "fit.html",
        hull=hull.name,
        plank=str(name),
        number=found.number,
        title=lines[0],
        lines=lines[1:],
        altered=altered,
    )


def _number(ask: Ask) -> int | None:
    told = ask.told.get("fit", "")
    if not told:
        return None
    if not (told.isascii() and told.isdecimal() and len(told) < 10):
        raise WrongCall("a fit is told by its number")
    return int(told)


def _fits(connection: sqlite3.Connection, name: PlankName, hull: Hull) -> list[dict[str, Any]]:
    from fitcheck.fitlog import queries
    from fitcheck.fitlog.judged_by import terms_of
    from fitcheck.fitlog.summary import summary_of
    from fitcheck.report.record.record_lines import moment, worst_words

    terms = terms_of(name, hull)
    found = []
    for one in reversed(queries.fits(connection, name)):
        past, short, seen = worst_words(summary_of(connection, one.id, terms), hull)
        words = f"most past the line: {past}; most short: {short}; seen: {seen}"
        found.append({"number": one.number, "made": moment(one.made_at), "who": one.who or "", "words": words})
    return found
