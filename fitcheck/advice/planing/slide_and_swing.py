"""The best small slide and swing of the plank within what its upper edge and its ends allow: a linear programme."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.advice.planing.measured_edge import Edge
from fitcheck.advice.planing.programme import solve

#: A place left short counts for this much wood: wood can be planed off, never put back.
SHORT_WEIGHT = 1000.0
#: Of moves that spare the same wood the smallest is kept: a millimetre of it counts for this much wood.
MOVE_WEIGHT = 1e-3
#: A smaller move, at the plank's end, is no move a builder can make.
LEAST_MOVE_MM = 0.1


@dataclass(frozen=True)
class Move:
    """A slide toward the keel and a swing of the higher end toward the keel about one place."""

    slide_mm: float
    swing_mm_per_m: float
    about_mm: float

    def shift_mm(self, at_mm: np.ndarray) -> np.ndarray:
        """How far (N,) the edge goes toward the keel at places (N,).

        >>> Move(1.0, 2.0, 500.0).shift_mm(np.array([0.0, 500.0, 1000.0]))
        array([0., 1., 2.])
        """
        return self.slide_mm + self.swing_mm_per_m * (np.asarray(at_mm) - self.about_mm) / 1000.0

    def __bool__(self) -> bool:
        return self.slide_mm != 0.0 or self.swing_mm_per_m != 0.0


def best_move(edge: Edge, *, may_slide_mm: float, may_swing_mm_per_m: float, about_mm: float, prefer: str) -> Move:
    """The move that leaves least short, then least wood ("least-wood") or the shallowest cut ("shallowest").

    A plank that needs neither cut nor lengthening stays where it is. Minimises
    ``SHORT_WEIGHT * mean(short) + wood + MOVE_WEIGHT * (abs(slide) + abs(swing) over half the length)``, where short
    and wood are how far each place then lies beyond :attr:`Edge.band_mm`, and wood is their mean or their largest.
    """
    still = Move(0.0, 0.0, about_mm)
    wrong = {"past", "short"} & set(edge.labels)
    if not wrong or (may_slide_mm == 0 and may_swing_mm_per_m == 0):
        return still
    at, past, band = (values[edge.seen] for values in (edge.at_mm, edge.past_mm, edge.band_mm))
    off, reach_m = at - about_mm, max(float(np.abs(at - about_mm).max()) / 1000.0, 1e-6)
    shallowest = prefer == "shallowest"
    slide, swing = _solve(off, past, band, (may_slide_mm, may_swing_mm_per_m), reach_m, shallowest)
    if abs(swing) * reach_m < LEAST_MOVE_MM:
        slide, swing = _solve(off, past, band, (may_slide_mm, 0.0), reach_m, shallowest)
    if abs(slide) + abs(swing) * reach_m < LEAST_MOVE_MM:
        return still
    return Move(round(slide, 4), round(swing, 4), about_mm)


def _solve(
    off_mm: np.ndarray,
    past: np.ndarray,
    band: np.ndarray,
    may: tuple[float, float],
    reach_m: float,
    shallowest: bool,
) -> tuple[float, float]:
    from scipy.sparse import csr_array, eye_array

    count = len(off_mm)
    # Columns: slide and swing each as two parts >= 0 (toward the keel, toward the sheer); wood; short.
    move = csr_array(np.column_stack([np.ones(count), -np.ones(count), off_mm / 1000.0, -off_mm / 1000.0]))
    wood: Any = csr_array(np.ones((count, 1))) if shallowest else eye_array(count)
    rows = [[move, -wood, None], [-move, None, -eye_array(count)]]
    most = np.concatenate([band - past, band + past])
    woods = wood.shape[1]
    cost = np.concatenate(
        [
            MOVE_WEIGHT * np.array([1.0, 1.0, reach_m, reach_m]),
            np.full(woods, 1.0 / woods),
            np.full(count, SHORT_WEIGHT / count),
        ]
    )
    bounds = [(0.0, may[0])] * 2 + [(0.0, may[1])] * 2 + [(0.0, None)] * (woods + count)
    found = solve(cost, rows, most, bounds)
    return float(found[0] - found[1]), float(found[2] - found[3])
