"""What lengths of a lap can be: between which bounds each lies, and how they go together. In mm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise

#: Between which mm each length lies, by its name among the options and in the settings (common practice, no source).
BOUNDS_MM = {
    "thickness": (3.0, 60.0),
    "lap": (5.0, 200.0),
    "witness": (5.0, 100.0),
    "limit": (0.05, 20.0),
    "eased": (0.0, 2.0),
    "gap": (0.01, 5.0),
    "unseen": (5.0, 2000.0),
    "feeler_every": (5.0, 2000.0),
}
#: Station cards are numbered from 0, as many as there are marks for.
MOST_CARDS = 62


def outside(name: str, mm: float) -> str | None:
    """Why ``mm`` cannot be the length of that name; None where it can.

    >>> outside("lap", 1e6)
    '1e+06 mm; between 5 and 200 mm is needed'
    """
    least_mm, most_mm = BOUNDS_MM[name]
    if least_mm <= mm <= most_mm:
        return None
    return f"{mm:g} mm; between {least_mm:g} and {most_mm:g} mm is needed"


def contradiction(
    *,
    thickness_mm: float,
    lap_mm: float | None,
    limit_mm: float | None = None,
    least_lap_mm: float | None = None,
    gains_mm: Iterable[tuple[float, float]] = (),
) -> str | None:
    """How these lengths contradict each other, in words; None where they do not.

    ``gains_mm`` are the steps (start, finish) that taper to flush at the plank's ends.

    >>> contradiction(thickness_mm=12.7, lap_mm=10.0)
    'a lap of 10 mm is narrower than the plank is thick (12.7 mm): the lap is measured across the faces that meet'
    """
    for start_mm, finish_mm in gains_mm:
        if start_mm > thickness_mm:
            return f"a gain of {start_mm:g} mm is deeper than the plank is thick ({thickness_mm:g} mm)"
        if finish_mm > start_mm:
            return f"a gain runs down: its end ({finish_mm:g} mm) is no higher than its start ({start_mm:g} mm)"
    if lap_mm is None:
        return None
    if lap_mm < thickness_mm:
        return (
            f"a lap of {lap_mm:g} mm is narrower than the plank is thick ({thickness_mm:g} mm): the lap is measured "
            "across the faces that meet"
        )
    if limit_mm is not None and limit_mm >= lap_mm:
        return f"a limit of {limit_mm:g} mm is past the whole lap of {lap_mm:g} mm"
    if least_lap_mm is not None and least_lap_mm > lap_mm:
        return f"the least lap of {least_lap_mm:g} mm is wider than the lap of {lap_mm:g} mm"
    return None


def cards_astray(places_mm: Mapping[int, float]) -> str | None:
    """Why station cards cannot lie at these places, by card number; None where they can.

    >>> cards_astray({0: 0.0, 1: 600.0, 2: 300.0})
    'station 2 must lie beyond station 1; places rise with the numbers'
    """
    for number in places_mm:
        if not 0 <= number < MOST_CARDS:
            return f"station cards are numbered 0 to {MOST_CARDS - 1}, not {number}"
    for before, after in pairwise(sorted(places_mm)):
        if not places_mm[after] > places_mm[before] or not math.isfinite(places_mm[after]):
            return f"station {after} must lie beyond station {before}; places rise with the numbers"
    return None
