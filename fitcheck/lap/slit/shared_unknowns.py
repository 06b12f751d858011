"""What all blocks of a photograph have in common: its blur, how dark its sky leaves a slit, and the plank's shadow.

These are found from all blocks together. One block alone cannot tell a wide slit in an even light from a narrow slit
into which less of the sky reaches. A hundred blocks, with slits of many widths, can.

"Deepness" says how fast it gets dark inside a slit: 1 under an even sky, more where the sky is brighter square-on than
along the face.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from fitcheck.lap.slit.slit_model import LEVELS, Rows, shapes

#: The deepnesses used. A picture can show that a slit is deeper than usual. When it seems less deep, that is not
#: believed: wood throws light into the lap and makes it look so. Of those tried each has its chance beforehand, and the
#: true deepness may be one step to either side of it, with the shares of NEIGHBOURS.
USUAL_DEEPNESS = 1.0
DEEPNESS = (0.7, USUAL_DEEPNESS, 1.4, 2.0, 2.8, 4.0)
DEEPNESS_TOLD = DEEPNESS[1:5]
DEEPNESS_CHANCE = (0.5, 0.25, 0.15, 0.1)
NEIGHBOURS = (0.25, 0.5, 0.25)
#: A shadow that leaves more than this share of the light cannot be told from the strake.
LEAST_SHADOW = 0.85
#: Widths of the plank's shadow beyond the mouth that are tried, and the chance of each beforehand. A shadow as narrow
#: as these is rare: the light must come from within a few degrees of square.
SHADOWS_PX = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.5, 12.0)
SHADOWS_CHANCE = (0.82, *[0.02] * 9)
#: By how much the evidence is divided. For one block by nothing: its rows are not independent, since blur and grain
#: join neighbours, but the evidence of three blocks is averaged as if it were one's, and the two about cancel. For what
#: all blocks have in common, where the evidence of many is added up, by the second value.
CAUTION, SHARED_CAUTION = 1.0, 10.0
#: Standard uncertainty of the blur that the picture's sharpest edges give (natural logarithm), and the factors tried.
U_BLUR = 0.15
BLURS = (0.87, 1.0, 1.15, 1.32, 1.5)
#: How much the camera may have sharpened the picture, and the chance of each.
SHARPENED, SHARPENED_CHANCE = (0.0, 0.3, 0.6), (0.6, 0.2, 0.2)
#: A light with less than this share of the evidence is left out.
LEAST_WEIGHT = 0.02
SETTLING_BLOCKS = 80
CORNER_STEP_PX, WIDTH_STEP_PX = 0.4, 0.3
LEAST_NOISE = 0.01


@dataclass(frozen=True)
class SlitLight:
    """One light that is possible: the deepness, how far the plank's shadow reaches beyond the slit's mouth, and the
    share of the evidence for the two."""

    deepness: float
    shadow_px: float
    weight: float


def settled(
    data: np.ndarray, rows: Rows, widest_px: float, reach_px: float, eased_px: Sequence[float] = (0.0,)
) -> tuple[Rows, list[SlitLight]]:
    """The rows with the blur and sharpening that fit all blocks of ``data`` (R, B) best, and the lights still possible.

    Their weights sum to one. The inner corner is looked for within ``reach_px`` of the rough edge, a slit up to
    ``widest_px`` wide; the corner may be eased by any of ``eased_px``.
    """
    some = data[:, :: max(1, data.shape[1] // SETTLING_BLOCKS)]
    corners = np.arange(-reach_px, reach_px + 0.1, CORNER_STEP_PX)
    widths = np.arange(0.0, widest_px, WIDTH_STEP_PX)
    rows = replace(rows, sharpened=_sharpened(some, rows, corners, widths, eased_px, data.shape[1]))
    shadows = SHADOWS_PX if rows.shadow < LEAST_SHADOW else SHADOWS_PX[:1]
    counts = (len(BLURS), len(DEEPNESS_TOLD), len(shadows))
    left = np.empty((*counts, some.shape[1]))
    for i, j, k in product(*(range(count) for count in counts)):
        tried = replace(rows, blur_px=rows.blur_px * BLURS[i])
        how = {"deepness": DEEPNESS_TOLD[j], "shadow_px": shadows[k]}
        # Any easing will do here: whichever fits the whole photograph best with this light.
        each = [residual(some, shapes(tried, corners, widths, eased_px=one, **how)) for one in eased_px]
        left[i, j, k] = min((one.min(axis=(0, 1)) for one in each), key=lambda one: float(one.sum()))
    noise = unevenness(left.min(axis=(0, 1, 2)), len(rows.at_px))
    doubt = (left / (2.0 * CAUTION * noise**2)).mean(axis=3) * data.shape[1] / SHARED_CAUTION
    doubt += 0.5 * (np.log(BLURS) / U_BLUR)[:, None, None] ** 2
    doubt -= np.log(DEEPNESS_CHANCE)[:, None] + np.log(SHADOWS_CHANCE[: len(shadows)])
    chance = np.exp(-(doubt - doubt.min()))
    blur_px = rows.blur_px * BLURS[int(np.argmax(chance.sum(axis=(1, 2))))]
    return replace(rows, blur_px=blur_px), _likely(chance.sum(axis=0), shadows)


def _sharpened(
    some: np.ndarray, rows: Rows, corners: np.ndarray, widths: np.ndarray, eased_px: Sequence[float], count: int
) -> float:
    """How much the picture was sharpened, from ``some`` of its ``count`` blocks, with whatever blur fits it."""
    left = []
    for amount in SHARPENED:
        tried = [replace(rows, blur_px=rows.blur_px * blur, sharpened=amount) for blur in BLURS[::2]]
        bases = (
            shapes(one, corners, widths, deepness=USUAL_DEEPNESS, shadow_px=0.0, eased_px=eased)
            for one in tried
            for eased in eased_px
        )
        each = [residual(some, basis).min(axis=(0, 1)) for basis in bases]
        left.append(min(each, key=lambda one: float(one.sum())))
    noise = unevenness(np.min(left, axis=0), len(rows.at_px))
    doubt = (np.array(left) / (2.0 * CAUTION * noise**2)).mean(axis=1) * count / SHARED_CAUTION
    return SHARPENED[int(np.argmin(doubt - np.log(SHARPENED_CHANCE)))]


def _likely(chance: np.ndarray, shadows: tuple[float, ...]) -> list[SlitLight]:
    """The lights with enough of the evidence, from the chance of each deepness tried (down) and shadow (across)."""
    share = np.zeros((len(DEEPNESS), len(shadows)))
    for step, part in enumerate(NEIGHBOURS):
        share[step : step + len(chance)] += part * chance / chance.sum()
    share = np.where(share >= LEAST_WEIGHT, share, 0.0)
    share /= share.sum()
    return [SlitLight(DEEPNESS[j], shadows[k], float(share[j, k])) for j, k in np.argwhere(share > 0.0)]


def residual(data: np.ndarray, basis: np.ndarray) -> np.ndarray:
    """Sum of squares (W, O, B) that the best fit of the shapes ``basis`` (W, O, R, L) leaves of ``data`` (R, B)."""
    wide, corners, rows, _ = basis.shape
    square = np.linalg.qr(basis.reshape(-1, rows, LEVELS))[0].astype(np.float32)
    told = np.matmul(square.transpose(0, 2, 1).reshape(-1, rows), data)
    told = (told.reshape(-1, LEVELS, data.shape[1]) ** 2).sum(axis=1)
    return np.maximum((data**2).sum(axis=0) - told, 0.0).reshape(wide, corners, -1)


def unevenness(least: np.ndarray, rows: int) -> np.ndarray:
    """Noise (B,) of the wood, from the ``least`` sum of squares (B,) that a fit leaves in each block: the block's own,
    but never less than the middle one of the photograph."""
    own = np.sqrt(least / max(rows - LEVELS - 2, 1))
    return np.maximum(np.maximum(own, np.median(own)), LEAST_NOISE)
