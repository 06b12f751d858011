"""How the chain of seals names what was altered: columns of the record in the builder's words."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

#: Columns, and the tables' names before a dot, by what they hold; another column is told by its own name.
WORDS = {
    "made_at": "its date",
    "recorded_at": "its date",
    "signed_at": "its date",
    "opened_at": "its date",
    "who": "who did it",
    "note": "its note",
    "moisture_pct": "its moisture",
    "temperature_c": "its temperature",
    "clamps": "how it was clamped",
    "number": "its number",
    "plank_id": "its plank",
    "plank.": "its plank",
    "fit_id": "its fit",
    "settings": "its settings and limits",
    "advice": "its planing advice",
    "document": "its measurement",
    "digest": "its measurement",
    "camera.": "its camera",
    "calibration": "its camera",
    "photographs.": "its photographs",
    "samples.": "its measured values",
    "gaps.": "its measured values",
    "superseded_by": "which set stands in its place",
    "at_mm": "its place",
    "past_line_mm": "its reading",
    "taken_back_at": "its date",
    "taken_back_by": "who took it back",
    "taken_back_why": "why it was taken back",
    "overruled": "why it was overruled",
    "missing": "what was missing",
    "opened_why": "why it was opened",
    "terms": "its limits",
}


def altered(about: str, sealed_at: str, columns: Iterable[str]) -> str:
    """One line: what was altered of which event, since when. ``columns`` are as the chain names them."""
    words = dict.fromkeys(f"{_word(column)} ({column})" for column in columns)
    return f"{about} was altered after {plain_date(sealed_at)}: {', '.join(words)}"


def plain_date(moment: str) -> str:
    """A time of the record as a day and a time in UTC; as it stands where it cannot be read."""
    try:
        return f"{datetime.fromisoformat(moment):%Y-%m-%d %H:%M} UTC"
    except ValueError:
        return repr(moment)


def _word(column: str) -> str:
    table, dot, _ = column.partition(".")
    return WORDS.get(table + dot, WORDS.get(column, "its content"))
