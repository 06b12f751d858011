"""What all blocks of a photograph share and so settle together: its blur, how deep its sky makes a slit, its shadow.

A single block cannot tell a wide slit in an even light from a narrow one under a sky that reaches in less; a hundred
blocks with slits of many widths can.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from fitcheck.lap.slit.slit_model import LEVELS, Rows, shapes

#: Deepness 1 is an even sky's. The picture tells a deeper slit than usual; a shallower one it only feigns, because wood
#: throws light into the lap. So what is told is right to a step of these on either side.
USUAL_DEEPNESS = 1.4
DEEPNESS = (1.0, USUAL_DEEPNESS, 2.0, 2.8, 4.0, 5.6)
DEEPNESS_TOLD = DEEPNESS[1:5]
DEEPNESS_CHANCE = (0.6, 0.2, 0.12, 0.08)
NEIGHBOURS = (0.25, 0.5, 0.25)
#: A shadow lighter than this is not told from the strake.
LEAST_SHADOW = 0.85
#: Shadows tried, and their chance beforehand: one so narrow needs the light within a few degrees of square.
SHADOWS_PX = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.5, 12.0)
SHADOWS_CHANCE = (0.82, *[0.02] * 9)
#: Neighbouring rows share their blur and grain is no white noise, but the evidence of three blocks is averaged as if it
#: were one's: together it counts as it seems, and that of many blocks for what they share this much less.
CAUTION, SHARED_CAUTION = 1.0, 10.0
#: The blur told by the sharpest edges of the picture is right to about this, in natural log; tried about it.
U_BLUR = 0.1
BLURS = (0.87, 1.0, 1.15)
#: What has less of the evidence than this is left out.
LEAST_WEIGHT = 0.02
SETTLING_BLOCKS = 80
CORNER_STEP_PX, WIDTH_STEP_PX = 0.4, 0.3
LEAST_NOISE = 0.01


@dataclass(frozen=True)
class SlitLight:
    """One light in question: how deep the sky makes a slit, how far the plank's shadow reaches beyond its mouth, and
    the share of the evidence for the two."""

    deepness: float
    shadow_px: float
    weight: float


def settled(data: np.ndarray, rows: Rows, widest_px: float, reach_px: float) -> tuple[Rows, list[SlitLight]]:
    """The rows with the blur that all blocks of ``data`` (R, B) together speak for, and the lights left in question.

    Their weights sum to one. The inner corner is looked for within ``reach_px`` of the rough edge, a slit up to
    ``widest_px`` wide.
    """
    some = data[:, :: max(1, data.shape[1] // SETTLING_BLOCKS)]
    corners = np.arange(-reach_px, reach_px + 0.1, CORNER_STEP_PX)
    widths = np.arange(0.0, widest_px, WIDTH_STEP_PX)
    shadows = SHADOWS_PX if rows.shadow < LEAST_SHADOW else SHADOWS_PX[:1]
    counts = (len(BLURS), len(DEEPNESS_TOLD), len(shadows))
    left = np.empty((*counts, some.shape[1]))
    for i, j, k in product(*(range(count) for count in counts)):
        tried = replace(rows, blur_px=rows.blur_px * BLURS[i])
        tries = shapes(tried, corners, widths, deepness=DEEPNESS_TOLD[j], shadow_px=shadows[k])
        left[i, j, k] = residual(some, tries).min(axis=(0, 1))
    noise = unevenness(left.min(axis=(0, 1, 2)), len(rows.at_px))
    doubt = (left / (2.0 * CAUTION * noise**2)).mean(axis=3) * data.shape[1] / SHARED_CAUTION
    doubt += 0.5 * (np.log(BLURS) / U_BLUR)[:, None, None] ** 2
    doubt -= np.log(DEEPNESS_CHANCE)[:, None] + np.log(SHADOWS_CHANCE[: len(shadows)])
    chance = np.exp(-(doubt - doubt.min()))
    blur_px = rows.blur_px * BLURS[int(np.argmax(chance.sum(axis=(1, 2))))]
    return replace(rows, blur_px=blur_px), _likely(chance.sum(axis=0), shadows)


def _likely(chance: np.ndarray, shadows: tuple[float, ...]) -> list[SlitLight]:
    """The lights that hold some of the evidence, from the chance of each deepness told (down) and shadow (across)."""
    share = np.zeros((len(DEEPNESS), len(shadows)))
    for step, part in enumerate(NEIGHBOURS):
        share[step : step + len(chance)] += part * chance / chance.sum()
    share = np.where(share >= LEAST_WEIGHT, share, 0.0)
    share /= share.sum()
    return [SlitLight(DEEPNESS[j], shadows[k], float(share[j, k])) for j, k in np.argwhere(share > 0.0)]


def residual(data: np.ndarray, basis: np.ndarray) -> np.ndarray:
    """Sum of squares (W, O, B) that the best levels of shapes ``basis`` (W, O, R, L) leave of ``data`` (R, B)."""
    wide, corners, rows, _ = basis.shape
    square = np.linalg.qr(basis.reshape(-1, rows, LEVELS))[0].astype(np.float32)
    told = np.matmul(square.transpose(0, 2, 1).reshape(-1, rows), data)
    told = (told.reshape(-1, LEVELS, data.shape[1]) ** 2).sum(axis=1)
    return np.maximum((data**2).sum(axis=0) - told, 0.0).reshape(wide, corners, -1)


def unevenness(least: np.ndarray, rows: int) -> np.ndarray:
    """Noise (B,) of the wood from the least sums of squares (B,) left: the block's own, but never less than is usual
    in the photograph."""
    own = np.sqrt(least / max(rows - LEVELS - 2, 1))
    return np.maximum(np.maximum(own, np.median(own)), LEAST_NOISE)
