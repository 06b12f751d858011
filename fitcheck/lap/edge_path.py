"""The plank's edge as a rough path along the lap strip: where the face ends, and where the strake below begins.

Seen from the keel side the edge face shows between two transitions, a known distance apart; seen from the sheer side
they fall together. One path is searched for both at once, so that neither a strong inner corner nor a strong outer
corner alone
can draw it to the wrong one.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.lap.paths import best_path
from fitcheck.lap.strip import Strip

BLOCK_MM = 2.0
#: Over this length an edge must stand out by this many noise units and move no more than this a millimetre.
AROUND_MM, LEAST_STRENGTH, MOST_ROUGHNESS = 30.0, 5.0, 0.035
HALF_MM = 0.6
SEARCH_MM = 4.0
CAP = 12.0
#: Closer than this the two corners share one step.
APART_MM = 1.0
#: Of two boundaries as strong as each other the one nearer the sheer is the plank's: beyond it lies a shadow's end.
SHEERWARD_PER_MM = 0.1
#: An edge face in sight is mostly the darkest thing there: it turns from the light or stands over the crease. So a step
#: that darkens toward the keel counts in full as the outer corner, one that lightens in part; at the inner corner the
#: other way round, and less, since that corner may have no contrast of its own and grain must not stand for it.
OUTER_RISE, INNER_RISE, INNER_FALL = 0.6, 0.8, 0.3


@dataclass(frozen=True)
class EdgePath:
    """Rough edge: ``down_mm`` (B,) of the plank face's end at ``along_mm`` (B,), and the mean gain in noise units.

    ``outer_gain`` and ``inner_gain`` (B,) are the gains at the two transitions.
    """

    along_mm: np.ndarray
    down_mm: np.ndarray
    outer_gain: np.ndarray
    inner_gain: np.ndarray
    gain: float

    def unclear(self) -> np.ndarray:
        """Blocks (B,) where the path is no sure edge: no step stands out of the grain there, or it jumps about.

        An edge is planed fair and shows along its whole length; a path through grain does neither.
        """
        from scipy.ndimage import gaussian_filter1d

        around = AROUND_MM / BLOCK_MM
        strength = gaussian_filter1d(self.outer_gain + self.inner_gain, around, mode="nearest")
        moves = np.abs(np.diff(self.down_mm, append=self.down_mm[-1:]))
        roughness = gaussian_filter1d(moves, around, mode="nearest") / BLOCK_MM
        return np.asarray((strength < LEAST_STRENGTH) | (roughness > MOST_ROUGHNESS))


def log_tone(values: np.ndarray) -> np.ndarray:
    """Tone and colour (…, 3) float32: log lightness, and two log colour ratios that shading leaves alone."""
    log = np.log(values + 8.0)
    return np.stack([log.mean(axis=-1), log[..., 2] - log[..., 1], log[..., 1] - log[..., 0]], axis=-1).astype(
        np.float32
    )


def step_gain(strip: Strip, tone: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Step across the lap in noise units, capped, and whether it lightens toward the keel; (R, B) each.

    Rows are the strip's, blocks are of columns, 2 mm wide.
    """
    half = max(1, round(HALF_MM / strip.row_mm))
    width = max(1, round(BLOCK_MM / strip.column_mm))
    columns = tone.shape[1] // width * width
    blocks = tone[:, :columns].reshape(len(tone), -1, width, 3).mean(axis=2)
    # Neighbouring blocks share their evidence: an edge does not jump within a finger's breadth.
    blocks = cv2.blur(blocks, (3, 1))
    squares = np.zeros(blocks.shape[:2], np.float32)
    steps = []
    for channel, least in zip(np.moveaxis(blocks, 2, 0), (0.02, 0.012, 0.012), strict=True):
        mean = cv2.blur(np.ascontiguousarray(channel), (1, half))
        step = np.zeros_like(mean)
        lag = half + 1
        step[lag // 2 : len(step) - (lag - lag // 2)] = mean[lag:] - mean[:-lag]
        noise = max(least, float(np.median(np.abs(step))) / 0.6745)
        squares += (step / noise) ** 2
        steps.append(step)
    return np.minimum(np.sqrt(squares), CAP), steps[0] > 0.0


def edge_path(strip: Strip, tone: np.ndarray, shift_mm: np.ndarray) -> EdgePath:
    """The edge's path within 4 mm of the strip's base curve.

    ``shift_mm`` (C,) is how far above the inner corner the outer one is seen at each column (negative: it hides it).
    """
    gain, rises = step_gain(strip, tone)
    width = max(1, round(BLOCK_MM / strip.column_mm))
    blocks = gain.shape[1]
    along = strip.along_mm[: blocks * width].reshape(blocks, width).mean(axis=1)
    shift = np.interp(along, strip.along_mm, shift_mm)
    down = strip.down_mm
    inner = _shifted(gain, shift / strip.row_mm)
    visible = shift[None, :] > 0.0
    as_outer = np.where(visible & rises, OUTER_RISE * gain, gain)
    as_inner = _shifted(np.where(rises, INNER_RISE, INNER_FALL) * gain, shift / strip.row_mm)
    reach = SEARCH_MM + max(0.0, float(np.median(shift)))
    window = np.abs(down) <= reach
    both = as_outer + np.where(shift[None, :] > APART_MM, as_inner, 0.0)
    both = both - SHEERWARD_PER_MM * down[:, None]
    rows, mean = best_path(both[window], reach=2, bend_cost=0.25)
    rows = rows + int(np.argmax(window))
    pick = np.arange(blocks)
    inner_gain = np.where(shift > 0.0, inner[rows, pick], 0.0)
    return EdgePath(along, down[rows], gain[rows, pick], inner_gain, mean)


def _shifted(gain: np.ndarray, shift_rows: np.ndarray) -> np.ndarray:
    """Gain read ``shift_rows`` (B,) further down; zero beyond the strip."""
    rows, blocks = gain.shape
    at = np.round(np.arange(rows)[:, None] + shift_rows[None, :]).astype(int)
    inside = (at >= 0) & (at < rows)
    return np.where(inside, gain[np.clip(at, 0, rows - 1), np.arange(blocks)[None, :]], 0.0)
