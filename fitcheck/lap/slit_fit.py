"""How wide a slit is at each block along the lap, from the profiles across the edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fitcheck.lap.slit_model import LEVELS, Rows, shapes

#: Deepness of slits in path-traced and drawn pictures lies between these; the middle counts double.
USUAL_DEEPNESS = 1.4
DEEPNESS = ((1.0, 0.25), (USUAL_DEEPNESS, 0.5), (2.0, 0.25))
#: A shadow lighter than this is not told from the strake.
LEAST_SHADOW = 0.85
#: Shadows tried, and their chance beforehand: one so narrow needs the light within a few degrees of square.
SHADOWS_PX = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.5, 12.0])
SHADOWS_CHANCE = np.array([0.82, *[0.02] * 9])
#: Neighbouring rows share their blur and grain is no white noise: evidence counts this much less than it seems, and
#: that of many blocks for the shadow they share less again.
CAUTION, SHADOW_CAUTION = 1.0, 10.0
NEIGHBOURS = np.array([0.25, 0.5, 0.25])
LEAST_NOISE = 0.01
#: Most laps are closed in most places: what that is worth beforehand, as a share of all widths tried.
CLOSED_SHARE = 1.0
#: A shadow's width with less of the evidence than this is left out.
LEAST_WEIGHT = 0.02
CORNER_STEP_PX = 0.2
PHASES_PX = np.array([-0.5, -0.25, 0.0, 0.25])
#: A slit hardly there is hardly dark: no darkness is divided by less than the rest of this.
MOST_LIGHT = 0.97
#: The blur told by the sharpest edges of the picture is right to about this, in natural log; tried about it.
U_BLUR = 0.1
BLURS = np.array([0.87, 1.0, 1.15])
SETTLING_BLOCKS = 80


@dataclass(frozen=True)
class Slits:
    """Widths of the slit as seen, ``width_px`` (B,), with their standard uncertainty from the picture ``u_px`` (B,).

    ``corner_px`` (B,) is the inner corner, toward the keel of the rough edge, with ``u_corner_px`` (B,), and
    ``shut_px`` (B,) the same if the lap is closed, so that the strake begins at the corner. ``floor`` (B,) is the
    least light there over that of the strake beyond, ``depth`` (B,) how dark that is over the darkness of the lightest
    slit so wide, ``noise`` (B,) what the best profile leaves, relative to the
    light; ``shadow_px`` the plank's shadow beyond the mouth and ``blur_px`` the blur, as settled.
    """

    width_px: np.ndarray
    u_px: np.ndarray
    corner_px: np.ndarray
    u_corner_px: np.ndarray
    shut_px: np.ndarray
    floor: np.ndarray
    depth: np.ndarray
    noise: np.ndarray
    shadow_px: float
    blur_px: float


def rough_slits(
    light: np.ndarray, rows: Rows, widest_px: float, reach_px: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """The inner corner and the slit's width in every block (B,) of ``light`` (R, B), to a fraction of a pixel.

    The corner is looked for between the two of ``reach_px`` toward the keel of the rough edge: where a lap stands open
    that may run along the mouth.
    """
    data = _relative(light)
    corners = np.arange(reach_px[0], reach_px[1] + 0.1, 2 * CORNER_STEP_PX)
    widths = np.arange(0.0, widest_px, 2 * CORNER_STEP_PX)
    left = _left(data, shapes(rows, corners, widths, deepness=USUAL_DEEPNESS, shadow_px=0.0))
    chance = _chance(left, _noise(left.min(axis=(0, 1)), len(rows.at_px)))
    return _moments(chance.sum(axis=0), corners)[0], _moments(chance.sum(axis=1), widths)[0]


def fit_slits(light: np.ndarray, rows: Rows, widest_px: float, reach_px: float) -> Slits:
    """Fit a slit in every block of ``light`` (R, B), amounts of light at ``rows``.

    The inner corner is looked for within ``reach_px`` of the rough edge, the slit up to ``widest_px`` wide. Blur and
    shadow are common to the photograph and settled first.
    """
    data = _relative(light)
    rows, shadows, weight = _settled(data, rows, widest_px, reach_px)
    corners = np.arange(-reach_px, reach_px + 0.1, CORNER_STEP_PX)
    widths = _widths(widest_px)
    left = [
        [_left(data, shapes(rows, corners, widths, deepness=deep, shadow_px=float(s))) for deep, _ in DEEPNESS]
        for s in shadows
    ]
    noise = _noise(np.min([one.min(axis=(0, 1)) for some in left for one in some], axis=0), len(rows.at_px))
    total = sum(
        share * part * _chance(one, noise)
        for share, some in zip(weight, left, strict=True)
        for (_, part), one in zip(DEEPNESS, some, strict=True)
    )
    beforehand = np.gradient(widths)
    beforehand[0] = CLOSED_SHARE * widest_px
    total = total * beforehand[:, None, None]
    # The median, not the mean: a lap that is closed as likely as not is no tenth open.
    width, u_width = _median(total.sum(axis=1), widths), _moments(total.sum(axis=1), widths)[1]
    corner, u_corner = _moments(total.sum(axis=0), corners)
    shut = _moments(total[0], corners)[0]
    floor = _floor(data, rows.at_px, corner, corner + width)
    depth = (1.0 - floor) / (1.0 - np.interp(width, widths, _lightest(rows, widths)))
    return Slits(width, u_width, corner, u_corner, shut, floor, depth, noise, float(weight @ shadows), rows.blur_px)


def _floor(data: np.ndarray, at_px: np.ndarray, corner: np.ndarray, mouth: np.ndarray) -> np.ndarray:
    """The least light (B,) between corner and mouth, a row on either side, over the most beyond the mouth."""
    away = at_px[:, None]
    inside = (away >= corner - 1.0) & (away <= mouth + 1.0)
    least = np.where(inside, data, np.inf).min(axis=0)
    beyond = np.where(away > mouth + 1.0, data, -np.inf).max(axis=0)
    return np.asarray(least / np.maximum(beyond, 1e-3))


def _lightest(rows: Rows, widths: np.ndarray) -> np.ndarray:
    """The least light (W,) that a slit of each width shows if its floor sees all of an even sky that it can, over that
    of the strake; averaged over where the corner falls among the pixels."""
    tries = shapes(rows, PHASES_PX, widths, deepness=1.0, shadow_px=0.0)
    least = (tries[..., 0] + tries[..., 2]).min(axis=2).mean(axis=1)
    return np.asarray(np.minimum(least, MOST_LIGHT))


def _settled(data: np.ndarray, rows: Rows, widest_px: float, reach_px: float) -> tuple[Rows, np.ndarray, np.ndarray]:
    """The rows with the blur that all blocks together speak for, and the shadows left in question with their weight."""
    some = data[:, :: max(1, data.shape[1] // SETTLING_BLOCKS)]
    corners = np.arange(-reach_px, reach_px + 0.1, 2 * CORNER_STEP_PX)
    widths = np.arange(0.0, widest_px, 3 * CORNER_STEP_PX)
    shadows = SHADOWS_PX if rows.shadow < LEAST_SHADOW else SHADOWS_PX[:1]
    blurs = rows.blur_px * BLURS
    left = np.empty((len(blurs), len(shadows), some.shape[1]))
    for i, blur in enumerate(blurs):
        tried = replace(rows, blur_px=float(blur))
        for k, shadow in enumerate(shadows):
            tries = shapes(tried, corners, widths, deepness=USUAL_DEEPNESS, shadow_px=float(shadow))
            left[i, k] = _left(some, tries).min(axis=(0, 1))
    noise = _noise(left.min(axis=(0, 1)), len(rows.at_px))
    doubt = (left / (2.0 * CAUTION * noise**2)).mean(axis=2) * data.shape[1] / SHADOW_CAUTION
    doubt += 0.5 * (np.log(BLURS) / U_BLUR)[:, None] ** 2 - np.log(SHADOWS_CHANCE[: len(shadows)])
    chance = np.exp(-(doubt - doubt.min()))
    best = int(np.argmax(chance.sum(axis=1)))
    weight = chance.sum(axis=0) / chance.sum()
    kept = weight >= min(LEAST_WEIGHT, weight.max())
    return replace(rows, blur_px=float(blurs[best])), shadows[kept], weight[kept] / weight[kept].sum()


def _relative(light: np.ndarray) -> np.ndarray:
    return np.asarray(light / np.maximum(np.quantile(light, 0.75, axis=0), 1e-3), np.float32)


def _widths(widest_px: float) -> np.ndarray:
    """Widths to try: fine where a slit begins to be seen, coarser where it is plain."""
    fine = np.arange(0.0, 1.2, 0.1)
    return np.concatenate([fine, np.arange(1.2, max(widest_px, 2.0) + 0.2, 0.2)])


def _left(data: np.ndarray, basis: np.ndarray) -> np.ndarray:
    """Sum of squares (W, O, B) that the best levels leave."""
    wide, corners, rows, _ = basis.shape
    square = np.linalg.qr(basis.reshape(-1, rows, LEVELS))[0].astype(np.float32)
    told = np.matmul(square.transpose(0, 2, 1).reshape(-1, rows), data)
    told = (told.reshape(-1, LEVELS, data.shape[1]) ** 2).sum(axis=1)
    return np.maximum((data**2).sum(axis=0) - told, 0.0).reshape(wide, corners, -1)


def _noise(least: np.ndarray, rows: int) -> np.ndarray:
    """Unevenness (B,) of the wood: the block's own, but never less than is usual in the photograph."""
    own = np.sqrt(least / max(rows - LEVELS - 2, 1))
    return np.maximum(np.maximum(own, np.median(own)), LEAST_NOISE)


def _chance(left: np.ndarray, noise: np.ndarray) -> np.ndarray:
    """Chance (W, O, B) of every width and corner, summing to one a block.

    Each model speaks with its own best, so that grain cannot choose between them.
    """
    from scipy.ndimage import convolve1d

    doubt = convolve1d(left / (2.0 * CAUTION * noise**2), NEIGHBOURS, axis=2, mode="nearest")
    chance = np.exp(-(doubt - doubt.min(axis=(0, 1))))
    return np.asarray(chance / chance.sum(axis=(0, 1)))


def _median(chance: np.ndarray, values: np.ndarray) -> np.ndarray:
    """The value (B,) below which half of the chance (V, B) lies; the first value where half or more lies there."""
    share = chance / chance.sum(axis=0)
    below = np.cumsum(share, axis=0) - 0.5 * share
    middle = [np.interp(0.5, column, values) for column in below.T]
    return np.where(share[0] >= 0.5, values[0], middle)


def _moments(chance: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    chance = chance / np.maximum(chance.sum(axis=0), 1e-300)
    mean = values @ chance
    return np.asarray(mean), np.sqrt(np.maximum((values**2) @ chance - mean**2, 0.0))
