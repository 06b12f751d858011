"""What one look says of edge and line in every cell of a strip, before any path is drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.evidence.channels import FINE_MM, fine_channels
from fitcheck.lap.evidence.network import load_network
from fitcheck.lap.evidence.odds import by_steps, row_odds
from fitcheck.lap.evidence.summed_paths import Fairness

ROW_MM, COLUMN_MM = FINE_MM
#: Columns to a step of the paths.
WIDE = 5
STEP_MM = WIDE * COLUMN_MM
OUTER, INNER, LINE = 0, 1, 2


@dataclass(frozen=True)
class Belief:
    """How far the network's scores are to be believed, fitted on boards it was not trained on (tests/training).

    Neighbouring columns show the same streak, so their evidence counts by ``weight`` only; ``floor`` and
    ``absent_share`` as in :func:`.odds.row_odds`; ``fairness`` of the mark's path.
    """

    weight: float
    floor: float
    absent_share: float
    fairness: Fairness


EDGE = Belief(0.08, 0.05, 0.08, Fairness(3, 0.25))
PENCIL = Belief(0.05, 0.05, 0.35, Fairness(3, 0.2, 0.005))


@dataclass(frozen=True)
class LookOdds:
    """One look's evidence on a strip with rows ``down_mm`` (R,) and steps at ``along_mm`` (T,).

    ``outer`` and ``inner`` (R, T) are log odds of the plank's corners in each row; ``inner`` is None where the plank
    hides it. ``no_edge`` (T,) are those of no edge. ``width_mm`` (T,) is how far below the outer corner the inner one
    is seen, expected from thickness, bevel and pose; it may change along the lap by ``u_twist_mm`` (T,), as plank and
    strake twist. ``line_scores`` (R, C) and ``seen`` (R, C) are in columns at ``columns_mm`` (C,).
    """

    down_mm: np.ndarray
    along_mm: np.ndarray
    columns_mm: np.ndarray
    outer: np.ndarray
    inner: np.ndarray | None
    no_edge: np.ndarray
    width_mm: np.ndarray
    u_twist_mm: np.ndarray
    line_scores: np.ndarray
    seen: np.ndarray

    def line(self, allowed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Log odds (R, T) of the line in each row, and (T,) of none, where it may lie: ``allowed`` (R, C)."""
        none = float(load_network("edge_and_line").none[LINE])
        there = allowed & self.seen
        odds, absent = row_odds(self.line_scores, none, there, absent_share=PENCIL.absent_share, floor=PENCIL.floor)
        rows = np.where(there, odds, np.log(PENCIL.floor))
        return by_steps(rows, WIDE) * PENCIL.weight, by_steps(absent, WIDE) * PENCIL.weight


def look_odds(
    light: np.ndarray,
    seen: np.ndarray,
    columns_mm: np.ndarray,
    down_mm: np.ndarray,
    *,
    width_mm: np.ndarray,
    u_twist_mm: np.ndarray,
    hidden: bool,
    px_per_mm: float,
) -> LookOdds:
    """The evidence of one look.

    ``light`` (R, C, 3) and ``seen`` (R, C) as for :func:`.channels.fine_channels`; ``width_mm`` and
    ``u_twist_mm`` (C,) as in :class:`LookOdds`, ``hidden`` where the plank hides its inner corner.
    """
    network = load_network("edge_and_line")
    scores = network.scores(fine_channels(light, seen, float(np.median(width_mm)), px_per_mm))

    def odds_of(mark: int) -> tuple[np.ndarray, np.ndarray]:
        none = float(network.none[mark])
        rows, absent = row_odds(scores[mark], none, seen, absent_share=EDGE.absent_share, floor=EDGE.floor)
        return by_steps(rows, WIDE) * EDGE.weight, by_steps(absent, WIDE) * EDGE.weight

    along = by_steps(columns_mm, WIDE) / WIDE
    outer, no_edge = odds_of(OUTER)
    inner = None if hidden else odds_of(INNER)[0]
    width, twist = (np.interp(along, columns_mm, one) for one in (width_mm, u_twist_mm))
    return LookOdds(down_mm, along, columns_mm, outer, inner, no_edge, width, twist, scores[LINE], seen)
