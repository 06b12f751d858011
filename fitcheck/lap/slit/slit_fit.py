"""How wide a slit is at each block along the lap, from the profiles across the edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.slit.shared_unknowns import CAUTION, USUAL_DEEPNESS, residual, settled, unevenness
from fitcheck.lap.slit.slit_model import Rows, shapes

NEIGHBOURS = np.array([0.25, 0.5, 0.25])
#: Most laps are closed in most places: what that is worth beforehand, as a share of all widths tried.
CLOSED_SHARE = 1.0
CORNER_STEP_PX = 0.2
PHASES_PX = np.array([-0.5, -0.25, 0.0, 0.25])
#: A slit hardly there is hardly dark: no darkness is divided by less than the rest of this.
MOST_LIGHT = 0.97


@dataclass(frozen=True)
class Slits:
    """Widths of the slit as seen, ``width_px`` (B,), with their standard uncertainty from the picture ``u_px`` (B,).

    ``corner_px`` (B,) is the inner corner, toward the keel of the rough edge, with ``u_corner_px`` (B,), and
    ``shut_px`` and ``u_shut_px`` (B,) the same if the lap is closed, so that the strake begins at the corner.
    ``floor`` (B,) is the least light there and ``edge`` (B,) that of the edge face beside it, over that of the strake
    beyond; ``depth`` (B,) how dark the floor is over the darkness of the lightest slit so wide; ``noise`` (B,) what the
    best profile leaves, relative to the light; ``shadow_px`` the plank's shadow beyond the mouth and ``blur_px`` the
    blur, as settled.
    """

    width_px: np.ndarray
    u_px: np.ndarray
    corner_px: np.ndarray
    u_corner_px: np.ndarray
    shut_px: np.ndarray
    u_shut_px: np.ndarray
    floor: np.ndarray
    edge: np.ndarray
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
    left = residual(data, shapes(rows, corners, widths, deepness=USUAL_DEEPNESS, shadow_px=0.0))
    chance = _chance(left, unevenness(left.min(axis=(0, 1)), len(rows.at_px)))
    return _moments(chance.sum(axis=0), corners)[0], _moments(chance.sum(axis=1), widths)[0]


def fit_slits(light: np.ndarray, rows: Rows, widest_px: float, reach_px: float) -> Slits:
    """Fit a slit in every block of ``light`` (R, B), amounts of light at ``rows``.

    The inner corner is looked for within ``reach_px`` of the rough edge, the slit up to ``widest_px`` wide. Blur and
    shadow are common to the photograph and settled first.
    """
    data = _relative(light)
    rows, lights = settled(data, rows, widest_px, reach_px)
    corners = np.arange(-reach_px, reach_px + 0.1, CORNER_STEP_PX)
    widths = _widths(widest_px)
    left = [
        residual(data, shapes(rows, corners, widths, deepness=one.deepness, shadow_px=one.shadow_px)) for one in lights
    ]
    noise = unevenness(np.min([one.min(axis=(0, 1)) for one in left], axis=0), len(rows.at_px))
    total = sum(light.weight * _chance(one, noise) for light, one in zip(lights, left, strict=True))
    beforehand = np.gradient(widths)
    beforehand[0] = CLOSED_SHARE * widest_px
    total = total * beforehand[:, None, None]
    # The median, not the mean: a lap that is closed as likely as not is no tenth open.
    width, u_width = _median(total.sum(axis=1), widths), _moments(total.sum(axis=1), widths)[1]
    corner, u_corner = _moments(total.sum(axis=0), corners)
    shut, u_shut = _moments(total[0], corners)
    floor, edge = _floor_and_edge(data, rows.at_px, corner, corner + width)
    depth = (1.0 - floor) / (1.0 - np.interp(width, widths, _lightest(rows, widths)))
    shadow_px = sum(one.weight * one.shadow_px for one in lights)
    return Slits(width, u_width, corner, u_corner, shut, u_shut, floor, edge, depth, noise, shadow_px, rows.blur_px)


def _floor_and_edge(
    data: np.ndarray, at_px: np.ndarray, corner: np.ndarray, mouth: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The least light (B,) between corner and mouth, a row on either side, and the middle light of the edge face, both
    over the most beyond the mouth."""
    away = at_px[:, None]
    inside = (away >= corner - 1.0) & (away <= mouth + 1.0)
    least = np.where(inside, data, np.inf).min(axis=0)
    beyond = np.maximum(np.where(away > mouth + 1.0, data, -np.inf).max(axis=0), 1e-3)
    face = np.nanmedian(np.where(away < corner - 1.0, data, np.nan), axis=0)
    return least / beyond, face / beyond


def _lightest(rows: Rows, widths: np.ndarray) -> np.ndarray:
    """The least light (W,) that a slit of each width shows if its floor sees all of an even sky that it can, over that
    of the strake; averaged over where the corner falls among the pixels."""
    tries = shapes(rows, PHASES_PX, widths, deepness=1.0, shadow_px=0.0)
    least = (tries[..., 0] + tries[..., 2]).min(axis=2).mean(axis=1)
    return np.asarray(np.minimum(least, MOST_LIGHT))


def _relative(light: np.ndarray) -> np.ndarray:
    return np.asarray(light / np.maximum(np.quantile(light, 0.75, axis=0), 1e-3), np.float32)


def _widths(widest_px: float) -> np.ndarray:
    """Widths to try: fine where a slit begins to be seen, coarser where it is plain."""
    fine = np.arange(0.0, 1.2, 0.1)
    return np.concatenate([fine, np.arange(1.2, max(widest_px, 2.0) + 0.2, 0.2)])


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
