"""Edge and line of a lap from one look or several: for each place where they run, and how sure that is.

The edge's two corners lie a distance apart that thickness, bevel and pose give within their uncertainty; what is left
of it is one number for the photograph, or for all looks, and is summed over. The line lies on the strake, where every
look has it in the same place. Fair paths are summed (:mod:`.summed_paths`), so that every place gets a probability.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.lap.evidence.look_odds import EDGE, PENCIL, ROW_MM, LookOdds
from fitcheck.lap.evidence.path import Path, path_of
from fitcheck.lap.evidence.pointed import Pointed, as_odds
from fitcheck.lap.evidence.summed_paths import Marginals, summed_paths

#: The edge lies within this distance of where its course was found.
EDGE_REACH_MM = 8.0
#: The distance between the corners is tried at so many places, out to so many of its standard uncertainties; what is
#: strange in a photograph is strange all along it, so its evidence for that one number counts by so much.
WIDTHS, WIDEST, WIDTH_WEIGHT = 9, 2.2, 0.1
#: Between looks from different heights it also grows with the width seen: thickness and scale, as shares of it.
STRETCHES, U_STRETCH = (-2.0, -1.0, 0.0, 1.0, 2.0), 0.03
#: The line lies at most this far below the edge, or so far about the witness distance.
BELOW_MM, ABOUT_WITNESS_MM = 13.0, 9.0
#: What no path may pass.
BARRED = -60.0


@dataclass(frozen=True)
class Marks:
    """Edge and line at ``along_mm`` (T,): paths in strip rows, the edge's being that of the inner corner.

    ``wider_mm`` ± ``u_wider_mm`` is how much further apart than expected the corners are seen. ``edge_evidence``
    and ``line_evidence`` are the logarithms of the odds of all this against a picture that tells nothing.
    ``edge_by_hand`` and ``line_by_hand`` tell that the builder's own course stands in for what is not seen.
    """

    along_mm: np.ndarray
    edge: Path
    line: Path
    wider_mm: float
    u_wider_mm: float
    edge_evidence: float
    line_evidence: float
    edge_by_hand: bool = False
    line_by_hand: bool = False


def find_marks(
    looks: Sequence[LookOdds],
    *,
    u_width_mm: float,
    witness_mm: float = 0.0,
    edge_at: Pointed | None = None,
    line_at: Pointed | None = None,
) -> Marks:
    """Edge and line of the lap that all ``looks`` show, on strips with the same rows and columns.

    ``u_width_mm`` is the standard uncertainty of the expected distance of the corners; ``witness_mm`` how far below the
    lap line the line was struck; ``edge_at`` and ``line_at`` are places pointed at.
    """
    first = looks[0]
    edge, wider, u_wider, edge_total = _edge(looks, u_width_mm, edge_at)
    found = _line(looks, edge.down_mm, witness_mm, line_at)
    line = path_of(found.in_row, found.none, first.down_mm, pointed=line_at is not None)
    return Marks(first.along_mm, edge, line, wider, u_wider, edge_total, found.log_total)


def _edge(looks: Sequence[LookOdds], u_width_mm: float, pointed: Pointed | None) -> tuple[Path, float, float, float]:
    """The inner corner's path, how much wider the edge face is seen and its uncertainty, and the evidence."""
    down = looks[0].down_mm
    inner = np.sum([one.inner for one in looks if one.inner is not None] or [np.zeros(looks[0].outer.shape)], axis=0)
    seen = any(one.inner is not None for one in looks)
    middle = np.mean([one.width_mm for one in looks if one.inner is not None or not seen], axis=0)
    # The course may have been found along either corner.
    narrowest = min(float(one.width_mm.max()) for one in looks)
    near = (down > min(0.0, narrowest) - EDGE_REACH_MM) & (down < max(0.0, narrowest) + EDGE_REACH_MM)
    absent = np.sum([one.no_edge for one in looks], axis=0)
    if pointed is not None:
        inner = inner + as_odds(pointed, looks[0].along_mm, down, below_mm=0.5 * middle)
    far = np.linspace(-WIDEST, WIDEST, WIDTHS) if seen else np.zeros(1)
    tried = [(one, stretch) for one in far for stretch in (STRETCHES if len(looks) > 1 else (0.0,))]
    offs = np.array([one for one, _ in tried]) * u_width_mm
    outers = [_spread(one.outer, one.u_twist_mm / ROW_MM) if seen else one.outer for one in looks]
    found: list[Marginals] = []
    log = []
    for off, (sigmas, stretch) in zip(offs, tried, strict=True):
        widths = [one.width_mm * (1.0 + stretch * U_STRETCH) + off for one in looks]
        apart = zip(outers, widths, strict=True)
        odds = inner + np.sum([_lifted(one, wide / ROW_MM) for one, wide in apart], axis=0)
        marginals = summed_paths(odds[near], absent, EDGE.fairness)
        found.append(marginals)
        log.append(WIDTH_WEIGHT * marginals.log_total - 0.5 * (sigmas**2 + stretch**2))
    share = np.exp(np.array(log) - max(log))
    share /= share.sum()
    in_row = np.zeros((len(down), len(absent)))
    in_row[near] = sum(part * one.in_row for part, one in zip(share, found, strict=True))
    none = sum(part * one.none for part, one in zip(share, found, strict=True))
    wider = float(share @ offs)
    best = found[int(share.argmax())].log_total
    edge = path_of(in_row, none, down, pointed=pointed is not None)
    return edge, wider, float(np.sqrt(share @ (offs - wider) ** 2)), best


