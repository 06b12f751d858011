"""How likely it is that a path is the line, from its lead over the wood's own ridges, its speckle and its rivals.

The chance lies between 0 and 1. Its weights were set on made scenes, with caution, and are not fitted to any photograph
(docs/decisions.md, 4 and 35). They work on log odds: the logarithm of chance / (1 - chance).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from fitcheck.ground.runs import runs
from fitcheck.lap.line.ridge import UNSEEN
from fitcheck.lap.line.speckle import Speckle

#: Log odds of a path: so much for each unit of lead over the best rival (up to a most), and for each unit of the
#: logarithm of its speckle, added to the start.
LEAD_WEIGHT, MOST_LEAD = 3.5, 1.2
SPECKLE_WEIGHT = 16.0
START = -3.4
#: A line is believed from these log odds on: a chance of 0.9.
ENOUGH = 2.2
#: Each place must show by itself that it is the line. With this speckle (less is as smooth as grain), or this margin
#: over other paths, its log odds can be just enough; for each unit of the logarithm of either they can be so much more
#: or less. Over half of the line's length the margin must be the greater one.
ENOUGH_SPECKLE, LOCAL_WEIGHT = 1.1, 16.0
ENOUGH_MARGIN, ENOUGH_ALONG, MARGIN_WEIGHT = 9.0, 12.0, 8.0
#: A line is darker than both of its sides, the foot of a step only than one. At this ratio of the lesser to the greater
#: difference the log odds can be just enough; they change by so much for each unit of its logarithm.
ENOUGH_TWO_SIDED, TWO_SIDED_WEIGHT = 0.1, 8.0
#: Where the margin is less than this the path may change from the line to a streak of grain. So each stretch between
#: two such places is judged by itself.
BREAK_MARGIN = 6.0
#: A stretch of so many blocks, with this margin along half of it, may be a line even if the rest is too faint: at a
#: cost, because it is only a part, and only if the log odds of the whole path are not as low as those of plain grain.
LONG_BLOCKS, LONG_MARGIN, PART_COST, PLAIN_GRAIN = 30, 14.0, 1.0, -1.5
#: A struck line does not stop between two of its stretches. Where they are at most so many blocks apart, and the margin
#: between them is at least this, the places between are just believed too, however faint.
BRIDGED_BLOCKS, BRIDGE_MARGIN = 34, 5.0
#: No place is surer than this.
CERTAIN = 1.0 - 1e-9
#: A plank is clamped near its line: a path further from the edge than the first length is seldom the line. A path
#: nearer than the second may be the crease under the plank, unless it is more speckled than any crease. Each millimetre
#: beyond either costs so many log odds.
FAR_MM, FAR_COST = 5.0, 2.5
NEAR_MM, NEAR_COST, PLAIN_PENCIL = 1.3, 12.0, 2.5


def local_chance(
    evidence: np.ndarray, rival: float, flicker: Speckle, margin: np.ndarray, two_sided: float
) -> np.ndarray:
    """Chance (B,) that the path is the line at each block.

    ``evidence`` (B,) is the path's own at each block; ``rival`` is the mean evidence of the best rival; ``flicker`` is
    the path's speckle; ``margin`` (B,) is its lead over the best path that passes elsewhere at that block;
    ``two_sided`` is the ratio that :func:`fitcheck.lap.line.two_sides.two_sided` gives.

    >>> pencil, grain = Speckle(2.0, np.full(3, 2.0)), Speckle(1.05, np.full(3, 1.0))
    >>> bool(local_chance(np.full(3, 1.9), 0.7, pencil, np.full(3, 20.0), 0.8).min() > 0.99)
    True
    >>> bool(local_chance(np.full(3, 1.1), 0.7, grain, np.full(3, 9.0), 0.8).max() < 0.5)
    True
    """
    from scipy.special import expit

    local = np.maximum(flicker.local, 0.1)
    in_sight = evidence > UNSEEN
    odds = _odds_of_stretches(evidence - rival, max(flicker.whole, 0.1), local, margin, in_sight)
    as_pencil = ENOUGH + LOCAL_WEIGHT * np.log(local / ENOUGH_SPECKLE)
    as_line = ENOUGH + TWO_SIDED_WEIGHT * float(np.log(max(two_sided, 0.01) / ENOUGH_TWO_SIDED))
    odds = np.minimum(np.minimum(odds, as_line), np.minimum(as_pencil, _unrivalled(margin, ENOUGH_MARGIN)))
    return np.asarray(expit(_bridged(odds, margin, in_sight)))


def at_its_place(chance: np.ndarray, off_mm: np.ndarray, expected_mm: float, speckle: float) -> np.ndarray:
    """The chance (B,) of a path, lowered where it lies too near the edge or too far from it, ``off_mm`` (B,).

    ``expected_mm`` is 0 for the lap line and the witness distance for a witness line, which cannot be a crease;
    ``speckle`` is that of the whole path.

    >>> at_its_place(np.array([0.99, 0.99, 0.99]), np.array([0.9, 3.0, 9.0]), 0.0, 1.5).round(2).tolist()
    [0.45, 0.99, 0.0]
    >>> at_its_place(np.array([0.99]), np.array([0.9]), 0.0, 3.0).round(2).tolist()
    [0.99]
    """
    from scipy.special import expit, logit

    cost = FAR_COST * np.maximum(off_mm - expected_mm - FAR_MM, 0.0)
    if not expected_mm and speckle < PLAIN_PENCIL:
        cost = cost + NEAR_COST * np.maximum(NEAR_MM - off_mm, 0.0)
    return np.asarray(expit(logit(np.minimum(chance, CERTAIN)) - cost))


def _odds_of_stretches(
    lead: np.ndarray, speckle: float, local: np.ndarray, margin: np.ndarray, in_sight: np.ndarray
) -> np.ndarray:
    """Log odds (B,): those of the whole path, or of the stretch between two places where it may change to grain."""
    whole = _log_odds(float(lead.mean()), speckle)
    along = float(np.median(margin[in_sight])) if in_sight.any() else 0.0
    odds = np.full(len(lead), min(whole, float(_unrivalled(np.array(along), ENOUGH_ALONG))))
    for run in runs(margin >= BREAK_MARGIN):
        own = _log_odds(float(lead[run].mean()), float(np.sqrt((local[run] ** 2).mean())))
        odds[run] = np.minimum(odds[run], own)
        long = run.stop - run.start >= LONG_BLOCKS and np.median(margin[run]) >= LONG_MARGIN
        if long and whole > PLAIN_GRAIN:
            odds[run] = np.maximum(odds[run], own - PART_COST)
    return odds


def _unrivalled(margin: np.ndarray, enough: float) -> np.ndarray:
    """The highest log odds that this margin over other paths allows."""
    return np.asarray(ENOUGH + MARGIN_WEIGHT * np.log(np.maximum(margin, 0.1) / enough))


def _bridged(odds: np.ndarray, margin: np.ndarray, in_sight: np.ndarray) -> np.ndarray:
    """Log odds (B,) in which places in sight between two believed stretches, near each other, are just enough too."""
    believed = np.flatnonzero(odds >= ENOUGH)
    bridged = odds.copy()
    for left, right in pairwise(believed):
        clear = in_sight[left:right].all() and (margin[left:right] >= BRIDGE_MARGIN).all()
        if clear and right - left <= BRIDGED_BLOCKS:
            bridged[left + 1 : right] = ENOUGH
    return bridged


def _log_odds(lead: float, speckle: float) -> float:
    return START + LEAD_WEIGHT * min(lead, MOST_LEAD) + SPECKLE_WEIGHT * float(np.log(speckle))
