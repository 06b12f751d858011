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
#: Log odds of a place: a place can only take away, where it is as smooth as grain or another path is almost as good.
LOCAL_WEIGHT, ENOUGH_SPECKLE = 16.0, 1.1
MARGIN_WEIGHT, ENOUGH_MARGIN = 8.0, 11.0
#: Where another path is behind by less than this the path may change from the line to grain: what lies between two
#: such places is doubted by itself.
BREAK_MARGIN = 6.0
#: A stretch, or so many blocks, of clear pencil may be a line where the rest is too faint; being so short costs this.
SHORT_BLOCKS, SHORT_COST = 16, 3.0


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
    from scipy.ndimage import uniform_filter1d
    from scipy.special import expit

    log_local = np.log(np.maximum(flicker.local, 0.1))
    whole = float(_log_odds(evidence.mean() - rival, float(np.log(max(flicker.whole, 0.1)))))
    nearby = [uniform_filter1d(part, SHORT_BLOCKS, mode="nearest") for part in (evidence - rival, log_local)]
    short = _log_odds(*nearby)
    odds = np.full(len(margin), whole)
    for run in _runs(margin >= BREAK_MARGIN):
        own = float(_log_odds(evidence[run].mean() - rival, log_local[run].mean()))
        odds[run] = min(own, whole)
        short[run] = np.maximum(short[run], own)
    odds = np.maximum(odds, short - SHORT_COST)
    falls_off = LOCAL_WEIGHT * (log_local - np.log(ENOUGH_SPECKLE))
    rivalled = MARGIN_WEIGHT * np.log(np.maximum(margin, 0.1) / ENOUGH_MARGIN)
    return np.asarray(expit(odds + np.minimum(falls_off, 0.0) + np.minimum(rivalled, 0.0)))


def _log_odds(lead: float | np.ndarray, log_speckle: float | np.ndarray) -> np.ndarray:
    return np.asarray(START + LEAD_WEIGHT * np.minimum(lead, MOST_LEAD) + SPECKLE_WEIGHT * log_speckle)


def _runs(true: np.ndarray) -> list[slice]:
    """The stretches of ``true`` (B,)."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], true, [False]]).astype(int)))
    return [slice(int(start), int(stop)) for start, stop in ends.reshape(-1, 2)]
