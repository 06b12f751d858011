"""How likely a found line is the right one, from how far it beats the wood's own ridges and how it flickers.

The weights are set on made scenes (the study is in DEVELOPERS.md): a scale between 0 and 1, cautious, not a fit to
any photograph.
"""

from __future__ import annotations

import numpy as np

from fitcheck.lap.speckle import Speckle

#: Log odds of a line: per unit of lead over the best rival, per unit of log speckle, and the start.
LEAD_WEIGHT, MOST_LEAD = 2.5, 0.8
SPECKLE_WEIGHT = 16.0
START = -3.4
#: A place is believed no more than it shows: at this speckle, as smooth as grain, or this margin over another path, its
#: log odds are just enough; they change by so much per unit of the logarithm of either.
ENOUGH, ENOUGH_SPECKLE, ENOUGH_MARGIN = 2.2, 1.1, 11.0
LOCAL_WEIGHT, MARGIN_WEIGHT = 16.0, 8.0
#: Where another path is behind by less than this the path may change from the line to grain: what lies between two
#: such places is doubted by itself.
BREAK_MARGIN = 6.0


def local_chance(evidence: np.ndarray, rival: float, flicker: Speckle, margin: np.ndarray) -> np.ndarray:
    """Chance (B,) that the path is the line at each block.

    ``evidence`` (B,) is the path's at each block, ``rival`` the mean evidence of the best rival, ``flicker`` its
    speckle, ``margin`` (B,) by how much it beats the best path that passes elsewhere at each block.

    >>> pencil, grain = Speckle(2.0, np.full(3, 2.0)), Speckle(1.05, np.full(3, 1.0))
    >>> bool(local_chance(np.full(3, 1.9), 0.7, pencil, np.full(3, 20.0)).min() > 0.99)
    True
    >>> bool(local_chance(np.full(3, 1.1), 0.7, grain, np.full(3, 9.0)).max() < 0.5)
    True
    """
    from scipy.special import expit

    log_local = np.log(np.maximum(flicker.local, 0.1))
    whole = _log_odds(float(evidence.mean()) - rival, float(np.log(max(flicker.whole, 0.1))))
    odds = np.full(len(margin), whole)
    for run in _runs(margin >= BREAK_MARGIN):
        odds[run] = min(_log_odds(float(evidence[run].mean()) - rival, float(log_local[run].mean())), whole)
    as_pencil = ENOUGH + LOCAL_WEIGHT * (log_local - np.log(ENOUGH_SPECKLE))
    unrivalled = ENOUGH + MARGIN_WEIGHT * np.log(np.maximum(margin, 0.1) / ENOUGH_MARGIN)
    return np.asarray(expit(np.minimum(odds, np.minimum(as_pencil, unrivalled))))


def _log_odds(lead: float, log_speckle: float) -> float:
    return START + LEAD_WEIGHT * min(lead, MOST_LEAD) + SPECKLE_WEIGHT * log_speckle


def _runs(true: np.ndarray) -> list[slice]:
    """The stretches of ``true`` (B,)."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], true, [False]]).astype(int)))
    return [slice(int(start), int(stop)) for start, stop in ends.reshape(-1, 2)]
