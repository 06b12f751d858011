"""What the record says of a fit's lap: where it is open, how far the plank stands proud, which bevel comes first."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from fitcheck.contract.gap_measurement import GapSample
from fitcheck.fitlog import closed, queries
from fitcheck.ground.lengths import format_length
from fitcheck.report.edge.wording import Wording
from fitcheck.report.gap.gap_advice import bevel_lines, gain_lines
from fitcheck.report.gap.gap_steps import proud_lines
from fitcheck.report.gap.gap_words import gap_headline, open_words

if TYPE_CHECKING:
    from fitcheck.hull.plank_name import PlankName
    from fitcheck.hull.settings_file import Hull


#: A photograph's own places count from its card; those on record along the plank.
ON_RECORD = "From this fit's edge-on view, places along the plank:"


def lap_lines(connection: sqlite3.Connection, fit_id: int, summary: Mapping[str, Any], hull: Hull) -> list[str]:
    """The lap of one fit, a line each: gap, step, bevel and gains; nothing where no one looked at it."""
    wording = Wording(units=hull.units, fraction=hull.fraction, tape=hull.tape_style)
    takes = [[_sample(one) for one in take] for take in queries.gap_takes(connection, fit_id)]
    lines = []
    if takes:
        headline, means = gap_headline([one for take in takes for one in take], "lap")
        lines.append(f"{headline}: {means}")
        lines += dict.fromkeys(line for take in takes for line in open_words(take, wording))
    lines += _open(summary, hull)
    lines += proud_lines(queries.steps(connection, fit_id), wording)
    return lines + advice_lines_of(connection, fit_id, wording)


def _sample(seen: closed.GapSample) -> GapSample:
    """A place on record as the report of its view has it."""
    return GapSample(
        along_mm=None,
        gap_mm=seen.gap_mm,
        gap_u95_mm=seen.gap_u95_mm,
        proud_mm=None,
        proud_u95_mm=None,
        edge_px=(0.0, 0.0),
        state=seen.state,
        plank_mm=seen.place_mm,
    )


def _open(summary: Mapping[str, Any], hull: Hull) -> list[str]:
    if not summary.get("open_len_mm"):
        return []
    length = format_length(summary["open_len_mm"], units=hull.units, fraction=4, decimals=0, tape=hull.tape_style)
    return [f"open beyond the limit over {length}"]


def advice_lines_of(connection: sqlite3.Connection, fit_id: int, wording: Wording) -> list[str]:
    """What the edge-on takes of a fit advise on bevel and gains, each line once."""
    lines: list[str] = []
    for advice in queries.lap_advice(connection, fit_id):
        lines += bevel_lines(advice.get("bevel") or {}, wording)
        for gain in advice["gains"]:
            lines += gain_lines(gain, wording)
    return list(dict.fromkeys(lines))


def bevel_first(hull: Hull, plank: PlankName) -> list[str]:
    """The bevel that the latest fit on record asks for first, for the ticket of photographs added to that fit."""
    from fitcheck.fitlog.store import reading

    if not hull.db_path.exists():
        return []
    with reading(hull.db_path) as connection:
        if plank not in queries.planks(connection):
            return []
        fit = queries.fit(connection, plank)
        if queries.cuts_after(connection, fit):
            return []
        lines = advice_lines_of(
            connection, fit.id, Wording(units=hull.units, fraction=hull.fraction, tape=hull.tape_style)
        )
    return [ON_RECORD, *lines] if lines else []
