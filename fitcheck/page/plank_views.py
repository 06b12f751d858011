"""One plank: where it stands, what to do, and its fits on record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from fitcheck.page.asked import Ask
from fitcheck.page.by_hand_views import DONE
from fitcheck.page.hull_views import plank_card

if TYPE_CHECKING:
    import sqlite3

    from fitcheck.fitlog.queries import Fit
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull


def plank(ask: Ask) -> Response:
    """What to do with one plank, and its fits, the latest first."""
    from fitcheck.fitlog.listing import not_begun, standings
    from fitcheck.fitlog.store import is_begun, reading

    hull = ask.shop.hull()
    name = ask.plank(hull)
    standing, fits, altered, told = not_begun(name), [], [], []
    if is_begun(hull.db_path):
        from fitcheck.fitlog.as_written import altered_of

        with reading(hull.db_path) as connection:
            standing = next((one for one in standings(connection, hull) if one.plank == name), standing)
            fits = _fits(connection, name, hull) if standing.fits else []
            altered = list(altered_of(connection, name)) if fits else []
            told = _notes(connection, name, hull)
    return ask.page(
        "plank.html",
        done=DONE.get(ask.told.get("done", ""), ""),
        by_hand=bool(fits),
        hull=hull.name,
        plank=str(name),
        card=plank_card(standing),
        fits=fits,
        altered=altered,
        notes=told,
        jobs=_jobs(ask, name),
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
        found = queries.fit(connection, name, ask.number("fit"), withdrawn=True)
        summary = summary_of(connection, found.id, terms_of(name, hull))
        lap = lap_lines(connection, found.id, summary, hull)
        edge = edge_lines(connection, found.id, summary, hull)
        lines = show_lines(connection, found, summary, hull, advice=edge, lap=lap)
        altered = list(altered_of(connection, name, numbers=[found.number]))
        taken = _to_take_back(connection, found, hull)
    return ask.page(
        "fit.html",
        hull=hull.name,
        plank=str(name),
        number=found.number,
        title=lines[0],
        lines=lines[1:],
        altered=altered,
        taken=taken,
    )


def _to_take_back(connection: sqlite3.Connection, fit: Fit, hull: Hull) -> list[dict[str, Any]]:
    """What can be taken back of a fit: itself, the cuts after it, readings and notes."""
    from fitcheck.fitlog import queries
    from fitcheck.fitlog.notes import notes
    from fitcheck.report.record.fit_lines import cut_words, feeler_words, note_words

    if fit.withdrawn is not None:
        return []
    found = [{"what": "fit", "number": fit.number, "words": f"fit {fit.number} with its photographs"}]
    for cut in queries.cuts_after(connection, fit):
        found.append({"what": "cut", "number": cut.number, "words": cut_words(cut, hull)})
    for felt in queries.feelers(connection, fit.id):
        found.append({"what": "feeler", "number": felt.number, "words": feeler_words(felt, hull)})
    for note in notes(connection, fit.plank):
        if note.fit == fit.number:
            found.append({"what": "note", "number": note.number, "words": note_words(note, hull)})
    return found


def _notes(connection: sqlite3.Connection, name: PlankName, hull: Hull) -> list[dict[str, Any]]:
    """The notes and readings of a plank, the latest first, those taken back struck through."""
    from fitcheck.fitlog.notes import notes
    from fitcheck.report.record.fit_lines import note_words, struck

    return [
        {
            "number": note.number,
            "line": struck(note_words(note, hull), note.withdrawn),
            "stands": note.withdrawn is None,
        }
        for note in reversed(notes(connection, name, withdrawn=True))
    ]


def _jobs(ask: Ask, name: PlankName) -> list[dict[str, Any]]:
    """The photographs of a plank that were sent, the latest first, with how far they are and what they show."""
    from fitcheck.page.job_views import words_of
    from fitcheck.page.jobs import jobs_of
    from fitcheck.report.record.record_lines import moment

    shows = {"edge": "the edge", "gap": "the lap, edge-on"}
    return [
        {
            "id": job.id,
            "made": moment(job.made_at),
            "words": f"{shows[job.kind]}: {words_of(job, 0.0)}" + (f", fit {job.fit}" if job.fit else ""),
        }
        for job in jobs_of(ask.shop.db_path, str(name), most=10)
    ]


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
