"""Is there another line, nearer the edge than the one that was found? Then the one found may be the wrong one.

It may be an old lap line, left from an earlier layout and drawn darker than the one that counts, or a shadow's end.
"""

from __future__ import annotations

import numpy as np

from fitcheck.ground.trellis import Trellis, search
from fitcheck.lap.line.line_band import ROW_MM
from fitcheck.lap.line.ridge import BEND_COST, BLOCK_MM, STEEPEST, UNSEEN

#: Another line is looked for only if the one found lies so far from the edge; and at least so far from the one found.
FAR_OFF_MM, CLEAR_MM = 4.5, 1.2
#: A stretch of this length may be a line if its mean evidence is at least this share of the found line's usual
#: evidence, which is this percentile over its places, and at least the last value.
STRETCH_MM, CLEAR_SHARE, USUAL_PERCENT, LEAST_USUAL = 90.0, 0.7, 60.0, 0.5


def may_be_old(gain: np.ndarray, found: Trellis, off_mm: np.ndarray) -> bool:
    """Whether a clear stretch nearer the edge makes the line that was found doubtful.

    ``gain`` (R, B) is the evidence for a line at each row and block of the band; ``found`` is the path that was found
    and ``off_mm`` (B,) its distance from the edge.

    >>> gain = np.full((150, 30), -1.0); gain[120] = 3.0; gain[40, 4:24] = 2.5
    >>> found = search(gain, steepest=STEEPEST, bend_cost=BEND_COST)
    >>> may_be_old(gain, found, np.full(30, 7.0)), may_be_old(gain, found, np.full(30, 3.0))
    (True, False)
    """
    if np.median(off_mm) < FAR_OFF_MM:
        return False
    rows, blocks = np.arange(len(gain))[:, None], np.arange(gain.shape[1])
    nearer = np.where(rows < found.rows - round(CLEAR_MM / ROW_MM), gain, UNSEEN)
    path = search(nearer, steepest=STEEPEST, bend_cost=BEND_COST)
    long = min(round(STRETCH_MM / BLOCK_MM), len(blocks))
    best = float(np.convolve(nearer[path.rows, blocks], np.full(long, 1.0 / long), mode="valid").max())
    usual = max(float(np.percentile(gain[found.rows, blocks], USUAL_PERCENT)), LEAST_USUAL)
    return best > CLEAR_SHARE * usual
