"""Gap and step of several edge-on photographs made one: overlaps weighed, their disagreement told, gaps left open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from fitcheck.contract.gap_measurement import GapSample
from fitcheck.ground.refusal import Reason
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.lap.edge_on.gap_samples import SAMPLE_MM, Placed, sample_of
from fitcheck.plank.disagreements import told_apart

#: A disagreement is told from this length on.
TOLD_MM = 30.0
#: What a disagreement means, and what to do.
MISTAKEN = "Something moved between them, or one of them took a shadow for a slit: try a feeler there."


@dataclass(frozen=True, eq=False)
class JoinedGaps:
    """The plank's samples, the standard uncertainties (N,) of their gaps, and where photographs disagree."""

    samples: tuple[GapSample, ...]
    u_gap_mm: np.ndarray
    warnings: tuple[Reason, ...]


class _Joined(NamedTuple):
    """A place seen by several: the surest photograph with all weighed in, the row in it, whether they disagree."""

    placed: Placed
    row: int
    disagree: bool


class _Weighed(NamedTuple):
    """Several values of one thing made one, with its standard uncertainty, and whether they disagree."""

    value: float
    u: float
    disagree: bool


def combine_gaps(strands: Sequence[Placed], *, units: str = "in") -> JoinedGaps:
    """One sample each 5 mm of plank that any photograph shows; no place is filled from its neighbours.

    Photographs share wood, light and model, so their errors may go together: what two say of a place is weighed, but
    its doubt is that of the surer one, or larger. Where they differ by more than their doubts, it is half of their
    difference at the least. Warnings say places in ``units``.
    """
    rows_at: dict[int, list[tuple[Placed, int]]] = {}
    for strand in strands:
        for row, step in enumerate(strand.step):
            rows_at.setdefault(int(step), []).append((strand, row))
    samples, u_gap, apart = [], [], []
    for step, here in sorted(rows_at.items()):
        clear = [(strand, row) for strand, row in here if not strand.covered[row]]
        if not clear:
            names = tuple(strand.name for strand, _ in here)
            samples.append(sample_of(*here[0], on_plank=True, photos=names))
            continue
        joined = _joined(clear)
        names = tuple(strand.name for strand, _ in _by_weight(clear))
        samples.append(sample_of(joined.placed, joined.row, on_plank=True, photos=names))
        u_gap.append(float(joined.placed.u_gap_mm[joined.row]))
        if joined.disagree:
            apart.append((step * SAMPLE_MM, tuple(sorted(names))))
    return JoinedGaps(tuple(samples), np.array(u_gap), tuple(told_apart(apart, units, MISTAKEN, least_mm=TOLD_MM)))


def unseen(samples: Sequence[GapSample], first_mm: float, last_mm: float) -> tuple[dict[str, float], ...]:
    """The stretches that no photograph shows, between the outermost of samples and station cards."""
    places = sorted(sample.place_mm() for sample in samples)
    ends = [min(first_mm, places[0] - SAMPLE_MM), *places, max(last_mm, places[-1] + SAMPLE_MM)]
    return tuple(
        {"from_mm": round(low, 1), "to_mm": round(high, 1)}
        for low, high in pairwise(ends)
        if high - low > 1.5 * SAMPLE_MM
    )


def _by_weight(clear: Sequence[tuple[Placed, int]]) -> list[tuple[Placed, int]]:
    return sorted(clear, key=lambda pair: float(pair[0].u_gap_mm[pair[1]]))


def _joined(clear: Sequence[tuple[Placed, int]]) -> _Joined:
    first, row = _by_weight(clear)[0]
    if len(clear) == 1:
        return _Joined(first, row, disagree=False)
    gap = _weighed([(float(s.gap_mm[r]), float(s.u_gap_mm[r])) for s, r in clear])
    step = _weighed([(float(s.proud_mm[r]), float(s.u_proud_mm[r])) for s, r in clear])
    weighed = replace(
        first,
        gap_mm=_put(first.gap_mm, row, gap.value),
        u_gap_mm=_put(first.u_gap_mm, row, gap.u),
        proud_mm=_put(first.proud_mm, row, step.value),
        u_proud_mm=_put(first.u_proud_mm, row, step.u),
    )
    return _Joined(weighed, row, disagree=gap.disagree or step.disagree)


def _weighed(values: Sequence[tuple[float, float]]) -> _Weighed:
    """Value and standard uncertainty of several of one thing, and whether they lie further apart than their doubts.

    >>> tuple(round(v, 3) for v in _weighed([(0.5, 0.1), (0.4, 0.1)])[:2]), _weighed([(0.6, 0.1), (0.0, 0.1)])[1:]
    ((0.45, 0.1), (0.3, True))
    """
    value, u = np.array(values).T
    weight = 1.0 / u**2
    mean = float((weight * value).sum() / weight.sum())
    low, high = int(np.argmin(value)), int(np.argmax(value))
    spread = float(value[high] - value[low])
    disagree = bool(spread > COVERAGE * np.hypot(u[low], u[high]))
    return _Weighed(mean, max(float(u.min()), spread / 2.0 if disagree else 0.0), disagree)


def _put(values: np.ndarray, row: int, value: float) -> np.ndarray:
    changed = values.copy()
    changed[row] = value
    return changed
