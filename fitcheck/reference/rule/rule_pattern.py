"""What the marks of a rule divide: told by which of them are longer.

On a millimetre rule every fifth and tenth mark is longer; an inch is halved again and again. The pattern that explains
the lengths best gives the unit, the division and which marks are whole centimetres or inches; the numbers are not read.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fitcheck.ground.spread import robust_spread

INCH_MM = 25.4
LEAST_MARKS = 12
#: How much more likely (in half units of the Bayesian information criterion) the best must be than the next.
LEAST_LEAD = 6.0
#: Marks of the next class are longer by at least this much; less is chance.
LEAST_LONGER = 1.1
LEAST_ALIKE = 2
#: and by this many standard uncertainties of the two classes' medians.
LEAST_APART = 3.0


@dataclass(frozen=True)
class Division:
    """A way to divide: ``unit`` ``mm`` or ``in``, ``pitch_mm`` from mark to mark, ``steps`` the marks that are longer.

    ``steps`` are counts of marks, each dividing the next; the last is a whole centimetre or inch.
    """

    unit: str
    pitch_mm: float
    steps: tuple[int, ...]

    @property
    def whole(self) -> int:
        """Marks from one longest mark to the next."""
        return self.steps[-1]

    @property
    def whole_mm(self) -> float:
        """From one longest mark to the next."""
        return self.whole * self.pitch_mm


def _halvings(parts: int) -> list[Division]:
    steps = [2**power for power in range(1, parts.bit_length()) if 2**power <= parts]
    return [Division("in", INCH_MM / parts, tuple(steps[skip:])) for skip in range(min(3, len(steps) - 1))]


DIVISIONS = (
    Division("mm", 1.0, (5, 10)),
    Division("mm", 0.5, (2, 10, 20)),
    Division("mm", 0.5, (10, 20)),
    *(division for parts in (8, 16, 32, 64) for division in _halvings(parts)),
)


@dataclass(frozen=True)
class Reading:
    """A division, the number of one of its longest marks, and how much better than chance it explains the lengths."""

    division: Division
    longest: int
    score: float


def read_division(number: np.ndarray, lengths: np.ndarray) -> list[Reading]:
    """Every way of dividing that suits marks ``number`` (N,) of ``lengths`` (N,), likeliest first; NaN is unseen.

    ``score`` is the gain in log-likelihood over lengths that are all alike, less a penalty for each class (BIC / 2).

    >>> n = np.arange(3, 61); lengths = np.where(n % 10 == 7, 8.0, np.where(n % 5 == 2, 6.0, 4.0))
    >>> best = read_division(n, lengths)[0]
    >>> best.division.unit, best.division.pitch_mm, best.longest % 10
    ('mm', 1.0, 7)
    """
    seen = np.isfinite(lengths)
    if seen.sum() < LEAST_MARKS:
        return []
    number, lengths = number[seen], lengths[seen]
    readings = [
        Reading(division, phase, score)
        for division in DIVISIONS
        for phase in range(division.whole)
        if (score := _score(number - phase, lengths, division.steps)) is not None
    ]
    return sorted(readings, key=lambda reading: -reading.score)


def _score(number: np.ndarray, lengths: np.ndarray, steps: tuple[int, ...]) -> float | None:
    ranks = sum((number % step == 0).astype(int) for step in steps)
    classes = [lengths[ranks == rank] for rank in range(len(steps) + 1)]
    # One long mark may be a misread one, and a class unseen is no evidence.
    if min(len(members) for members in classes) < LEAST_ALIKE:
        return None
    means = [float(np.median(members)) for members in classes]
    if any(longer < shorter * LEAST_LONGER for shorter, longer in pairwise(means)):
        return None
    apart = np.concatenate([np.abs(members - mean) for members, mean in zip(classes, means, strict=True)])
    floor, left = 0.03 * float(np.median(lengths)), float(apart.sum())
    # The median of n normal values is good to 1.25 of their deviation over the root of n.
    u = 1.25 * float(robust_spread(apart)) / np.sqrt([len(members) for members in classes])
    if (np.diff(means) < LEAST_APART * np.hypot(u[1:], u[:-1])).any():
        return None
    alike = float(np.abs(lengths - np.median(lengths)).sum())
    count = len(lengths)
    # Laplace likelihood: absolute distances, so that a few misread lengths do not decide.
    gain = count * (np.log(alike / count + floor) - np.log(left / count + floor))
    return gain - 0.5 * (len(means) - 1) * np.log(count) - np.log(steps[-1])
