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

from fitcheck.ground.trellis import search
from fitcheck.lap.strip import Strip

BLOCK_MM = 2.0
#: Over this length an edge must stand out by this many noise units and move no more than this a millimetre.
AROUND_MM, LEAST_STRENGTH, MOST_ROUGHNESS = 30.0, 5.0, 0.035
HALF_MM = 0.6
SEARCH_MM = 4.0
CAP = 12.0
#: Added to stored levels, so that noise in the dark does not count as tone.
DARK_LEVEL = 8.0
#: Closer than this the two corners share one step.
APART_MM = 1.0
#: A pencil line is no wider than this; an edge face seen narrower than a pencil line could hardly be told from one.
PENCIL_MM, NARROW_SHARE = 1.1, 0.6
#: An edge is planed fair: it does not change its slope by much, nor run far from the course.
STEEPEST_ROWS, BEND_COST = 2, 4.0
#: Of two boundaries as strong as each other the one nearer the sheer is the plank's: beyond it lies a shadow's end.
SHEERWARD_PER_MM = 0.1
#: An edge face in sight is mostly the darkest thing there: it turns from the light or stands over the crease; where the
#: plank hides it, crease or shadow are. So a step that darkens toward the keel counts in full as the outer corner, one
#: that lightens in part; at the inner corner the other way round, and less, since that corner may have no contrast of
#: its own and grain must not stand for it.
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
    log = np.log(values + DARK_LEVEL)
    return np.stack([log.mean(axis=-1), log[..., 2] - log[..., 1], log[..., 1] - log[..., 0]], axis=-1).astype(
        np.float32
    )


def values_of(tone: np.ndarray) -> np.ndarray:
    """Stored levels (…, 3) BGR of tones and colours (…, 3): :func:`log_tone` undone.

    >>> values = np.array([[40.0, 90.0, 200.0]])
    >>> values_of(log_tone(values)).round(2).tolist()
    [[40.0, 90.0, 200.0]]
    """
    lightness, red_green, green_blue = np.moveaxis(np.asarray(tone, float), -1, 0)
    green = lightness - (red_green - green_blue) / 3.0
    return np.exp(np.stack([green - green_blue, green, green + red_green], axis=-1)) - DARK_LEVEL


def step_gain(strip: Strip, tone: np.ndarray, narrow_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Step across the lap in noise units, capped, and whether it lightens toward the keel; (R, B) each.

    Rows are the strip's, blocks are of columns, 2 mm wide. Dark bands under ``narrow_mm`` are filled in: a pencil
    line is no step.
    """
    half = max(1, round(HALF_MM / strip.row_mm))
    width = max(1, round(BLOCK_MM / strip.column_mm))
    columns = tone.shape[1] // width * width
    blocks = tone[:, :columns].reshape(len(tone), -1, width, 3).mean(axis=2)
    fill = round(narrow_mm / strip.row_mm)
    if fill > 1:
        light = np.ascontiguousarray(blocks[..., 0])
        blocks[..., 0] = cv2.morphologyEx(light, cv2.MORPH_CLOSE, np.ones((fill, 1), np.uint8))
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


@dataclass(frozen=True)
class EdgeWorth:
    """What speaks for an edge whose face ends in a strip's row, in blocks along the lap, all in noise units.

    ``worth`` (R, B) is the evidence for both corners together, ``gain`` (R, B) for a step alone, ``inner`` (R, B) for a
    step at the inner corner; ``shift_mm`` (B,) at ``along_mm`` (B,) is how far above it the outer one is seen.
    """

    along_mm: np.ndarray
    shift_mm: np.ndarray
    worth: np.ndarray
    gain: np.ndarray
    inner: np.ndarray


def edge_worth(strip: Strip, tone: np.ndarray, shift_mm: np.ndarray) -> EdgeWorth:
    """The evidence for an edge in every row.

    ``shift_mm`` (C,) is how far above the inner corner the outer one is seen at each column (negative: it hides it).
    """
    narrow = min(PENCIL_MM, NARROW_SHARE * max(0.0, float(np.median(shift_mm))))
    gain, rises = step_gain(strip, tone, narrow)
    width = max(1, round(BLOCK_MM / strip.column_mm))
    blocks = gain.shape[1]
    along = strip.along_mm[: blocks * width].reshape(blocks, width).mean(axis=1)
    shift = np.interp(along, strip.along_mm, shift_mm)
    as_outer = np.where(rises, OUTER_RISE * gain, gain)
    as_inner = _shifted(np.where(rises, INNER_RISE, INNER_FALL) * gain, shift / strip.row_mm)
    worth = as_outer + np.where(shift[None, :] > APART_MM, as_inner, 0.0)
    return EdgeWorth(along, shift, worth, gain, _shifted(gain, shift / strip.row_mm))


def edge_path(strip: Strip, found: EdgeWorth) -> EdgePath:
    """The edge's path within 4 mm of the strip's base curve."""
    reach = SEARCH_MM + max(0.0, float(np.median(found.shift_mm)))
    window = np.abs(strip.down_mm) <= reach
    worth = found.worth - SHEERWARD_PER_MM * strip.down_mm[:, None]
    path = search(worth[window], steepest=STEEPEST_ROWS, bend_cost=BEND_COST)
    rows = path.rows + int(np.argmax(window))
    pick = np.arange(len(rows))
    inner_gain = np.where(found.shift_mm > 0.0, found.inner[rows, pick], 0.0)
    return EdgePath(found.along_mm, strip.down_mm[rows], found.gain[rows, pick], inner_gain, path.total / len(rows))


def _shifted(gain: np.ndarray, shift_rows: np.ndarray) -> np.ndarray:
    """Gain read ``shift_rows`` (B,) further down; zero beyond the strip."""
    rows, blocks = gain.shape
    at = np.round(np.arange(rows)[:, None] + shift_rows[None, :]).astype(int)
    inside = (at >= 0) & (at < rows)
    return np.where(inside, gain[np.clip(at, 0, rows - 1), np.arange(blocks)[None, :]], 0.0)
