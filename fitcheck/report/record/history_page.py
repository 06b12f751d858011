"""The history of one plank as one HTML page: everything in the file, nothing asked of a network, fit to print."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck import __version__
from fitcheck.ground.files import write_text
from fitcheck.report.drawing.cautions import CAUTIONS
from fitcheck.report.record import fit_lines, record_lines
from fitcheck.report.record.history_chart import history_chart, twin_chart, worst_chart
from fitcheck.report.record.lap_on_record import lap_lines

if TYPE_CHECKING:
    from fitcheck.fitlog.closed import Feeler
    from fitcheck.fitlog.compare import Comparison
    from fitcheck.fitlog.history import History, PastFit
    from fitcheck.fitlog.queries import Cut, Fit
    from fitcheck.fitlog.twin import Twin
    from fitcheck.fitlog.withdrawn import Withdrawn
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull

TEMPLATES = Path(__file__).parent


def write_plank_history(hull: Hull, plank: PlankName, path: Path) -> Path:
    """Write the history of one plank as one HTML file.

    Raises :class:`WrongCall` where nothing of the plank is on record, or the file cannot be written.
    """
    return write_text(path, plank_history(hull, plank))


def plank_history(hull: Hull, plank: PlankName) -> str:
    """The history of one plank as one HTML file. Raises :class:`WrongCall` where nothing of the plank is on record."""
    from fitcheck.fitlog.history import history
    from fitcheck.fitlog.listing import not_begun, standings
    from fitcheck.fitlog.store import reading

    with reading(hull.db_path) as connection:
        gathered = history(connection, plank, hull)
        standing = next((found for found in standings(connection, hull) if found.plank == plank), not_begun(plank))
        compared, both = _compared(connection, gathered, hull.units), _twin(connection, plank, hull)
        every = (*gathered.fits, *gathered.withdrawn)
        laps = {past.fit.id: lap_lines(connection, past.fit.id, past.summary, hull) for past in every}
    said = {"state": standing.state, "todo": standing.todo}
    return plank_html(hull, gathered, **said, compared=compared, twin=both, laps=laps)


def plank_html(
    hull: Hull,
    gathered: History,
    *,
    state: str,
    todo: str,
    compared: Comparison | None = None,
    twin: Twin | None = None,
    laps: Mapping[int, Sequence[str]] | None = None,
) -> str:
    """The page of one plank's history; ``laps`` says of each fit, by its id, what is known of its lap.

    Names and notes from the record are escaped.
    """
    from fitcheck.report.record.between_lines import compare_lines, twin_lines

    chart = history_chart(gathered, hull)
    every = sorted([*gathered.fits, *gathered.withdrawn], key=lambda past: past.fit.number)
    return rendered(
        "history_plank.html",
        title=f"{hull.name}, plank {gathered.plank}",
        state=_capital(state),
        todo=_capital(todo),
        date=f"{datetime.now():%Y-%m-%d %H:%M}",
        chart=data_uri(chart, "image/svg+xml") if chart else None,
        worst=data_uri(worst_chart(gathered, hull), "image/svg+xml") if gathered.fits else None,
        rows=[_row(past, hull, (laps or {}).get(past.fit.id, ())) for past in reversed(every)],
        compared=compare_lines(compared, hull) if compared else [],
        twin=data_uri(twin_chart(twin, hull), "image/svg+xml") if twin else None,
        twin_lines=twin_lines(twin, hull) if twin else [],
        cuts=[_cut(cut, hull) for cut in gathered.cuts],
        feelers=[_feeler(past.fit.number, feeler, hull) for past in every for feeler in past.feelers],
        notes=[{"line": fit_lines.note_words(note, hull), "gone": _gone(note.withdrawn)} for note in gathered.notes],
        signoffs=[
            line for signoff in gathered.signoffs for line in fit_lines.signoff_lines(signoff, hull, gathered.terms)
        ],
        cautions=CAUTIONS,
        version=__version__,
    )


def rendered(template: str, **values: Any) -> str:
    """A template of this folder filled in; all values are escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    loader = FileSystemLoader(TEMPLATES)
    environment = Environment(
        loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=StrictUndefined
    )
    return environment.get_template(template).render(**values)


def data_uri(content: bytes, kind: str) -> str:
    """A picture as an address that carries it."""
    return f"data:{kind};base64,{base64.b64encode(content).decode('ascii')}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _compared(connection: Any, gathered: History, units: str) -> Comparison | None:
    from fitcheck.fitlog.compare import compare
    from fitcheck.ground.refusal import Refused

    if len(gathered.fits) < 2:
        return None
    try:
        return compare(connection, gathered.plank, gathered.terms, units=units)
    except Refused:
        return None


def _twin(connection: Any, plank: PlankName, hull: Hull) -> Twin | None:
    from fitcheck.fitlog.twin import twin
    from fitcheck.ground.refusal import Refused, WrongCall

    try:
        return twin(connection, plank, hull)
    except (Refused, WrongCall):
        return None


def _row(past: PastFit, hull: Hull, lap: Sequence[str]) -> dict[str, Any]:
    worst_past, worst_short, seen = record_lines.worst_words(past.summary, hull)
    asked = [
        f"{_where(c, hull)}: {record_lines.asked_depth(c['deepest_mm'], hull)} deep"
        f"{record_lines.counted(c.get('from_card'))}"
        for c in past.asked
    ]
    return {
        "number": past.fit.number,
        "made": record_lines.moment(past.fit.made_at),
        "told": _told(past.fit),
        "struck": past.fit.withdrawn is not None,
        "past": worst_past,
        "short": worst_short,
        "seen": seen,
        "asked": asked,
        "lap": lap,
    }


def _where(cut: Mapping[str, Any], hull: Hull) -> str:
    return record_lines.span(cut["from_mm"], cut["to_mm"], hull, card=cut.get("from_card"))


def _told(fit: Fit) -> list[str]:
    """What was told of a fit, and where it came from or why it no longer counts."""
    lines = [f"recorded as {fit.moved_from}"] if fit.moved_from else []
    gone = [fit_lines.withdrawn_line(fit.withdrawn)] if fit.withdrawn else []
    return [*gone, *lines, *record_lines.told_lines(fit)]


def _feeler(number: int, feeler: Feeler, hull: Hull) -> dict[str, str]:
    return {"line": f"fit {number}, {fit_lines.feeler_words(feeler, hull)}", "gone": _gone(feeler.withdrawn)}


def _cut(cut: Cut, hull: Hull) -> dict[str, str]:
    after = f"after fit {cut.after_fit}" if cut.after_fit else "before the first fit"
    line = f"{record_lines.day(cut.made_at)}, {after}: {fit_lines.cut_words(cut, hull)}"
    return {"line": line, "gone": _gone(cut.withdrawn)}


def _gone(withdrawn: Withdrawn | None) -> str:
    return fit_lines.withdrawn_line(withdrawn) if withdrawn else ""
