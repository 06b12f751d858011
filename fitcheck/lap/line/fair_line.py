"""Where a line is too faint to tell from the wood, it is believed only if it follows its fair course.

A line struck along a batten is fair. A path that leaves it for a streak of grain loses most of the evidence there, and
leaves the course. So the clear stretches of a line are used to predict where it runs between them (a Gaussian process),
and a faint stretch that lies elsewhere is not believed.
"""

from __future__ import annotations

import numpy as np

from fitcheck.ground.runs import runs
from fitcheck.lap.line.ridge import UNSEEN

#: A place is believed from this chance on. Below it the place gets no number, only candidates.
BELIEVED = 0.9
#: Evidence is averaged over a hand's breadth: a Gaussian with this standard deviation, in blocks of 6 mm.
AROUND_BLOCKS = 5.0
#: A place is faint if its lead over the wood is under this share of the line's usual lead, and under this much. The
#: usual lead is this percentile over the believed places. The wood's own evidence is taken to be at least the last
#: value.
FAINT_SHARE, FAINT_LEAD, USUAL_PERCENT, QUIET_WOOD = 0.3, 0.8, 70.0, 0.3
#: Clear places within this reach predict the line. So many clear blocks are needed on each side. Where there is one
#: side only, more are needed, and the faint stretch may have only so many blocks.
REACH_MM, LEAST_CLEAR, LEAST_ONE_SIDED, MOST_ONE_SIDED = 120.0, 5, 10, 14
#: How a fair line departs from a straight one: over such a length, by so much (standard deviation); and the standard
#: uncertainty with which a path follows a clear line.
WANDER_LENGTH_MM, WANDER_MM, U_PATH_MM = 100.0, 1.5, 0.12
#: A faint stretch agrees if it lies within this, plus this share of the prediction's own uncertainty.
AGREES_MM, DOUBT_SHARE = 0.35, 0.5
#: The most chance that a stretch keeps if it is neither clear nor on its fair course.
UNFAIR_CHANCE = 0.5


def held_fair(
    along_mm: np.ndarray, down_mm: np.ndarray, evidence: np.ndarray, rival: float, chance: np.ndarray
) -> np.ndarray:
    """The chance (B,) of a path ``down_mm`` (B,) at ``along_mm`` (B,), lowered where it is faint and off course.

    ``evidence`` (B,) is the path's own, ``rival`` the evidence of the wood's best ridge, ``chance`` (B,) the chance so
    far.

    >>> along, evidence = np.arange(40) * 6.0, np.full(40, 3.0)
    >>> down, chance = np.zeros(40), np.ones(40)
    >>> evidence[12:28] = 0.3
    >>> bool((held_fair(along, down, evidence, 0.5, chance) == 1.0).all())
    True
    >>> down[14:26] = 2.0
    >>> float(held_fair(along, down, evidence, 0.5, chance)[20])
    0.5
    """
    believed = chance >= BELIEVED
    if not believed.any():
        return chance
    lead, usual = _leads(evidence, rival, believed)
    clear = believed & (lead >= min(FAINT_LEAD, FAINT_SHARE * usual))
    held = chance.copy()
    for run in runs(believed & ~clear):
        if not _fair(along_mm, down_mm, clear, run):
            held[run] = np.minimum(held[run], UNFAIR_CHANCE)
    return held


def _leads(evidence: np.ndarray, rival: float, believed: np.ndarray) -> tuple[np.ndarray, float]:
    """Lead over the wood (B,), averaged around every block, and the usual lead of the believed places."""
    from scipy.ndimage import gaussian_filter1d

    sight = evidence > UNSEEN
    seen = np.maximum(gaussian_filter1d(sight.astype(float), AROUND_BLOCKS), 0.05)
    around = gaussian_filter1d(np.where(sight, evidence, 0.0), AROUND_BLOCKS) / seen
    wood = max(rival, QUIET_WOOD)
    some = believed & sight
    usual = float(np.percentile(evidence[some], USUAL_PERCENT)) if some.any() else wood
    return np.asarray(around - wood), max(usual - wood, QUIET_WOOD)


def _fair(along: np.ndarray, down: np.ndarray, clear: np.ndarray, run: slice) -> bool:
    """Whether a faint stretch lies where the clear stretches beside it predict the line."""
    near = clear & (along > along[run.start] - REACH_MM) & (along < along[run.stop - 1] + REACH_MM)
    before, after = int(near[: run.start].sum()), int(near[run.stop :].sum())
    one_sided = not clear[: run.start].any() or not clear[run.stop :].any()
    if one_sided and (run.stop - run.start > MOST_ONE_SIDED or max(before, after) < LEAST_ONE_SIDED):
        return False
    if not one_sided and min(before, after) < LEAST_CLEAR:
        return False
    foretold, doubt = _foretold(along[near], down[near], along[run])
    return bool((np.abs(down[run] - foretold) < AGREES_MM + DOUBT_SHARE * doubt).all())


def _foretold(x: np.ndarray, y: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Predicted value and standard deviation (M,) at the places ``at`` (M,), from ``y`` (N,) at ``x`` (N,).

    A Gaussian process about a straight line: Rasmussen and Williams, Gaussian Processes for Machine Learning (2006),
    equations 2.25 and 2.26 (from memory).
    """
    middle = x.mean()

    def covariance(one: np.ndarray, other: np.ndarray) -> np.ndarray:
        wander = WANDER_MM**2 * np.exp(-0.5 * ((one[:, None] - other) / WANDER_LENGTH_MM) ** 2)
        # A straight line of any height (5 mm) and slope (2 in 100).
        return np.asarray(wander + 25.0 + 4e-4 * (one - middle)[:, None] * (other - middle))

    known = covariance(x, x) + U_PATH_MM**2 * np.eye(len(x))
    weights = np.linalg.solve(known, covariance(x, at)).T
    variance = np.diag(covariance(at, at)) - np.einsum("mn,nm->m", weights, covariance(x, at))
    return weights @ y, np.sqrt(np.maximum(variance, 0.0))
