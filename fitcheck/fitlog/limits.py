"""Limits beside limits: which are looser, what is usual for a hull, and how a signature's stand beside today's."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fitcheck.fitlog.judged_by import Terms

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: The limits a plank is judged by, as the words and as the keys of the settings call them.
WORDS = {
    "limit_mm": "the edge's limit",
    "gap_limit_mm": "the lap's limit",
    "feeler_every_mm": "the length one feeler reading speaks for",
    "least_lap_mm": "the least lap",
}


def usual_limits(connection: sqlite3.Connection) -> dict[str, float | None]:
    """Each limit as it is usual for the hull: what most sets on record were recorded under, or most signatures stood
    on, whichever is tighter.

    Of equally many the tighter counts. Empty where nothing is on record.
    """
    sets = connection.execute(
        "SELECT coalesce(t.terms, s.terms) AS terms FROM standing_takes t JOIN standing_fits f ON f.id = t.fit_id"
        " LEFT JOIN summaries s ON s.fit_id = f.id WHERE coalesce(t.terms, s.terms) IS NOT NULL"
    ).fetchall()
    signed = connection.execute("SELECT stood_on FROM signoffs WHERE stood_on IS NOT NULL").fetchall()
    under = [json.loads(row["terms"]) for row in sets]
    stood = [json.loads(row["stood_on"])["limits"] for row in signed]
    usual: dict[str, float | None] = {}
    for name in WORDS:
        found = [_mode(name, [limits.get(name) for limits in of]) for of in (under, stood) if of]
        if found:
            usual[name] = min(found, key=lambda limit: _looseness(name, limit))
    return usual


def looser(name: str, limit: float | None, than: float | None) -> bool:
    """Whether one value of a limit lets more pass than another."""
    return _looseness(name, limit) > _looseness(name, than) + 1e-9


def looser_lines(limits: Mapping[str, Any], usual: Mapping[str, Any], hull: Hull | None) -> list[str]:
    """The limits that are looser than usual, a line each."""
    return [
        f"{WORDS[name]} is {said(name, limits[name], hull)}, looser than this hull's usual"
        f" {said(name, usual[name], hull)}"
        for name in usual
        if looser(name, limits[name], usual[name])
    ]


def since_lines(then: Mapping[str, Any], terms: Terms, hull: Hull | None) -> list[str]:
    """Where today's limits and ends of the plank are not those that were signed under, a line each."""
    today = asdict(terms)
    lines = []
    for name, words in WORDS.items():
        if looser(name, today[name], then[name]):
            way = "loosened"
        elif looser(name, then[name], today[name]):
            way = "tightened"
        else:
            continue
        was, now = (said(name, limits[name], hull) for limits in (then, today))
        lines.append(f"{way} since it was signed: {words} was {was} and is {now} now")
    if any(then[end] != today[end] for end in ("from_mm", "to_mm")):
        lines.append("the ends told of the plank have changed since it was signed")
    return lines


def said(name: str, limit: float | None, hull: Hull | None) -> str:
    """A limit in the hull's units; "not asked for" where there is none."""
    from fitcheck.ground.lengths import format_length
    from fitcheck.ground.small_lengths import format_small

    if limit is None:
        return "not asked for"
    units = hull.units if hull else "in"
    if name in ("limit_mm", "gap_limit_mm"):
        return format_small(limit, units=units)
    return format_length(limit, units=units, fraction=16, decimals=0)


def _looseness(name: str, limit: float | None) -> float:
    if name == "least_lap_mm":
        return -(limit or 0.0)
    return float("inf") if limit is None else limit


def _mode(name: str, values: list[float | None]) -> float | None:
    counts = Counter(values)
    return min(counts, key=lambda value: (-counts[value], _looseness(name, value)))
