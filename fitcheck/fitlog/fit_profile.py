"""One fit as one profile: all its sets of photographs laid on the same places along the plank, each place judged.

Places lie on a grid every 5 mm of the plank frame, so that two fits meet at the same places.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from fitcheck.fitlog.judged_by import Terms

S = TypeVar("S")
STEP_MM = 5.0
#: A sample speaks for a place of the grid up to this far from it: samples lie about every 5 mm, so one lies this near.
REACH_MM = 3.5
#: Photographs need not reach closer to a plank's end than this: three places of the grid.
END_MM = 15.0
UNSEEN = "unseen"
#: Which word is kept where no set of photographs has a value: the one that says most about the plank.
_TELLING = ("hidden", "ambiguous", "covered")
VALUED = ("past", "short", "on", "unsure")


@dataclass(frozen=True)
class Sample:
    """One recorded place: past (+) or short (-) of the line with its 95 % half-width, or a state without a value.

    ``eased`` says of a place of the lap that the plank's inner corner is, or may be, eased there.
    """

    place_mm: float
    past_line_mm: float | None
    u95_mm: float | None
    state: str
    eased: bool = False


@dataclass(frozen=True)
class Run:
    """Neighbouring places with one word for all. Runs meet half-way; the outer ones end at the profile's own ends."""

    word: str
    from_mm: float
    to_mm: float
    places: tuple[Sample, ...]

    @property
    def length_mm(self) -> float:
        """Its length along the plank."""
        return self.to_mm - self.from_mm


def merge(takes: Sequence[Sequence[Sample]], terms: Terms) -> list[Sample]:
    """The profile of a fit from its takes, each sorted by place, judged by ``terms``.

    It reaches over the plank where its ends are told, else over what was seen; places that no take shows are "unseen",
    but for the last 15 mm at either end, which no photograph need reach.
    Where several takes have a value it is their mean weighted by 1/u², with a half-width that gains nothing from
    their number, since they share camera, thickness and bevel, and that covers every one of them.

    >>> first = [Sample(x, 0.2, 0.1, "on") for x in (0.0, 5.0)] + [Sample(10.0, None, None, "covered")]
    >>> second = [Sample(10.0, 0.3, 0.1, "on")]
    >>> [(place.place_mm, place.past_line_mm, place.state) for place in merge([first, second], Terms())]
    [(0.0, 0.2, 'on'), (5.0, 0.2, 'on'), (10.0, 0.3, 'on')]
    """
    takes = [take for take in takes if take]
    if not takes:
        return []
    first = terms.from_mm if terms.from_mm is not None else min(take[0].place_mm for take in takes)
    last = terms.to_mm if terms.to_mm is not None else max(take[-1].place_mm for take in takes)
    keys = [[sample.place_mm for sample in take] for take in takes]
    return trimmed(
        [
            _joined(
                place_mm, [nearest(take, key, place_mm) for take, key in zip(takes, keys, strict=True)], terms.limit_mm
            )
            for place_mm in grid_mm(first, last)
        ]
    )


def judged(take: Sequence[Sample], terms: Terms) -> list[Sample]:
    """One take by itself, on its own places, judged by ``terms``: where its place along the plank is not known."""
    return [_joined(sample.place_mm, [sample], terms.limit_mm) for sample in take]


def grid_mm(from_mm: float, to_mm: float) -> list[float]:
    """The places of the grid from ``from_mm`` to ``to_mm``, ends included."""
    return [k * STEP_MM for k in range(math.ceil(from_mm / STEP_MM - 1e-9), math.floor(to_mm / STEP_MM + 1e-9) + 1)]


def nearest(samples: Sequence[S], keys: Sequence[float], place_mm: float) -> S | None:
    """The sample nearest to a place, or None where none lies within reach; ``keys`` are the samples' places, rising."""
    i = bisect_left(keys, place_mm)
    near = min((j for j in (i - 1, i) if 0 <= j < len(keys)), key=lambda j: abs(keys[j] - place_mm), default=None)
    return samples[near] if near is not None and abs(keys[near] - place_mm) <= REACH_MM else None


def trimmed(profile: list[Sample]) -> list[Sample]:
    """The profile without unseen ends that are no longer than :data:`END_MM`."""
    seen = [i for i, place in enumerate(profile) if place.state != UNSEEN]
    if not seen:
        return profile
    spare = int(END_MM / STEP_MM)
    first = seen[0] if seen[0] <= spare else 0
    last = seen[-1] if len(profile) - 1 - seen[-1] <= spare else len(profile) - 1
    return profile[first : last + 1]


def runs(profile: Sequence[Sample], words: Sequence[str] | None = None) -> list[Run]:
    """The profile in runs of one word, the places' states unless other words are given."""
    named = zip(words if words is not None else [place.state for place in profile], profile, strict=True)
    found = []
    for word, group in groupby(named, key=lambda pair: pair[0]):
        places = tuple(place for _, place in group)
        start, end = places[0].place_mm - STEP_MM / 2, places[-1].place_mm + STEP_MM / 2
        found.append(Run(word, max(start, profile[0].place_mm), min(end, profile[-1].place_mm), places))
    return found


def _joined(place_mm: float, samples: Sequence[Sample | None], limit_mm: float) -> Sample:
    from fitcheck.advice.states import state_of

    valued = [
        (sample.past_line_mm, sample.u95_mm)
        for sample in samples
        if sample is not None and sample.past_line_mm is not None and sample.u95_mm is not None
    ]
    if not valued:
        states = {sample.state for sample in samples if sample is not None}
        return Sample(place_mm, None, None, next((word for word in _TELLING if word in states), UNSEEN))
    value, u95 = _mean(valued)
    return Sample(place_mm, value, u95, state_of(value, u95, limit_mm))


def _mean(valued: Sequence[tuple[float, float]]) -> tuple[float, float]:
    if len(valued) == 1:
        return valued[0]
    weights = [1 / max(u95, 1e-3) ** 2 for _, u95 in valued]
    total = sum(weights)
    mean = sum(weight * value for weight, (value, _) in zip(weights, valued, strict=True)) / total
    u95 = sum(weight * u for weight, (_, u) in zip(weights, valued, strict=True)) / total
    return mean, max(u95, *(abs(value - mean) for value, _ in valued))
