"""Many photographs' values made one: strays left out, common errors settled in the overlaps, the rest weighed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Sample
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Reason
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.one_photo.edge_samples import SAMPLE_MM
from fitcheck.plank.disagreements import told_apart
from fitcheck.plank.joint.lap_curve import fit_curve
from fitcheck.plank.photo_values import Strand

#: A planed edge does not leave its own fair curve by more than this: what does is a clamp's pad or a shadow.
UNFAIR_MM, FAIR_WAVE_MM = 0.9, 300.0
#: Errors of neighbouring places go together over about this length.
ALIKE_MM = 60.0
LEAST_U_BETWEEN_MM = 0.05
#: A disagreement is told from this length on.
TOLD_MM = 40.0
#: What a disagreement means, and what to do.
MISTAKEN = "Something moved between them, or edge or line was mistaken in one: photograph that stretch again."
#: Which reason stands where photographs give several for having no value.
RANK = {"ambiguous": 0, "hidden": 1, "covered": 2}


@dataclass(frozen=True)
class Combined:
    """The plank's samples, warnings where photographs disagree, and the median parts of the budget."""

    samples: tuple[Sample, ...]
    warnings: tuple[Reason, ...]
    budget_mm: dict[str, float]


def combine(strands: Sequence[Strand], settings: Settings) -> Combined:
    """One sample each 5 mm of plank from all strands. No place is filled from its neighbours."""
    strands = leave_out_strays(strands)
    shift, covariance = settle(strands)
    strands_at: dict[int, list[tuple[int, int]]] = {}
    for number, strand in enumerate(strands):
        for row, step in enumerate(strand.step):
            strands_at.setdefault(int(step), []).append((number, row))
    samples, apart = [], []
    for step, here in sorted(strands_at.items()):
        sample, excess = _sample(step, here, strands, shift, covariance, settings)
        samples.append(sample)
        if excess > 1.0:
            apart.append((step * SAMPLE_MM, tuple(sorted(sample.photos))))
    return Combined(
        tuple(samples), tuple(told_apart(apart, settings.units, MISTAKEN, least_mm=TOLD_MM)), _budget(strands)
    )


def leave_out_strays(strands: Sequence[Strand]) -> list[Strand]:
    """The strands without values that leave the plank's fair curve, drawn robustly through all photographs' values."""
    place = np.concatenate([strand.place_mm for strand in strands])
    past = np.concatenate([strand.past_mm for strand in strands])
    seen = np.isfinite(past)
    if seen.sum() * SAMPLE_MM < 2 * FAIR_WAVE_MM:
        return list(strands)
    fair = fit_curve(place[seen], past[seen], followed_mm=FAIR_WAVE_MM)
    return [
        strand.without(np.abs(np.nan_to_num(strand.past_mm - fair.w(strand.place_mm))) > UNFAIR_MM + strand.u_photo_mm)
        for strand in strands
    ]


def settle(strands: Sequence[Strand]) -> tuple[np.ndarray, np.ndarray]:
    """Each photograph's common error (V,) as the overlaps tell it, and its covariance (V, V).

    The common part is one unknown a photograph, zero to within its own uncertainty; every overlap measures the
    difference of two. Solved together by least squares: the best linear unbiased prediction.
    """
    u_photo = np.array([float(np.median(strand.u_photo_mm)) for strand in strands])
    normal, pull = np.diag(1.0 / u_photo**2), np.zeros(len(strands))
    for i, one in enumerate(strands):
        for j in range(i + 1, len(strands)):
            difference = _difference(one, strands[j])
            if difference is None:
                continue
            value, u = difference
            row = np.zeros(len(strands))
            row[i], row[j] = 1.0, -1.0
            normal += np.outer(row, row) / u**2
            pull += row * value / u**2
    covariance = np.linalg.inv(normal)
    return covariance @ pull, covariance


def _difference(one: Strand, other: Strand) -> tuple[float, float] | None:
    _, at, other_at = np.intersect1d(one.step, other.step, return_indices=True)
    apart = one.past_mm[at] - other.past_mm[other_at]
    both = np.isfinite(apart)
    if not both.any():
        return None
    own = np.hypot(one.u_own_mm[at], other.u_own_mm[other_at])[both]
    count = max(1.0, both.sum() * SAMPLE_MM / ALIKE_MM)
    return float(np.median(apart[both])), float(np.hypot(np.median(own) / np.sqrt(count), LEAST_U_BETWEEN_MM))


def _sample(
    step: int,
    here: Sequence[tuple[int, int]],
    strands: Sequence[Strand],
    shift: np.ndarray,
    covariance: np.ndarray,
    settings: Settings,
) -> tuple[Sample, float]:
    """The sample at one place, and by how much its photographs disagree: 1 is as much as their uncertainties allow."""
    seen = [(number, row) for number, row in here if np.isfinite(strands[number].past_mm[row])]
    if not seen:
        return _unseen(here, strands), 0.0
    who = np.array([number for number, _ in seen])
    past = np.array([strands[number].past_mm[row] - shift[number] for number, row in seen])
    own = np.array([strands[number].u_own_mm[row] for number, row in seen])
    spread = own**2 + np.diag(covariance)[who]
    weight = 1.0 / spread
    weight /= weight.sum()
    value = float(weight @ past)
    excess = _excess(past - value, own, len(seen))
    u_own = float(np.sqrt((weight**2 * own**2).sum())) * max(1.0, excess * COVERAGE)
    u_photo = float(np.sqrt(weight @ covariance[np.ix_(who, who)] @ weight))
    u_shared = float(weight @ np.array([strands[number].u_shared_mm[row] for number, row in seen]))
    u95 = COVERAGE * float(np.sqrt(u_own**2 + u_photo**2 + u_shared**2))
    order = np.argsort(-weight)
    first_number, first_row = seen[int(order[0])]
    first = strands[first_number].samples[first_row]
    flags = tuple(dict.fromkeys(flag for number, row in seen for flag in strands[number].samples[row].flags))
    return (
        Sample(
            None,
            value,
            u95,
            state_of(value, u95, settings.limit_mm),
            plank_mm=step * SAMPLE_MM,
            edge_px=first.edge_px,
            line_px=first.line_px,
            flags=flags,
            photos=tuple(strands[seen[int(k)][0]].name for k in order),
        ),
        excess,
    )


def _excess(apart: np.ndarray, own: np.ndarray, count: int) -> float:
    """The Birge ratio, differences over uncertainties, against the most that is usual; 0 for one photograph."""
    if count < 2:
        return 0.0
    return float(np.sqrt(((apart / own) ** 2).sum() / (count - 1))) / COVERAGE


def _unseen(here: Sequence[tuple[int, int]], strands: Sequence[Strand]) -> Sample:
    options = [(RANK.get(strands[number].samples[row].state, 3), number, row) for number, row in here]
    _, number, row = min(options)
    sample = strands[number].samples[row]
    names = tuple(strands[other].name for _, other, _ in sorted(options))
    return Sample(
        None,
        None,
        None,
        sample.state,
        plank_mm=sample.plank_mm,
        edge_px=sample.edge_px,
        flags=sample.flags,
        photos=names,
    )


def _budget(strands: Sequence[Strand]) -> dict[str, float]:
    names = strands[0].parts.keys()
    return {name: round(float(np.median(np.concatenate([s.parts[name] for s in strands]))), 4) for name in names}
