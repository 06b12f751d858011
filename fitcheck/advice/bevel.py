"""Which bevel to plane, from where the lap stands open along the plank.

A lap open at the plank's lower edge bears at the upper edge of the strake below: its lap is too flat. Planed there by
as much as the lap is open, tapering to nothing at the lap line, the plank comes in by that and lies on the whole lap
(the wedge under an opening g, over a lap of width w, is g · s / w at s from the lap line). What bears at the line and
is open at the inside cannot be seen from outside. Bevelling lets the plank lie closer and moves its edge, so the
bevel comes first and the edge after.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from fitcheck.contract.gap_measurement import NEIGHBOURS_MM, GapSample
from fitcheck.ground.runs import runs
from fitcheck.ground.uncertainty import COVERAGE, ONE_SIDED

#: Never more wood than is surely open: what is asked for is the gap less its one-sided doubt.
SURELY = ONE_SIDED / COVERAGE
LEAST_RUN_MM = 15.0


def bevel_advice(
    samples: Sequence[GapSample], *, lap_mm: float | None, thickness_mm: float, bevel_deg: float | None = None
) -> dict[str, Any] | None:
    """Where to plane the strake below toward its upper edge, and how much; None where the lap is nowhere surely open.

    ``depth_mm`` is to come off at the upper edge of the strake below, tapering to nothing at the lap line; never more
    than the lap is surely open. Each run: ``from_mm``, ``to_mm``, ``deepest_mm``, ``at_mm``, the ``profile`` as
    [place, depth]; where the lap's width is told ``more_deg``, by how much the bevel grows; where ``bevel_deg`` is
    told too ``becomes_deg``. ``edge_moves_mm`` is how far the turn moves the plank's outer corner at the deepest place.

    >>> opened = [GapSample(float(x), 0.5, 0.1, 12.7, 0.3, (0.0, 0.0), "open") for x in range(0, 100, 5)]
    >>> advice = bevel_advice(opened, lap_mm=25.4, thickness_mm=12.7)
    >>> run = advice["runs"][0]
    >>> run["from_mm"], run["to_mm"], round(run["deepest_mm"], 2), round(run["more_deg"], 1)
    (0.0, 95.0, 0.42, 0.9)
    """
    found = [_run(group, lap_mm, bevel_deg) for group in _open_groups(samples)]
    if not found:
        return None
    deepest = max(run["deepest_mm"] for run in found)
    turn = np.arctan2(deepest, lap_mm) if lap_mm else None
    return {
        "runs": found,
        "edge_waits": True,
        "edge_moves_mm": None if turn is None else round(float(thickness_mm * np.sin(turn)), 3),
    }


def _open_groups(samples: Sequence[GapSample]) -> list[list[GapSample]]:
    """Runs of neighbouring places surely open; none bridges a place that is not, or was not seen."""
    ordered = sorted(samples, key=lambda one: one.place_mm())
    near = np.diff([one.place_mm() for one in ordered]) <= NEIGHBOURS_MM
    groups = [ordered[run] for run in runs(np.array([one.state == "open" for one in ordered]), near)]
    return [group for group in groups if group[-1].place_mm() - group[0].place_mm() >= LEAST_RUN_MM]


def _run(group: Sequence[GapSample], lap_mm: float | None, bevel_deg: float | None) -> dict[str, Any]:
    profile = [[one.place_mm(), _depth(one)] for one in group]
    at, deepest = max(profile, key=lambda pair: pair[1])
    more_deg = None if not lap_mm else float(np.degrees(np.arctan2(deepest, lap_mm)))
    return {
        "from_mm": profile[0][0],
        "to_mm": profile[-1][0],
        "at_mm": at,
        "deepest_mm": deepest,
        "more_deg": more_deg,
        "becomes_deg": None if more_deg is None or bevel_deg is None else bevel_deg + more_deg,
        "profile": profile,
    }


def _depth(sample: GapSample) -> float:
    return round(max((sample.gap_mm or 0.0) - SURELY * (sample.gap_u95_mm or 0.0), 0.0), 3)
