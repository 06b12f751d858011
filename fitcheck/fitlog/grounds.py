"""What a signature stood on, kept with it: limits, fit, photographs, feeler readings, coverage, and proof by place."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fitcheck.fitlog import queries, rows
from fitcheck.fitlog.closed import lap_profile
from fitcheck.fitlog.fit_profile import Sample, runs
from fitcheck.fitlog.judged_by import Terms
from fitcheck.fitlog.limits import looser_lines, said, usual_limits
from fitcheck.fitlog.summary import LENGTHS, profiles_of, summarise

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


def grounds(connection: sqlite3.Connection, fit: queries.Fit, terms: Terms) -> dict[str, Any]:
    """All that signing ``fit`` under ``terms`` stands on, as JSON can hold it; lengths and places in mm.

    ``coverage_mm`` are lengths of the lap by the edge's state. ``proofs`` tell place by place how the edge lies and how
    the lap was found closed: "photographs", "feeler", or the state where it was not.
    """
    summary = summarise(connection, fit.id, terms)
    frame, profiles = profiles_of(connection, fit.id, terms)
    edge = profiles[0] if frame == "plank" and profiles else []
    return {
        "limits": asdict(terms),
        "usual": usual_limits(connection),
        "fit": {"number": fit.number, "made_at": fit.made_at, "sets": _sets(connection, fit)},
        "feelers": [
            {name: value for name, value in vars(felt).items() if name != "withdrawn"}
            for felt in queries.feelers(connection, fit.id)
        ],
        "coverage_mm": {word: summary[f"{word}_len_mm"] for word in LENGTHS},
        "proofs": {"edge": _runs(edge, [place.state for place in edge]), "lap": _lap(connection, fit, terms, edge)},
    }


def ground_lines(stood_on: Mapping[str, Any], hull: Hull) -> list[str]:
    """What a signature stood on, in a few lines."""
    fit, limits = stood_on["fit"], stood_on["limits"]
    photographs = sum(len(one["photographs"]) for one in fit["sets"])
    feelers = len(stood_on["feelers"])
    lines = [
        f"stood on fit {fit['number']}: {_count(photographs, 'photograph')}, {_count(feelers, 'feeler reading')}",
        f"limits then: edge {said('limit_mm', limits['limit_mm'], hull)},"
        f" lap {said('gap_limit_mm', limits['gap_limit_mm'], hull)}",
        f"edge: {_lengths(stood_on['coverage_mm'], hull) or 'not seen'}",
        f"lap: {_lengths(_by_word(stood_on['proofs']['lap']), hull) or 'not seen'}",
    ]
    return [*lines, *looser_lines(limits, stood_on["usual"], hull)]


def _sets(connection: sqlite3.Connection, fit: queries.Fit) -> list[dict[str, Any]]:
    sets = connection.execute(
        "SELECT id, kind, recorded_at, who, program, digest FROM standing_takes WHERE fit_id = ? ORDER BY id", (fit.id,)
    ).fetchall()
    return [{**dict(one), "photographs": sorted(rows.digests(connection, one["id"]))} for one in sets]


def _lap(
    connection: sqlite3.Connection, fit: queries.Fit, terms: Terms, edge: Sequence[Sample]
) -> list[dict[str, Any]]:
    takes, feelers = queries.gap_takes(connection, fit.id), queries.feelers(connection, fit.id)
    seen = {place.place_mm: place.state for place in lap_profile(takes, [], terms, edge)}
    lap = lap_profile(takes, feelers, terms, edge)
    words = []
    for place in lap:
        by = "photographs" if seen.get(place.place_mm) == "closed" else "feeler"
        words.append(by if place.state == "closed" else place.state)
    return _runs(lap, words)


def _runs(profile: Sequence[Sample], words: Sequence[str]) -> list[dict[str, Any]]:
    return [{"from_mm": run.from_mm, "to_mm": run.to_mm, "word": run.word} for run in runs(profile, words)]


def _by_word(proofs: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    found: dict[str, float] = {}
    for run in proofs:
        word = {"photographs": "closed by photographs", "feeler": "closed by feeler"}.get(run["word"], run["word"])
        found[word] = found.get(word, 0.0) + run["to_mm"] - run["from_mm"]
    return found


def _lengths(by_word: Mapping[str, float], hull: Hull) -> str:
    from fitcheck.ground.lengths import format_length

    return ", ".join(
        f"{word} over {format_length(length_mm, units=hull.units, fraction=4, decimals=0)}"
        for word, length_mm in by_word.items()
        if length_mm > 0
    )


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
