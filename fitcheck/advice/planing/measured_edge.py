"""The measured edge as the planing advice sees it: arrays by place, and how far a place may lie off the line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Sample
from fitcheck.ground.refusal import WrongCall


@dataclass(frozen=True)
class Edge:
    """The edge along the lap, in order: ``at_mm`` (N,), ``past_mm`` (N,), ``u95_mm`` (N,), NaN where it has no number.

    ``states`` (N,) are the measured states of those without a number, and are ignored where there is one. ``far`` (N,)
    tells which lie far from their reference.
    """

    at_mm: np.ndarray
    past_mm: np.ndarray
    u95_mm: np.ndarray
    states: tuple[str, ...]
    limit_mm: float
    far: np.ndarray

    @property
    def seen(self) -> np.ndarray:
        """Which places (N,) have a number."""
        return np.isfinite(self.past_mm)

    @property
    def band_mm(self) -> np.ndarray:
        """How far (N,) the edge may lie off the line and be left alone.

        Surely within the limit where the measurement is sharp enough to say so, else as near as it can tell.
        """
        return np.maximum(self.u95_mm, self.limit_mm - self.u95_mm)

    @property
    def labels(self) -> list[str]:
        """The state of every place, decided on ``past_mm``."""
        return [
            state_of(float(value), float(u95), self.limit_mm) if np.isfinite(value) else state
            for value, u95, state in zip(self.past_mm, self.u95_mm, self.states, strict=True)
        ]

    def moved(self, shift_mm: np.ndarray | float) -> Edge:
        """The same edge after the plank has gone ``shift_mm`` (N,) toward the keel."""
        return replace(self, past_mm=self.past_mm + shift_mm)


def edge_of(samples: Sequence[Sample], limit_mm: float, aim_mm: float = 0.0) -> Edge:
    """The edge of ``samples``, against an aim ``aim_mm`` beyond the line's middle.

    Raises :class:`WrongCall` where there is no sample or a limit that is no length.
    """
    if not samples:
        raise WrongCall("there is no sample to plan from")
    if not (np.isfinite(limit_mm) and limit_mm > 0):
        raise WrongCall(f"a limit of {limit_mm} mm is no length to work to")
    ordered = sorted(samples, key=Sample.place_mm)
    valued = [sample.past_line_mm is not None and sample.u95_mm is not None for sample in ordered]
    pairs = [
        (sample.past_line_mm - aim_mm, sample.u95_mm) if has else (np.nan, np.nan)  # type: ignore[operator]
        for sample, has in zip(ordered, valued, strict=True)
    ]
    past, u95 = np.array(pairs, float).T
    return Edge(
        at_mm=np.array([sample.place_mm() for sample in ordered], float),
        past_mm=past,
        u95_mm=u95,
        states=tuple(sample.state for sample in ordered),
        limit_mm=float(limit_mm),
        far=np.array(["far-from-reference" in sample.flags for sample in ordered]),
    )


def samples_at(edge: Edge) -> list[Sample]:
    """The places of ``edge`` as bare samples, for finding stretches."""
    return [Sample(float(at), None, None, state) for at, state in zip(edge.at_mm, edge.states, strict=True)]
