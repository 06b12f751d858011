"""The planing advice for one photograph or one plank: move, cuts, what stays short, what is unseen, and the verdict."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from fitcheck.advice.planing import planing_words
from fitcheck.advice.planing.cuts import find_cuts
from fitcheck.advice.planing.measured_edge import edge_of, samples_at
from fitcheck.advice.planing.outcome import LEAST_SEEN, Found, warnings_of
from fitcheck.advice.planing.sought import May, seek_move
from fitcheck.advice.states import Stretch, span_json, stretches, unseen_json
from fitcheck.contract.measurement import STATES_WITH_VALUE, Sample
from fitcheck.ground.refusal import WrongCall

#: What the edge does with the drawn line, as a share of the line's width beyond its middle.
LINE_SHARE = {"split": 0.0, "take": 0.5, "leave": -0.5}
PREFER = ("least-wood", "shallowest")
ENDS = ("free", "held")


def advise(
    samples: Sequence[Sample],
    *,
    limit_mm: float,
    lap_mm: float | None = None,
    plank_length_mm: float | None = None,
    may_turn: bool = True,
    may_slide_mm: float | None = None,
    may_swing_mm_per_m: float | None = None,
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
    up to ``may_slide_mm`` either way and swing up to ``may_swing_mm_per_m``; with ``ends`` "held" it may do neither;
    where none of this is told and the edge is surely short, a move that mends it is looked for all the same.
    ``plank_length_mm`` is how long the lap is as a whole, where known; ``may_turn`` is False for a part of a plank
    whose other parts lie nobody knows how far off: then no swing is advised. ``prefer`` is "least-wood" or
    "shallowest". The edge may "split" the drawn line, "take" it (cover it) or "leave" it in sight, which moves the
    aim by half ``line_width_mm``, not the measure. A stretch over ``look_again_mm`` without a sure answer asks for
    another look; one covered for no more than ``clamp_width_mm`` is passed over, and said. ``units`` and
    ``fraction`` are those of the warnings' text.

    Depths are off the lower edge, normal to it. No cut passes what is surely past the line (value less its 95 %
    half-width), none is asked where the edge is good or short, none bridges a place without a number.

    ``first`` is what comes before any wood: "slide" (move the plank by ``slide_mm`` and ``swing_mm_per_m``, clamp,
    photograph again), "short" (planing cannot mend where it is short), or None. ``cuts`` are what is asked for now:
    none while a move comes first, since nothing shows how the plank lies there; ``might_plane`` is then what would be
    past after it. ``short`` is what no allowed move mends, ``short_now`` what is short as the plank lies.

    The verdict is the first that holds: "plane" (a cut is asked for), "recut" (surely short beyond the limit, no move
    mends it, and at least half of the lap was seen), "look again" (a move first, or too much unseen or unsure), "good"
    (of the edge alone; fastening also needs the lap seen closed).

    Raises :class:`WrongCall` for no samples or a setting that means nothing.

    >>> hump = [Sample(x, 1.6 - (x / 100) ** 2, 0.2, "past") for x in range(-200, 205, 5)]
    >>> advice = advise(hump, limit_mm=0.8, may_slide_mm=0.0)
    >>> advice["verdict"], len(advice["cuts"]), advice["cuts"][0]["deepest_mm"] <= 1.4
    ('plane', 1, True)
    """
    _check(may_slide_mm or 0.0, may_swing_mm_per_m or 0.0, ends, prefer, edge_takes_line, line_width_mm)
    edge = edge_of(samples, limit_mm, LINE_SHARE[edge_takes_line] * line_width_mm)
    about_mm = float(edge.at_mm[0] + edge.at_mm[-1]) / 2
    on_plank = samples[0].plank_mm is not None
    now = stretches(samples_at(edge), edge.labels)
    share_seen = _share_seen(now, plank_length_mm)
    may = May(may_slide_mm, may_swing_mm_per_m if may_turn else None, held=ends == "held")
    may_swing = may_turn and on_plank and share_seen >= LEAST_SEEN
    sought = seek_move(edge, may, about_mm=about_mm, prefer=prefer, lap_mm=lap_mm, may_swing=may_swing)
    move = sought.move
    moved = edge.moved(move.shift_mm(edge.at_mm))
    runs = stretches(samples_at(moved), moved.labels)
    found = Found(
        sought=sought,
        edge=moved,
        cuts=find_cuts(moved, prefer=prefer),
        runs=runs,
        share_seen=share_seen,
        on_plank=on_plank,
        lap_mm=lap_mm,
        clamp_width_mm=clamp_width_mm,
    )
    lies = Found(
        sought=sought,
        edge=edge,
        cuts=[],
        runs=now,
        share_seen=share_seen,
        on_plank=on_plank,
        lap_mm=lap_mm,
        clamp_width_mm=clamp_width_mm,
    )
    wood = [cut.as_json() for cut in found.cuts]
    stays = lies if sought.unasked else found
    warnings = warnings_of(found, planing_words.Say(units, fraction))
    if ends == "held" and (may_slide_mm or may_swing_mm_per_m):
        warnings.append(planing_words.ends_held())
    return {
        "slide_mm": move.slide_mm,
        "swing_mm_per_m": move.swing_mm_per_m,
        "about_mm": round(about_mm, 1),
        "reach_mm": round(float(edge.at_mm[-1] - about_mm), 1),
        "first": found.first,
        "cuts": [] if move else wood,
        "might_plane": wood if move else [],
        "short": [stays.short_json(run) for run in stays.short],
        "short_now": [lies.short_json(run) for run in lies.short],
        "unseen": [unseen_json(run) for run in runs if run.label not in STATES_WITH_VALUE],
        "unsure": [span_json(run) for run in stays.runs if run.label == "unsure"],
        "share_seen": round(share_seen, 4),
        "verdict": found.verdict(look_again(runs, look_again_mm, clamp_width_mm)),
        "warnings": [warning.as_json() for warning in warnings],
        "limit_mm": edge.limit_mm,
        "prefer": prefer,
        "edge_takes_line": edge_takes_line,
    }


def _share_seen(runs: Sequence[Stretch], plank_length_mm: float | None) -> float:
    """The share of the lap that has a number: of the plank's length where it is known, else of what was looked at."""
    looked_mm = sum(run.length_mm for run in runs)
    seen_mm = sum(run.length_mm for run in runs if run.label in STATES_WITH_VALUE)
    whole_mm = max(looked_mm, plank_length_mm or 0.0)
    return seen_mm / whole_mm if whole_mm > 0 else float(runs[0].label in STATES_WITH_VALUE)


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
