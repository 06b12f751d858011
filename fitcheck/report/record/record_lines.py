"""What the record says, in lines of plain text for the terminal."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from fitcheck.advice.cut_depth import FINEST_MM, format_depth, told_depth_mm
from fitcheck.fitlog import queries
from fitcheck.fitlog.listing import Standing, share_seen
from fitcheck.ground.lengths import format_doubt, format_past
from fitcheck.ground.small_lengths import format_small
from fitcheck.ground.tape_places import format_place
from fitcheck.hull.plank_name import PlankName
from fitcheck.hull.settings_file import Hull

#: What the column "seen" says.
SEEN = "seen: of the plank's length; where fitcheck.toml does not tell its ends (from, to), of what was photographed"


def table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Rows in columns as wide as they need, the last one ragged."""
    cells = [list(header), *map(list, rows)]
    widths = [max(len(row[i]) for row in cells) for i in range(len(header))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]


def standing_lines(found: Sequence[Standing], hull: Hull) -> list[str]:
    """Where every plank stands and what needs doing next, and how many are in which state."""
    rows = [
        (
            f"{standing.plank}",
            str(standing.fits or "-"),
            day(standing.made_at) if standing.made_at else "-",
            standing.state,
            *worst_words(standing.summary, hull),
            standing.todo,
        )
        for standing in found
    ]
    counts: dict[str, int] = {}
    for standing in found:
        counts[standing.state] = counts.get(standing.state, 0) + 1
    header = ("plank", "fits", "last fit", "state", "most past", "most short", "seen", "next")
    total = ", ".join(f"{count} {state}" for state, count in counts.items())
    foot = ["", SEEN] if any(standing.summary for standing in found) else []
    return [f"{hull.name}: {total or 'no strakes listed and nothing recorded'}", "", *table(header, rows), *foot]


def fit_lines(rows: Sequence[sqlite3.Row], hull: Hull) -> list[str]:
    """Every fit in one line each, oldest first."""
    lines = [
        (
            str(PlankName(row["strake"], row["side"], row["part"])),
            str(row["number"]),
            day(row["made_at"]),
            row["who"] or "-",
            *worst_words(dict(row), hull),
            row["verdict"] or "-",
            row["note"].replace("\n", " / "),
        )
        for row in rows
    ]
    return table(("plank", "fit", "made", "who", "most past", "most short", "seen", "verdict", "note"), lines)


def day(made_at: str) -> str:
    """The date of a recorded time, as the clock here shows it."""
    return f"{datetime.fromisoformat(made_at).astimezone():%Y-%m-%d}"


def moment(made_at: str) -> str:
    """Date and time of a recorded time, as the clock here shows them."""
    return f"{datetime.fromisoformat(made_at).astimezone():%Y-%m-%d %H:%M}"


def worst_words(summary: Mapping[str, Any], hull: Hull) -> tuple[str, str, str]:
    """The most past the line, the most short of it and the share seen, of one fit's summary; dashes without one."""
    if not summary:
        return "-", "-", "-"

    def said(name: str) -> str:
        value, u95 = summary[f"{name}_mm"], summary[f"{name}_u95_mm"]
        if value is None:
            return "none"
        words = format_past(value, u95, units=hull.units, fraction=hull.fraction)
        return words.removeprefix("past ").removeprefix("short ")

    return said("worst_past"), said("worst_short"), f"{math.floor(100 * share_seen(summary) + 1e-9)} %"


def seen_of(summary: Mapping[str, Any]) -> str:
    """What the share seen is a share of: the plank's length where its ends are told, else what was photographed."""
    terms = json.loads(summary.get("terms") or "{}")
    ended = summary.get("frame") == "plank" and None not in (terms.get("from_mm"), terms.get("to_mm"))
    return "of the plank's length" if ended else "of what was photographed"


def told_lines(fit: queries.Fit) -> list[str]:
    """What was told of a fit: who, clamps, moisture, temperature, and the note."""
    told = [
        f"by {fit.who}" if fit.who else "",
        f"clamps {fit.clamps}" if fit.clamps else "",
        f"moisture {fit.moisture_pct:g} %" if fit.moisture_pct is not None else "",
        f"{fit.temperature_c:g} °C" if fit.temperature_c is not None else "",
    ]
    lines = [", ".join(word for word in told if word)]
    return [line for line in [*lines, *fit.note.splitlines()] if line]


def counted(card: int | None) -> str:
    """What a stretch counts from, where that may not be card 0."""
    return "" if card is None else f", counted from card {card}"


def span(from_mm: float, to_mm: float, hull: Hull, *, card: int | None = None) -> str:
    """From where to where along the plank, in the hull's units; one place where the ends are said alike.

    ``card`` is the one that a stretch counts from, where that may not be card 0.
    """
    first, last = place(from_mm, hull, card=card), place(to_mm, hull, card=card)
    return first if first == last else f"{first} to {last}"


def place(place_mm: float, hull: Hull, *, card: int | None = None) -> str:
    """A place along the plank as the tape reads, to 1/8 in or 1 mm."""
    return format_place(place_mm, units=hull.units, tape=hull.tape_style, from_card=card or 0)


def size(size_mm: float, hull: Hull) -> str:
    """A small length, to 1/64 in or 0.01 mm, and finer where it is smaller: never nothing where there is something."""
    return format_small(size_mm, units=hull.units)


def asked_depth(depth_mm: float, hull: Hull) -> str:
    """How deep a fit asks to plane, as its ticket says it: rounded down, or a shaving."""
    return format_depth(depth_mm, hull.units)


def planed_depth(depth_mm: float, hull: Hull) -> str:
    """How deep a cut was reported to be: as it was asked for, or as near as :func:`size` says what was given."""
    as_asked = depth_mm < FINEST_MM[hull.units] or abs(told_depth_mm(depth_mm, hull.units) - depth_mm) < 1e-3
    return format_depth(depth_mm, hull.units) if as_asked else size(depth_mm, hull)


def doubt(u95_mm: float, hull: Hull) -> str:
    """A 95 % half-width, rounded up."""
    return format_doubt(u95_mm, units=hull.units, fraction=hull.fraction)
