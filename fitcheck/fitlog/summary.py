"""A fit in one row: its extremes, its lengths by state and its cuts, so that listing never reads samples."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import Any

from fitcheck.advice.headline import FIRST_OF_ALL, headline_of
from fitcheck.fitlog import queries
from fitcheck.fitlog.chain import seal
from fitcheck.fitlog.closed import lap_profile
from fitcheck.fitlog.fit_profile import Sample, judged, merge, runs
from fitcheck.fitlog.judged_by import Terms

LENGTHS = ("past", "short", "on", "unsure", "hidden", "covered", "ambiguous", "unseen")
#: Places with no sure answer.
DOUBTFUL = ("unsure", "hidden", "covered", "ambiguous", "unseen")


def refresh(connection: sqlite3.Connection, fit_id: int, terms: Terms) -> None:
    """Work the summary of one fit out anew and store it; to be called in the transaction that changed the fit."""
    row = summarise(connection, fit_id, terms)
    columns = ", ".join(row)
    marks = ", ".join(f":{column}" for column in row)
    connection.execute(f"INSERT OR REPLACE INTO summaries ({columns}) VALUES ({marks})", row)
    seal(connection, what="summary", row_id=fit_id)


def summary_of(connection: sqlite3.Connection, fit_id: int, terms: Terms) -> dict[str, Any]:
    """The summary of one fit as it is stored, or worked out anew where it was judged by other terms."""
    row = connection.execute("SELECT * FROM summaries WHERE fit_id = ?", (fit_id,)).fetchone()
    return dict(row) if row is not None and row["terms"] == terms.key() else summarise(connection, fit_id, terms)


def summarise(connection: sqlite3.Connection, fit_id: int, terms: Terms) -> dict[str, Any]:
    """The summary of one fit as the columns of the table ``summaries``, all lengths in mm."""
    frame, profiles = profiles_of(connection, fit_id, terms)
    along_plank = [place for profile in profiles for place in profile] if frame == "plank" else []
    if frame == "plank":
        # What lies elsewhere counts as much, though nobody knows where.
        takes = queries.edge_takes(connection, fit_id)
        profiles = [*profiles, *(judged(samples, terms) for where, samples in takes if where == "photo")]
    everything = [place for profile in profiles for place in profile]
    lap = lap_of(connection, fit_id, terms, along_plank)
    advice = queries.advice_of(connection, fit_id)
    cuts = queries.advised_cuts(connection, fit_id)
    said = [headline for headline in map(headline_of, advice) if headline in FIRST_OF_ALL]
    return {
        "fit_id": fit_id,
        "terms": terms.key(),
        "frame": frame,
        "from_mm": min((place.place_mm for place in along_plank or everything), default=None),
        "to_mm": max((place.place_mm for place in along_plank or everything), default=None),
        **_extreme("worst_past", everything, +1),
        **_extreme("worst_short", everything, -1),
        **_lengths(profiles),
        "verdict": min(said, key=FIRST_OF_ALL.index, default=None),
        "cuts": len(cuts),
        "deepest_mm": max(
            (float(cut["deepest_mm"]) for cut in cuts if cut.get("deepest_mm") is not None), default=None
        ),
        **_closure(lap),
    }


def profiles_of(connection: sqlite3.Connection, fit_id: int, terms: Terms) -> tuple[str, list[list[Sample]]]:
    """The frame of a fit and its profiles: one along the plank, or one for each photograph whose place is not known."""
    takes = queries.edge_takes(connection, fit_id)
    along_plank = [samples for frame, samples in takes if frame == "plank"]
    if along_plank or not takes:
        merged = merge(along_plank, terms)
        return "plank", [merged] if merged else []
    return "photo", [judged(samples, terms) for _, samples in takes]


def lap_of(connection: sqlite3.Connection, fit_id: int, terms: Terms, edge: Sequence[Sample]) -> list[Sample]:
    """Whether the lap is closed at every place of the plank, as one fit's photographs and feelers tell."""
    return lap_profile(queries.gap_takes(connection, fit_id), queries.feelers(connection, fit_id), terms, edge)


def _extreme(name: str, places: Sequence[Sample], side: int) -> dict[str, float | None]:
    valued = [place for place in places if place.past_line_mm is not None and place.past_line_mm * side > 0]
    worst = max(valued, key=lambda place: (place.past_line_mm or 0.0) * side, default=None)
    value, u95, at = (worst.past_line_mm, worst.u95_mm, worst.place_mm) if worst else (None, None, None)
    return {f"{name}_mm": value, f"{name}_u95_mm": u95, f"{name}_at_mm": at}


def _lengths(profiles: Sequence[Sequence[Sample]]) -> dict[str, float]:
    found = dict.fromkeys([f"{word}_len_mm" for word in LENGTHS], 0.0)
    longest = 0.0
    for profile in profiles:
        for run in runs(profile):
            found[f"{run.word}_len_mm"] += run.length_mm
        doubts = runs(profile, ["doubt" if place.state in DOUBTFUL else "sure" for place in profile])
        longest = max([longest, *(run.length_mm for run in doubts if run.word == "doubt")])
    return {**found, "longest_doubt_mm": longest}


def _closure(lap: Sequence[Sample]) -> dict[str, float | None]:
    by_word = {"open": 0.0, "closed": 0.0, "unsure": 0.0, "unseen": 0.0}
    for run in runs(lap):
        by_word[run.word] += run.length_mm
    widest = max(
        (place for place in lap if place.past_line_mm is not None), key=lambda p: p.past_line_mm or 0, default=None
    )
    return {
        "worst_gap_mm": widest.past_line_mm if widest else None,
        "worst_gap_at_mm": widest.place_mm if widest else None,
        "open_len_mm": by_word["open"],
        "lap_doubt_len_mm": by_word["unsure"] + by_word["unseen"] if lap else None,
    }
