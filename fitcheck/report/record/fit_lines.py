"""One fit in lines of plain text: what was measured, asked, planed, felt, signed and taken back."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any

from fitcheck.fitlog import queries
from fitcheck.fitlog.closed import Feeler
from fitcheck.fitlog.grounds import ground_lines
from fitcheck.fitlog.judged_by import Terms, terms_of
from fitcheck.fitlog.limits import since_lines
from fitcheck.fitlog.notes import RULE_U95_MM, Note, notes
from fitcheck.fitlog.recorded_parts import part_lines
from fitcheck.fitlog.withdrawn import Withdrawn, withdrawn_of
from fitcheck.ground.lengths import format_past
from fitcheck.ground.small_lengths import format_blade
from fitcheck.hull.settings_file import Hull
from fitcheck.report.record.record_lines import (
    asked_depth,
    counted,
    moment,
    place,
    planed_depth,
    seen_of,
    span,
    told_lines,
    worst_words,
)


def show_lines(
    connection: sqlite3.Connection,
    fit: queries.Fit,
    summary: Mapping[str, Any],
    hull: Hull,
    *,
    advice: Sequence[str] = (),
    lap: Sequence[str] = (),
) -> list[str]:
    """One fit: what was told of it, what was measured, asked, planed, felt and signed.

    ``advice`` is its headline with what comes before any wood, ``lap`` what is said of its lap.
    """
    past, short, seen = worst_words(summary, hull)
    lines = [
        struck(f"{fit.plank}, fit {fit.number}, {moment(fit.made_at)}", fit.withdrawn),
        *([f"moved here; it was recorded as {fit.moved_from}"] if fit.moved_from else []),
        *told_lines(fit),
        *advice,
        f"most past the line: {past}; most short: {short}; seen: {seen} {seen_of(summary)}",
        *part_lines(connection, fit.id),
        *set_lines(connection, fit),
        *lap,
        *_asked_lines(queries.advised_cuts(connection, fit.id), hull),
    ]
    for cut in queries.cuts_after(connection, fit, withdrawn=True):
        lines.append(struck(f"planed after it: {cut_words(cut, hull)}", cut.withdrawn))
    for feeler in queries.feelers(connection, fit.id, withdrawn=True):
        lines.append(struck(feeler_words(feeler, hull), feeler.withdrawn))
    for note in notes(connection, fit.plank, withdrawn=True):
        if note.fit == fit.number:
            lines.append(struck(note_words(note, hull), note.withdrawn))
    for signoff in queries.signoffs(connection, fit.plank):
        if signoff.fit_number == fit.number:
            lines += signoff_lines(signoff, hull, terms_of(fit.plank, hull))
    return lines


def cut_words(cut: queries.Cut, hull: Hull) -> str:
    """One reported cut: its number, where, how deep, by whom and the note."""
    where = span(cut.from_mm, cut.to_mm, hull, card=cut.from_card)
    where += f", {planed_depth(cut.deepest_mm, hull)} deep{counted(cut.from_card)}"
    return f"cut {cut.number}: {where}{_by(cut.who)}{_dash(cut.note)}"


def feeler_words(feeler: Feeler, hull: Hull) -> str:
    """One feeler reading: its number, blade, place, whether it went in, by whom, when, and the note."""
    said = f"{format_blade(feeler.blade_mm, units=hull.units)} {'goes in' if feeler.goes_in else 'stays out'}"
    where = span(feeler.from_mm, feeler.to_mm, hull)
    when = f", {moment(feeler.made_at)}"
    return f"feeler reading {feeler.number}: {said}: {where}{_by(feeler.who)}{when}{_dash(feeler.note)}"


def note_words(note: Note, hull: Hull) -> str:
    """One note, or a rule's reading beside what was measured there: its number, by whom, when, and the note."""
    head = f"note {note.number}{_by(note.who)}, {moment(note.made_at)}"
    if note.at_mm is None or note.past_line_mm is None:
        return f"{head}: {' / '.join(note.note.splitlines())}"
    said = format_past(note.past_line_mm, RULE_U95_MM, units=hull.units, fraction=64)
    head = f"{head}: a rule reads {said} at {place(note.at_mm, hull)}"
    if note.measured is None:
        return f"{head}; no photograph of this fit has a number there{_dash(note.note)}"
    measured = format_past(*note.measured, units=hull.units, fraction=hull.fraction)
    agrees = "the two agree" if note.agrees else "THEY DO NOT AGREE: look at the picture before any wood comes off"
    return f"{head}; the photographs say {measured}: {agrees}{_dash(note.note)}"


