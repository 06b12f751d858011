"""The difference between two profiles at the same places, and where it is surely more than doubt.

Used to compare two fits of one plank and the two sides of a strake.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from statistics import NormalDist

from fitcheck.fitlog.fit_profile import STEP_MM, Sample
from fitcheck.ground.uncertainty import Z95

#: Differences are judged as means over this length: a shorter wiggle is scatter of single places.
WINDOW_MM = 50.0
#: Errors of a photograph keep their size over about this length, so a plank gives one chance of a false alarm for each.
INDEPENDENT_MM = 100.0


@dataclass(frozen=True)
class Difference:
    """How much further past the line the second profile is, at one place, with the half-width of its 95 % interval."""

    place_mm: float
    by_mm: float
    u95_mm: float


@dataclass(frozen=True)
class Changed:
    """A stretch where the difference is surely there: its mean and the half-width of that, and where it is largest."""

    from_mm: float
    to_mm: float
    by_mm: float
    u95_mm: float
    most_mm: float
    most_at_mm: float


def differences(first: Sequence[Sample], second: Sequence[Sample]) -> list[Difference]:
    """The differences at the places where both profiles have a value.

    ``u95_mm`` is the root sum of squares of the two. Errors that the profiles share (one camera, one thickness)
    partly cancel in truth, so it is on the wide side.
    """
    by_place = {place.place_mm: place for place in first}
    found = []
    for place in second:
        other = by_place.get(place.place_mm)
        if other is None or None in (other.past_line_mm, other.u95_mm, place.past_line_mm, place.u95_mm):
            continue
        by_mm = (place.past_line_mm or 0.0) - (other.past_line_mm or 0.0)
        found.append(
            Difference(place.place_mm, by_mm, ((place.u95_mm or 0.0) ** 2 + (other.u95_mm or 0.0) ** 2) ** 0.5)
        )
    return found


def smoothed(raw: Sequence[Difference]) -> list[Difference]:
    """The differences as running means over :data:`WINDOW_MM`; errors are alike over it, so the half-widths stay."""
    keys = [difference.place_mm for difference in raw]
    found = []
    for difference in raw:
        low = bisect_left(keys, difference.place_mm - WINDOW_MM / 2)
        near = raw[low : bisect_right(keys, difference.place_mm + WINDOW_MM / 2)]
        found.append(mean_of(near, difference.place_mm))
    return found


def mean_of(raw: Sequence[Difference], place_mm: float) -> Difference:
    """The mean of some differences, as full of doubt as one of them."""
    count = len(raw)
    return Difference(place_mm, sum(d.by_mm for d in raw) / count, sum(d.u95_mm for d in raw) / count)


def sure_factor(raw: Sequence[Difference]) -> float:
    """How many half-widths a difference must reach so that noise alone reaches it anywhere on the plank once in twenty.

    One look has one chance in twenty to be past one half-width; a plank seen over L mm is L/100 looks (Šidák's bound).

    >>> round(sure_factor([Difference(0.0, 0.0, 0.1), Difference(2000.0, 0.0, 0.1)]), 2)
    1.54
    """
    if not raw:
        return 1.0
    looks = max(1.0, (raw[-1].place_mm - raw[0].place_mm) / INDEPENDENT_MM)
    return NormalDist().inv_cdf((1 + 0.95 ** (1 / looks)) / 2) / Z95


def changed(raw: Sequence[Difference]) -> list[Changed]:
    """The stretches where the second profile surely differs from the first, in order; none where all is doubt.

    >>> rest = [Difference(5.0 * i, 0.0, 0.3) for i in range(40)]
    >>> [(s.from_mm, s.to_mm) for s in changed(rest + [Difference(5.0 * i, -1.0, 0.3) for i in range(40, 80)])]
    [(195.0, 395.0)]
    """
    factor = sure_factor(raw)
    means = smoothed(raw)

    def sign(difference: Difference) -> int:
        return (1 if difference.by_mm > 0 else -1) if abs(difference.by_mm) > factor * difference.u95_mm else 0

    found = []
    for side, group in groupby(means, key=sign):
        places = list(group)
        if side == 0 or places[-1].place_mm - places[0].place_mm < WINDOW_MM / 2 - STEP_MM:
            continue
        mean = mean_of(places, places[0].place_mm)
        most = max(places, key=lambda difference: abs(difference.by_mm))
        ends = (places[0].place_mm, places[-1].place_mm)
        found.append(Changed(*ends, mean.by_mm, mean.u95_mm, most.by_mm, most.place_mm))
    return found
