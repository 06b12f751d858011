"""How wide the slit is along the lap, from what every block says by itself: a plank is stiff.

A gap opens and closes over a hand's breadth and more, so a dark that is wide in one block and gone in the next is
grain. All courses of the gap along the lap are weighed at once, forward and back, as in a hidden Markov model: the
states are the widths, the first of them the closed lap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

#: A gap changes by about so much over a length along the lap (both as seen); and the chance that what is seen jumps
#: from one block to the next, because something lies there.
STEEPNESS, JUMP = 0.012, 1e-4
#: Beforehand half of a lap is closed, and a closed stretch is about so long.
CLOSED, STRETCH_PX = 0.5, 400.0


@dataclass(frozen=True)
class AlongLap:
    """``chance`` (W, B) of each width at each block, and the logarithm of the ``evidence`` of all blocks together."""

    chance: np.ndarray
    evidence: float


def along_lap(likelihood: np.ndarray, widths_px: np.ndarray, block_px: float) -> AlongLap:
    """Weigh the logarithms of likelihoods (W, B) of ``widths_px`` (W,), evenly spaced from 0, block by block."""
    step = _steps(widths_px, block_px)
    best = likelihood.max(axis=0)
    seen = np.exp(likelihood - best)
    count = seen.shape[1]
    forward, backward = np.empty_like(seen), np.ones_like(seen)
    state, evidence = _beforehand(widths_px), float(best.sum())
    for block in range(count):
        here = (state if block == 0 else state @ step) * seen[:, block]
        total = here.sum()
        evidence += float(np.log(total))
        state = here / total
        forward[:, block] = state
    for block in range(count - 2, -1, -1):
        after = step @ (seen[:, block + 1] * backward[:, block + 1])
        backward[:, block] = after / after.sum()
    chance = forward * backward
    return AlongLap(chance / chance.sum(axis=0), evidence)


def _beforehand(widths_px: np.ndarray) -> np.ndarray:
    chance = np.full(len(widths_px), (1.0 - CLOSED) / max(len(widths_px) - 1, 1))
    chance[0] = CLOSED
    return chance


def _steps(widths_px: np.ndarray, block_px: float) -> np.ndarray:
    """The chance (W, W) of each width in the next block (across) after each in this one (down)."""
    from scipy.special import ndtr

    cell = float(widths_px[1] - widths_px[0])
    spread = max(STEEPNESS * block_px, 0.4 * cell)
    off = (widths_px[None, :] - widths_px[:, None]) / spread
    half = 0.5 * cell / spread
    step = ndtr(off + half) - ndtr(off - half)
    step[:, 0] = ndtr(off[:, 0] + half)
    # Out of a closed stretch the gap opens from nothing.
    opens = min(block_px / STRETCH_PX, 0.5)
    step[0, 1:] *= opens / max(step[0, 1:].sum(), 1e-12)
    step[0, 0] = 1.0 - opens
    step = (1.0 - JUMP) * step / step.sum(axis=1, keepdims=True) + JUMP * _beforehand(widths_px)
    return np.asarray(step)