def set_lines(connection: sqlite3.Connection, fit: queries.Fit) -> list[str]:
    """The sets of photographs of a fit, a line each; nothing where it has one, which says nothing more."""
    rows = connection.execute(
        "SELECT t.*, (SELECT count(*) FROM take_photographs p WHERE p.take_id = t.id) AS photographs,"
        " EXISTS (SELECT 1 FROM standing_takes s WHERE s.id = t.id) AS stands"
        " FROM takes t WHERE t.fit_id = ? ORDER BY t.id",
        (fit.id,),
    ).fetchall()
    if len(rows) < 2:
        return []
    lines = []
    for number, row in enumerate(rows, start=1):
        kind = "edge-on view" if row["kind"] == "gap" else "edge"
        count = f"{row['photographs']} photograph{'' if row['photographs'] == 1 else 's'}"
        line = f"set {number}: {kind}, {count}, {moment(row['recorded_at'])}{_by(row['who'])}"
        gone = withdrawn_of(connection, take_id=row["id"])
        lines.append(f"{line}; measured anew since" if gone is None and not row["stands"] else struck(line, gone))
    return lines


def signoff_lines(signoff: queries.Signoff, hull: Hull, terms: Terms) -> list[str]:
    """One signature: by whom, on what it stood, what was overruled, what opened it again, and where its limits are not
    those of today, which are ``terms``."""
    lines = [f"signed off by {signoff.who}, {moment(signoff.signed_at)}"]
    if signoff.overruled is not None:
        lines.append(f"  overruled in writing: {signoff.overruled}")
        lines += [f"  missing then: {text}" for text in signoff.missing]
    if signoff.stood_on is not None:
        lines += [f"  {line}" for line in ground_lines(signoff.stood_on, hull)]
        lines += [f"  {line}" for line in since_lines(signoff.stood_on["limits"], terms, hull)]
    if signoff.opened_at is not None:
        lines.append(f"  opened again {moment(signoff.opened_at)} by a later {signoff.opened_why}")
    return lines


def struck(line: str, gone: Withdrawn | None) -> str:
    """A line as it is, or marked as withdrawn, with who, when and why."""
    if gone is None:
        return line
    return f"[{_done(gone)}] {line} ({withdrawn_line(gone)})"


def withdrawn_line(gone: Withdrawn) -> str:
    """That something was withdrawn or moved, by whom, when and why."""
    return f"{_done(gone)} by {gone.who}, {moment(gone.made_at)}: {' / '.join(gone.why.splitlines())}"


def _done(gone: Withdrawn) -> str:
    return "withdrawn" if gone.moved_to is None else f"moved to {gone.moved_to}"


def _asked_lines(cuts: Sequence[Mapping[str, Any]], hull: Hull) -> list[str]:
    return [
        f"asked to plane: {span(cut['from_mm'], cut['to_mm'], hull, card=cut.get('from_card'))},"
        f" {asked_depth(cut['deepest_mm'], hull)} at the deepest{counted(cut.get('from_card'))}"
        for cut in cuts
    ]


def _by(who: str | None) -> str:
    return f" by {who}" if who else ""


def _dash(note: str) -> str:
    return f" - {' / '.join(note.splitlines())}" if note else ""