def _spread(odds: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Odds (R, T) of a mark that may stand off its row by so many ``rows`` (T,), standard uncertainty."""
    apart = np.arange(len(odds))
    spread = np.empty_like(odds)
    for step, u in enumerate(rows):
        weight = np.exp(-0.5 * ((apart[:, None] - apart[None, :]) / max(float(u), 1e-3)) ** 2)
        spread[:, step] = np.log(weight @ np.exp(odds[:, step]) / weight.sum(axis=1))
    return spread


def _lifted(odds: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Odds (R, T) read ``rows`` (T,), not whole ones, further up; even beyond the strip."""
    at = np.arange(len(odds))[:, None] - rows[None, :]
    low = np.floor(at).astype(int)
    share = at - low
    inside = (low >= 0) & (low < len(odds) - 1)
    low = np.clip(low, 0, len(odds) - 2)
    steps = np.arange(odds.shape[1])[None, :]
    return np.where(inside, odds[low, steps] * (1.0 - share) + odds[low + 1, steps] * share, 0.0)


def _line(looks: Sequence[LookOdds], edge_mm: np.ndarray, witness_mm: float, pointed: Pointed | None) -> Marginals:
    """The line's marginals, with the inner corner at ``edge_mm`` (T,).

    What the plank hides from a look may hold the line: there the look says no more than that it sees none.
    """
    first = looks[0]
    columns = np.interp(first.columns_mm, first.along_mm, edge_mm)
    under = first.down_mm[:, None] - columns[None, :]
    if witness_mm:
        may = (np.abs(under - witness_mm) < ABOUT_WITNESS_MM) & (under > 0.0)
    else:
        may = (under > -0.3) & (under < BELOW_MM)
    step_may = first.down_mm[:, None] - edge_mm[None, :]
    step_may = (np.abs(step_may - witness_mm) < ABOUT_WITNESS_MM) if witness_mm else (step_may < BELOW_MM)
    odds, absent = np.zeros(first.outer.shape), np.zeros(len(edge_mm))
    every = np.zeros(odds.shape, bool)
    for one in looks:
        silhouette = np.maximum(0.0, -one.width_mm)
        clear = first.down_mm[:, None] > (edge_mm + silhouette)[None, :] - 0.3
        in_sight = under > np.interp(first.columns_mm, first.along_mm, silhouette)[None, :] - 0.3
        rows, none = one.line(may & in_sight)
        odds += np.where(clear, rows, none[None, :])
        absent += none
        every |= clear
    if pointed is not None:
        odds = odds + as_odds(pointed, first.along_mm, first.down_mm)
        absent = absent + pointed.against_none(first.along_mm)
    return summed_paths(np.where(every & step_may, odds, BARRED), absent, PENCIL.fairness)
