"""What the record says first of a fit's edge: the headline its report had, and what comes before any wood."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from fitcheck.advice.headline import HEADLINES
from fitcheck.fitlog import queries
from fitcheck.report.edge.answer import planing_lines
from fitcheck.report.edge.wording import Wording

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


def edge_lines(connection: sqlite3.Connection, fit_id: int, summary: Mapping[str, Any], hull: Hull) -> list[str]:
    """The headline of one fit, then the move or the short stretches that come first, in the words of its report.

    The cuts it asks for are the record's own to tell.
    """
    if summary.get("verdict") not in HEADLINES:
        return []
    wording = Wording(units=hull.units, fraction=hull.fraction, tape=hull.tape_style)
    lines = [
        line for one in queries.advice_of(connection, fit_id) for line in planing_lines(without_cuts(one), wording)
    ]
    return [HEADLINES[summary["verdict"]][0], *dict.fromkeys(lines)]


def without_cuts(advice: Mapping[str, Any]) -> dict[str, Any]:
    """An advice with nothing in it about wood to come off now."""
    return {"short": [], **advice, "cuts": []}
