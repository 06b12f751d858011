"""How likely a found line is the right one, from how far it beats the wood's own ridges and how it flickers.

The weights are set on made scenes (the study is in DEVELOPERS.md): a scale between 0 and 1, cautious, not a fit to
any photograph.
"""

from __future__ import annotations

import numpy as np

from fitcheck.lap.speckle import Speckle

#: Log odds of the whole line: per unit of lead over the best rival, per unit of log speckle, and the start.
LEAD_WEIGHT, MOST_LEAD = 2.0, 1.5
SPECKLE_WEIGHT = 12.0
START = -2.5
#: Log odds of a place: a place can only take away, where it is as smooth as grain or another path is almost as good.
LOCAL_WEIGHT, ENOUGH_SPECKLE = 16.0, 1.1
MARGIN_WEIGHT, ENOUGH_MARGIN = 8.0, 11.0


def local_chance(lead: float, flicker: Speckle, margin: np.ndarray) -> np.ndarray:
    """Chance (B,) that the path is the line at each block.

    ``lead`` is by how much the path's mean evidence beats the best rival's, ``flicker`` its speckle, ``margin`` (B,)
    by how much it beats the
    best path that passes elsewhere at each block.

    >>> pencil, grain = Speckle(2.0, np.full(3, 2.0)), Speckle(1.05, np.full(3, 1.0))
    >>> bool(local_chance(1.2, pencil, np.full(3, 20.0)).min() > 0.99)
    True
    >>> bool(local_chance(0.4, grain, np.full(3, 9.0)).max() < 0.5)
    True
    """
    from scipy.special import expit

    log_whole = np.log(max(flicker.whole, 0.1))
    whole = START + LEAD_WEIGHT * min(lead, MOST_LEAD) + SPECKLE_WEIGHT * log_whole
    falls_off = LOCAL_WEIGHT * np.log(np.maximum(flicker.local, 0.1) / ENOUGH_SPECKLE)
    rivalled = MARGIN_WEIGHT * np.log(np.maximum(margin, 0.1) / ENOUGH_MARGIN)
    return np.asarray(expit(whole + np.minimum(falls_off, 0.0) + np.minimum(rivalled, 0.0)))
