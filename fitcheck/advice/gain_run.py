"""The step at the plank's end, as seen edge-on, against the gain it should run out in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from fitcheck.contract.gain import GainShape
from fitcheck.contract.gap_measurement import NEIGHBOURS_MM, GapSample
from fitcheck.ground.runs import runs

#: Where the gain ends is found by trying places this far apart.
PLACE_STEP_MM = 2.5
FEWEST = 6
#: A stretch shorter than this is not told.
LEAST_RUN_MM = 10.0
#: The end itself is seen where a height this near to it is.
AT_END_MM = 10.0
#: Whether the end comes flush is told only where the step there is known as well as this: 1/16 in (common practice, no
#: source).
FLUSH_U95_MM = 25.4 / 16


def gain_advice(
    samples: Sequence[GapSample], gain: GainShape, *, thickness_mm: float | None = None
) -> dict[str, Any] | None:
    """The measured step against the gain: where to take off more, where it is over-cut, whether it comes flush.

    ``thickness_mm`` is the step before the gain begins (None: the height at its start). ``profile`` holds
    [place, proud, should be, u95] within the gain; a place counts only beyond its doubt. ``flush`` is None where the
    end is not in sight or its step too doubtful; ``end_proud_mm`` and ``end_u95_mm`` are the step there. None where
    too few places within the gain have a height. Without ``end_mm`` the end is placed where the heights fit best, and
    both ways round are tried: then a gain whose whole step is off by one amount is told by its shape alone.
    """
    known = [one for one in samples if one.proud_mm is not None and one.proud_u95_mm is not None]
    known = sorted((one for one in known if "scale-from-thickness" not in one.flags), key=lambda one: one.place_mm())
    if len(known) < FEWEST:
        return None
    places = np.array([one.place_mm() for one in known])
    proud = np.array([one.proud_mm for one in known], float)
    doubt = np.array([one.proud_u95_mm for one in known], float)
    full_mm = gain.start_mm if thickness_mm is None else thickness_mm
    placed, end_mm = _placed(gain, places, proud, full_mm)
    run = placed.run(places, end_mm)
    within = (run > 0.0) & (run <= 1.0 + AT_END_MM / gain.length_mm)
    if within.sum() < FEWEST:
        return None
    places, proud, doubt, run = places[within], proud[within], doubt[within], run[within]
    should = placed.height_mm(places, end_mm)
    last = int(np.argmin(np.abs(run - 1.0)))
    at_end = bool(abs(places[last] - end_mm) <= AT_END_MM)
    proud_there = bool(proud[last] - doubt[last] > gain.finish_mm)
    told = at_end and (proud_there or doubt[last] <= FLUSH_U95_MM)
    return {
        "end_mm": round(float(end_mm), 1),
        "end_found": gain.end_mm is None,
        "take_off": _sure_runs(places, proud - doubt - should),
        "over_cut": _sure_runs(places, should - proud - doubt),
        "flush": not proud_there if told else None,
        "end_proud_mm": round(float(proud[last]), 3) if at_end else None,
        "end_u95_mm": round(float(doubt[last]), 3) if at_end else None,
        "profile": [[round(float(v), 3) for v in row] for row in zip(places, proud, should, doubt, strict=True)],
    }


def _placed(gain: GainShape, places: np.ndarray, proud: np.ndarray, full_mm: float) -> tuple[GainShape, float]:
    if gain.end_mm is not None:
        return gain, gain.end_mm
    ways = [replace(gain, toward=toward) for toward in (1, -1)]
    ends = np.arange(places[0] - gain.length_mm, places[-1] + gain.length_mm, PLACE_STEP_MM)
    misfit = [[_misfit(way, end, places, proud, full_mm) for end in ends] for way in ways]
    way, end = np.unravel_index(int(np.argmin(misfit)), (len(ways), len(ends)))
    return ways[way], float(ends[end])


def _misfit(gain: GainShape, end_mm: float, places: np.ndarray, proud: np.ndarray, full_mm: float) -> float:
    should = np.where(gain.run(places, end_mm) > 0.0, gain.height_mm(places, end_mm), full_mm)
    return float(np.abs(should - proud).mean())


def _sure_runs(places: np.ndarray, by_mm: np.ndarray) -> list[dict[str, float]]:
    """The stretches on which ``by_mm`` (N,) is surely more than nothing, each with its most and where that is.

    None bridges a place where it is not.
    """
    found: list[dict[str, float]] = []
    for run in runs(by_mm > 0.0, np.diff(places) <= NEIGHBOURS_MM):
        first, last = run.start, run.stop - 1
        if places[last] - places[first] >= LEAST_RUN_MM:
            most = first + int(np.argmax(by_mm[run]))
            found.append(
                {
                    "from_mm": float(places[first]),
                    "to_mm": float(places[last]),
                    "most_mm": round(float(by_mm[most]), 3),
                    "at_mm": float(places[most]),
                }
            )
    return found
