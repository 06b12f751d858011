"""What the numbers allow one to say: the state of a place, the wood that is surely too much, the fit in one look.

All is decided on the unrounded numbers; rounding for print comes after and changes no decision.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from fitcheck.contract.measurement import STATES_WITH_VALUE, Sample

#: Places further apart than this many usual steps have a stretch between them that no photograph saw.
UNSEEN_STEPS = 2.5
UNSEEN = "unseen"
#: Why a stretch has no number, in the builder's words.
WHY = {
    "hidden": "the line is not in sight",
    "covered": "covered by a clamp or another thing",
    "ambiguous": "edge or line could be more than one thing",
    UNSEEN: "in no photograph",
}


def state_of(value_mm: float, u95_mm: float, limit_mm: float) -> str:
    """The state of one measured place: "past", "short", "on" or "unsure".

    With the value v, the half-width U of its 95 % interval and the limit L: past where v - U > L, short where
    v + U < -L, on where abs(v) + U <= L, else unsure. This is a guard band of one U on each side of each limit, which
    keeps a false accept under 2.5 % (ILAC-G8:09/2019). Raises ValueError for what is not finite or a negative U or L.

    >>> [state_of(v, 0.12, 0.25) for v in (0.5, -0.5, 0.1, 0.2)]
    ['past', 'short', 'on', 'unsure']
    """
    if not (math.isfinite(value_mm) and math.isfinite(u95_mm) and u95_mm >= 0 and limit_mm >= 0):
        raise ValueError(f"no state for {value_mm} ± {u95_mm} against {limit_mm}")
    if value_mm - u95_mm > limit_mm:
        return "past"
    if value_mm + u95_mm < -limit_mm:
        return "short"
    return "on" if abs(value_mm) + u95_mm <= limit_mm else "unsure"


def guarded_cut_mm(value_mm: float, u95_mm: float) -> float:
    """The wood surely past the line at one place, and so the most that may come off there: wood cannot be put back.

    >>> guarded_cut_mm(1.0, 0.3), guarded_cut_mm(0.2, 0.3)
    (0.7, 0.0)
    """
    return max(0.0, value_mm - u95_mm)


@dataclass(frozen=True)
class Stretch:
    """A run of places along the lap that share one label."""

    from_mm: float
    to_mm: float
    label: str

    @property
    def length_mm(self) -> float:
        """Its length along the lap."""
        return self.to_mm - self.from_mm


def stretches(samples: Sequence[Sample], labels: Sequence[str] | None = None) -> list[Stretch]:
    """The lap in runs of equal label, in order, the labels being the samples' states unless given.

    Neighbouring runs meet half-way between their places. Between places much further apart than usual lies a stretch
    labelled "unseen", which belongs to neither side. ``samples`` in any order, ``labels`` (N,) beside them.

    >>> [(s.from_mm, s.to_mm, s.label) for s in stretches(
    ...     [Sample(x, 0.0, 0.1, "on") for x in (0, 5, 10, 80, 85)])]
    [(0.0, 10.0, 'on'), (10.0, 80.0, 'unseen'), (80.0, 85.0, 'on')]
    """
    if not samples:
        return []
    places = np.array([sample.place_mm() for sample in samples], float)
    named = [sample.state for sample in samples] if labels is None else list(labels)
    order = np.argsort(places, kind="stable")
    x, names = places[order], [named[i] for i in order]
    gap_mm = UNSEEN_STEPS * usual_step_mm(x)
    found, start = [], float(x[0])
    for i, (left, right) in enumerate(pairwise(x)):
        if right - left > gap_mm:
            found += [Stretch(start, float(left), names[i]), Stretch(float(left), float(right), UNSEEN)]
            start = float(right)
        elif names[i] != names[i + 1]:
            middle = float(left + right) / 2
            found.append(Stretch(start, middle, names[i]))
            start = middle
    return [*found, Stretch(start, float(x[-1]), names[-1])]


def usual_step_mm(places_mm: np.ndarray) -> float:
    """The usual distance between neighbouring places (N,) in order; 5 mm where there are fewer than two."""
    steps = np.diff(places_mm)
    steps = steps[steps > 0]
    return float(np.median(steps)) if len(steps) else 5.0


@dataclass(frozen=True)
class Extreme:
    """The place where the edge is furthest past the line, or furthest short of it."""

    at_mm: float
    past_line_mm: float
    u95_mm: float


@dataclass(frozen=True)
class Summary:
    """The fit in one look: the extremes, the share of the length that has a number, and what has none and why."""

    longest_past: Extreme | None
    longest_short: Extreme | None
    share_measured: float
    share_by_state: Mapping[str, float]
    unseen: tuple[Stretch, ...]

    def as_json(self) -> dict[str, Any]:
        """The summary for programs; lengths in mm, shares from 0 to 1."""

        def extreme(found: Extreme | None) -> dict[str, float] | None:
            return None if found is None else {key: round(value, 4) for key, value in vars(found).items()}

        return {
            "longest_past": extreme(self.longest_past),
            "longest_short": extreme(self.longest_short),
            "share_measured": round(self.share_measured, 4),
            "share_by_state": {state: round(share, 4) for state, share in self.share_by_state.items()},
            "unseen": [unseen_json(stretch) for stretch in self.unseen],
        }


def unseen_json(stretch: Stretch) -> dict[str, Any]:
    """A stretch without a number, and why, as the JSON contract writes it."""
    return {**span_json(stretch), "why": stretch.label}


def span_json(stretch: Stretch) -> dict[str, Any]:
    """From where to where a stretch runs, to a tenth of a millimetre."""
    return {"from_mm": round(stretch.from_mm, 1), "to_mm": round(stretch.to_mm, 1)}


def summary(samples: Sequence[Sample]) -> Summary:
    """What the samples say together.

    >>> fit = summary([Sample(x, v, 0.2, "unsure") for x, v in ((0, 0.4), (5, 0.9), (10, -0.3))])
    >>> fit.longest_past.at_mm, fit.longest_short.past_line_mm, fit.share_measured
    (5.0, -0.3, 1.0)
    """
    runs = stretches(samples)
    whole_mm = sum(run.length_mm for run in runs)
    shares: dict[str, float] = {}
    for run in runs:
        share = run.length_mm / whole_mm if whole_mm > 0 else 1 / len(runs)
        shares[run.label] = shares.get(run.label, 0.0) + share
    return Summary(
        longest_past=_extreme(samples, +1),
        longest_short=_extreme(samples, -1),
        share_measured=float(sum(shares.get(state, 0.0) for state in STATES_WITH_VALUE)),
        share_by_state=shares,
        unseen=tuple(run for run in runs if run.label not in STATES_WITH_VALUE),
    )


def _extreme(samples: Sequence[Sample], side: int) -> Extreme | None:
    found = [
        Extreme(float(sample.place_mm()), float(sample.past_line_mm), float(sample.u95_mm))
        for sample in samples
        if sample.past_line_mm is not None and sample.u95_mm is not None and sample.past_line_mm * side > 0
    ]
    return max(found, key=lambda extreme: extreme.past_line_mm * side, default=None)
