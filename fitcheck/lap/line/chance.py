"""How likely a found line is the right one, from how far it beats the wood's own ridges and how it flickers.

The weights are set on made scenes (the study is in DEVELOPERS.md): a scale between 0 and 1, cautious, not a fit to
any photograph.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from fitcheck.lap.line.fair_line import runs
from fitcheck.lap.line.ridge import UNSEEN
from fitcheck.lap.line.speckle import Speckle

#: Log odds of a line: per unit of lead over the best rival, per unit of log speckle, and the start.
LEAD_WEIGHT, MOST_LEAD = 3.5, 1.2
SPECKLE_WEIGHT = 16.0
START = -3.4
#: Log odds from which a line is believed: a chance of 0.9.
ENOUGH = 2.2
#: A place is believed no more than it shows: at this speckle, as smooth as grain, or this margin over another path, its
#: log odds are just enough; they change by so much per unit of the logarithm of either. Half of a line's length must
#: stand clear by more.
ENOUGH_SPECKLE, LOCAL_WEIGHT = 1.1, 16.0
ENOUGH_MARGIN, ENOUGH_ALONG, MARGIN_WEIGHT = 9.0, 12.0, 8.0
#: A path so much less dark than the one side as than the other is the foot of a step, by as many log odds as told.
ENOUGH_TWO_SIDED, TWO_SIDED_WEIGHT = 0.1, 8.0
#: Where another path is behind by less than this the path may change from the line to grain: what lies between two
#: such places is doubted by itself.
BREAK_MARGIN = 6.0
#: A stretch so long, clear by so much along half of it, may be a line where the rest is too faint, if the whole is not
#: plain grain; being a part only costs this much.
LONG_BLOCKS, LONG_MARGIN, PART_COST, PLAIN_GRAIN = 30, 14.0, 1.0, -1.5
#: A line is fair: from one stretch of it to another so near it runs on, faint as it may be, if no other path between
#: them is within so much of it.
BRIDGED_BLOCKS, BRIDGE_MARGIN = 34, 5.0
#: No place is surer than this.
CERTAIN = 1.0 - 1e-9
#: A plank is clamped near its line, seldom further off than this, and a dark nearer than that to the edge may be its
#: crease, unless it is as speckled as no crease is: beyond either a millimetre costs so much (log odds).
FAR_MM, FAR_COST = 5.0, 2.5
NEAR_MM, NEAR_COST, PLAIN_PENCIL = 1.3, 12.0, 2.5


def local_chance(
    evidence: np.ndarray, rival: float, flicker: Speckle, margin: np.ndarray, two_sided: float
) -> np.ndarray:
    """Chance (B,) that the path is the line at each block.

    ``evidence`` (B,) is the path's at each block, ``rival`` the mean evidence of the best rival, ``flicker`` its
    speckle, ``margin`` (B,) by how much it beats the best path that passes elsewhere at each block, ``two_sided`` as
    :func:`fitcheck.lap.line.two_sides.two_sided` gives it.

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
    """The chance (B,) of a path with regard to how far ``off_mm`` (B,) the edge it lies.

    ``expected_mm`` is 0 for the lap line, the witness distance for a witness line, which no crease resembles;
    ``speckle`` is the path's as a whole.

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
    """Log odds (B,) of the path as a whole, and of its stretches between places where it may change to grain."""
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
    """Log odds that a margin over other paths leaves, at most."""
    return np.asarray(ENOUGH + MARGIN_WEIGHT * np.log(np.maximum(margin, 0.1) / enough))


def _bridged(odds: np.ndarray, margin: np.ndarray, in_sight: np.ndarray) -> np.ndarray:
    """Log odds (B,) with what lies in sight between two believed stretches near each other just believed too."""
    believed = np.flatnonzero(odds >= ENOUGH)
    bridged = odds.copy()
    for left, right in pairwise(believed):
        clear = in_sight[left:right].all() and (margin[left:right] >= BRIDGE_MARGIN).all()
        if clear and right - left <= BRIDGED_BLOCKS:
            bridged[left + 1 : right] = ENOUGH
    return bridged


def _log_odds(lead: float, speckle: float) -> float:
    return START + LEAD_WEIGHT * min(lead, MOST_LEAD) + SPECKLE_WEIGHT * float(np.log(speckle))
