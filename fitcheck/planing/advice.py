"""The planing advice for one photograph or one plank: move, cuts, what stays short, what is unseen, and the verdict."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from fitcheck.decide import Stretch, span_json, stretches, unseen_json
from fitcheck.measurement import STATES_WITH_VALUE, Sample
from fitcheck.planing import words
from fitcheck.planing.cuts import find_cuts
from fitcheck.planing.edge import edge_of, samples_at
from fitcheck.planing.found import Found, warnings_of
from fitcheck.planing.move import best_move
from fitcheck.refusal import WrongCall

#: What the edge does with the drawn line, as a share of the line's width beyond its middle.
LINE_SHARE = {"split": 0.0, "take": 0.5, "leave": -0.5}
PREFER = ("least-wood", "shallowest")
ENDS = ("free", "held")


def advise(
    samples: Sequence[Sample],
    *,
    limit_mm: float,
    lap_mm: float | None = None,
    may_slide_mm: float = 0.0,
    may_swing_mm_per_m: float = 0.0,
    ends: str = "free",
    prefer: str = "least-wood",
    look_again_mm: float = 100.0,
    clamp_width_mm: float = 100.0,
    edge_takes_line: str = "split",
    line_width_mm: float = 0.5,
    units: str = "in",
    fraction: int = 32,
) -> dict[str, Any]:
    """Where to plane, how deep, and what the fit allows: the ``planing`` part of the JSON contract.

    ``samples`` as measured, in any order. ``limit_mm`` is how far the edge may lie from the line. The plank may slide
    up to ``may_slide_mm`` either way and swing up to ``may_swing_mm_per_m``; with ``ends`` "held" it may do neither.
    ``prefer`` is "least-wood" or "shallowest". The edge may "split" the drawn line, "take" it (cover it) or "leave" it
    in sight, which moves the aim by half ``line_width_mm``, not the measure. A stretch over ``look_again_mm`` without a
    sure answer asks for another look; one covered for no more than ``clamp_width_mm`` is passed over, and said.
    ``units`` and ``fraction`` are those of the warnings' text.

    Depths are off the lower edge, normal to it, counted after the move. No cut passes what is surely past the line
    (value less its 95 % half-width), none is asked where the edge is good or short, none bridges a place without a
    number. The verdict is the first that holds: "plane" (a cut is left), "recut" (surely short beyond the limit, and no
    allowed move cures it), "look again", "good" (of the edge alone; fastening also needs the lap seen closed). A move
    without a cut is "look again": nothing shows how the plank lies there until it is clamped and photographed.

    Raises :class:`WrongCall` for no samples or a setting that means nothing.

    >>> hump = [Sample(x, 1.6 - (x / 100) ** 2, 0.2, "past") for x in range(-200, 205, 5)]
    >>> advice = advise(hump, limit_mm=0.8)
    >>> advice["verdict"], len(advice["cuts"]), advice["cuts"][0]["deepest_mm"] <= 1.4
    ('plane', 1, True)
    """
    _check(may_slide_mm, may_swing_mm_per_m, ends, prefer, edge_takes_line, line_width_mm)
    edge = edge_of(samples, limit_mm, LINE_SHARE[edge_takes_line] * line_width_mm)
    about_mm = float(edge.at_mm[0] + edge.at_mm[-1]) / 2
    allowed = ends == "free"
    move = best_move(
        edge,
        may_slide_mm=may_slide_mm * allowed,
        may_swing_mm_per_m=may_swing_mm_per_m * allowed,
        about_mm=about_mm,
        prefer=prefer,
    )
    moved = edge.moved(move.shift_mm(edge.at_mm))
    runs = stretches(samples_at(moved), moved.labels)
    found = Found(move, moved, find_cuts(moved, prefer=prefer), runs, lap_mm, clamp_width_mm)
    again = look_again(runs, look_again_mm, clamp_width_mm) or bool(move)
    warnings = warnings_of(found, words.Say(units, fraction), on_plank=samples[0].plank_mm is not None)
    if not allowed and (may_slide_mm or may_swing_mm_per_m):
        warnings.append(words.ends_held())
    return {
        "slide_mm": move.slide_mm,
        "swing_mm_per_m": move.swing_mm_per_m,
        "about_mm": round(about_mm, 1),
        "cuts": [cut.as_json() for cut in found.cuts],
        "short": [found.short_json(run) for run in found.short],
        "unseen": [unseen_json(run) for run in runs if run.label not in STATES_WITH_VALUE],
        "unsure": [span_json(run) for run in runs if run.label == "unsure"],
        "verdict": _verdict(found, again),
        "warnings": [warning.as_json() for warning in warnings],
        "limit_mm": edge.limit_mm,
        "prefer": prefer,
        "edge_takes_line": edge_takes_line,
    }


def _verdict(found: Found, again: bool) -> str:
    if found.cuts:
        return "plane"
    if found.short:
        return "recut"
    return "look again" if again else "good"


def look_again(runs: Sequence[Stretch], look_again_mm: float, clamp_width_mm: float) -> bool:
    """Whether a stretch longer than ``look_again_mm`` has no sure answer.

    Unsure, hidden, ambiguous and unseen runs that touch count together, a clamp between them neither counts nor parts
    them; a cover wider than a clamp counts as unseen.

    >>> look_again([Stretch(0, 60, "unsure"), Stretch(60, 110, "covered"), Stretch(110, 160, "hidden")], 100, 80)
    True
    """
    open_mm = 0.0
    for run in runs:
        if run.label in ("on", "past", "short"):
            open_mm = 0.0
        elif run.label != "covered" or run.length_mm > clamp_width_mm:
            open_mm += run.length_mm
        if open_mm > look_again_mm:
            return True
    return not any(run.label in STATES_WITH_VALUE for run in runs)


def _check(
    may_slide_mm: float, may_swing_mm_per_m: float, ends: str, prefer: str, edge_takes_line: str, line_width_mm: float
) -> None:
    for name, value, known in (
        ("ends", ends, ENDS),
        ("prefer", prefer, PREFER),
        ("edge takes line", edge_takes_line, tuple(LINE_SHARE)),
    ):
        if value not in known:
            raise WrongCall(f"{name} {value!r} is not known: give one of {', '.join(known)}")
    for name, length in (
        ("slide", may_slide_mm),
        ("swing", may_swing_mm_per_m),
        ("line width", line_width_mm),
    ):
        if not (np.isfinite(length) and 0 <= length < 1000):
            raise WrongCall(f"an allowed {name} of {length} is no length: give zero or more")
