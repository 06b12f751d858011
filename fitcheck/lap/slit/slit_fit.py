"""How wide a slit is at each block along the lap, from the profiles across the edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fitcheck.lap.slit.along_lap import AlongLap, along_lap
from fitcheck.lap.slit.shared_unknowns import USUAL_DEEPNESS, SlitLight, residual, settled, unevenness
from fitcheck.lap.slit.slit_model import Rows, shapes

#: By how much the evidence of a block is divided: blur and grain join its rows, and streaks of grain its neighbours.
CAUTION = 4.0
#: What all blocks together say of the easing is divided by so much once more, because they share their wood and light.
EASING_CAUTION = 8.0
#: An easing with less than this share of the evidence is left out.
STILL_POSSIBLE = 0.02
CORNER_STEP_PX, WIDTH_STEP_PX = 0.2, 0.1
#: The inner corner is fair: within so much of its own course, averaged over so many blocks.
CORNER_FAIR_PX, CORNER_BLOCKS = 0.35, 10.0
PHASES_PX = np.array([-0.5, -0.25, 0.0, 0.25])
#: A slit hardly there is hardly dark: no darkness is divided by less than the rest of this.
MOST_LIGHT = 0.97


@dataclass(frozen=True)
class Slits:
    """Widths of the slit as seen, ``width_px`` (B,), with their standard uncertainty from the picture ``u_px`` (B,).

    ``corner_px`` (B,) is where the inner corner would be if it were sharp, toward the keel of the rough edge, with
    ``u_corner_px`` (B,), and ``shut_px`` and ``u_shut_px`` (B,) the same if the lap is closed, so that the strake
    begins there. ``floor`` (B,) is the least light there and ``edge`` (B,) that of the edge face beside it, over that
    of the strake beyond; ``depth`` (B,) how dark the floor is over the darkness of the lightest slit so wide; ``noise``
    (B,) what the best profile leaves, relative to the light; ``shadow_px`` the plank's shadow beyond the mouth and
    ``blur_px`` the blur, as settled. ``eased_px`` is how far the corner is eased, as seen, with ``u_eased_px``;
    ``by_easing_px`` (B,) is the part of the widths' uncertainty that comes of it, which is not in ``u_px``.
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
    by_easing_px: np.ndarray
    eased_px: float
    u_eased_px: float


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
    noise = unevenness(left.min(axis=(0, 1)), len(rows.at_px))
    chance = np.exp(-(left - left.min(axis=(0, 1))) / (2.0 * noise**2))
    return _moments(chance.sum(axis=0), corners)[0], _moments(chance.sum(axis=1), widths)[0]


@dataclass(frozen=True)
class _Reading:
    """What one light and one easing make of all blocks: ``doubt`` (W, O, B) of every width and corner."""

    light: SlitLight
    eased_px: float
    doubt: np.ndarray

    @cached_property
    def of_width(self) -> np.ndarray:
        """The logarithm (W, B) of the likelihood of each width, wherever the corner is."""
        from scipy.special import logsumexp

        return np.asarray(logsumexp(-self.doubt, axis=1))

    def joint(self, chance: np.ndarray) -> np.ndarray:
        """The chance (W, O, B) of width and corner together, where the widths have the ``chance`` (W, B)."""
        return np.asarray(chance[:, None] * np.exp(-self.doubt - self.of_width[:, None]))

    def near(self, corners_px: np.ndarray, course_px: np.ndarray) -> _Reading:
        """The same, with the corners (O,) held to their own course (B,) along the lap."""
        off = (corners_px[:, None] - course_px) / CORNER_FAIR_PX
        return _Reading(self.light, self.eased_px, self.doubt + 0.5 * off**2)


def fit_slits(
    light: np.ndarray,
    rows: Rows,
    widest_px: float,
    reach_px: float,
    *,
    block_px: float,
    eased_px: Sequence[float] = (0.0,),
    clear: np.ndarray | None = None,
) -> Slits:
    """Fit a slit in every block of ``light`` (R, B), amounts of light at ``rows``, ``block_px`` long each.

    The inner corner is looked for within ``reach_px`` of the rough edge, the slit up to ``widest_px`` wide. Blur, light
    and easing are common to the photograph; ``eased_px`` are the easings that are possible, each as likely beforehand.
    Blocks that are not ``clear`` (B,) say nothing; their widths come from their neighbours.
    """
    data = _relative(light)
    tried = sorted({eased_px[0], eased_px[len(eased_px) // 2]})
    rows, lights = settled(data, rows, widest_px, reach_px, tried)
    corners, widths = np.arange(-reach_px, reach_px + 0.1, CORNER_STEP_PX), _widths(widest_px)
    pairs = [(one, eased) for one in lights for eased in eased_px]
    left = [residual(data, _shapes(rows, corners, widths, one, eased)) for one, eased in pairs]
    noise = unevenness(np.min([one.min(axis=(0, 1)) for one in left], axis=0), len(rows.at_px))
    trust = np.ones(data.shape[1]) if clear is None else clear.astype(float)
    doubts = [one * trust / (2.0 * CAUTION * noise**2) for one in left]
    readings = [_Reading(*pair, doubt) for pair, doubt in zip(pairs, doubts, strict=True)]
    readings, courses = _followed(readings, corners, widths, block_px)
    return _together(data, rows, noise, corners, widths, readings, courses)


def _followed(
    bare: list[_Reading], corners: np.ndarray, widths: np.ndarray, block_px: float
) -> tuple[list[_Reading], list[AlongLap]]:
    """The readings with their corners held to a course along the lap, and the course of the gap that each gives."""
    fine = _fine(widths)
    finer = _spread_over(fine, widths)
    readings = [one.near(corners, _corner_course(one, corners, widths)) for one in bare]
    return readings, [along_lap(finer @ one.of_width, fine, block_px) for one in readings]


def _together(
    data: np.ndarray,
    rows: Rows,
    noise: np.ndarray,
    corners: np.ndarray,
    widths: np.ndarray,
    readings: list[_Reading],
    courses: list[AlongLap],
) -> Slits:
    """All readings weighed, made one."""
    fine, coarse = _fine(widths), _spread_over(widths, _fine(widths))
    weights = _weights(readings, courses)
    every = list(zip(weights, readings, courses, strict=True))
    chance = sum(weight * course.chance for weight, _, course in every)
    width, u_width = _median(chance, fine), _moments(chance, fine)[1]
    easings = np.array([one.eased_px for one in readings])
    by_easing = _by_easing(weights, easings, np.array([fine @ one.chance for one in courses]))
    joint = sum(weight * one.joint(coarse @ course.chance) for weight, one, course in every)
    corner, u_corner = _moments(joint.sum(axis=0), corners)
    shut, u_shut = _moments(joint[0] + 1e-12, corners)
    eased = float(weights @ easings)
    floor, edge = _floor_and_edge(data, rows.at_px, corner - eased, corner + width)
    depth = (1.0 - floor) / (1.0 - np.interp(width, widths, _lightest(rows, widths, eased)))
    return Slits(
        width_px=width,
        u_px=np.sqrt(np.maximum(u_width**2 - by_easing**2, 0.0)),
        corner_px=corner,
        u_corner_px=u_corner,
        shut_px=shut,
        u_shut_px=u_shut,
        floor=floor,
        edge=edge,
        depth=depth,
        noise=noise,
        shadow_px=float(sum(weight * one.light.shadow_px for weight, one, _ in every)),
        blur_px=rows.blur_px,
        by_easing_px=by_easing,
        eased_px=eased,
        u_eased_px=float(np.sqrt(weights @ (easings - eased) ** 2)),
    )


def _fine(widths: np.ndarray) -> np.ndarray:
    return np.arange(0.0, widths[-1] + WIDTH_STEP_PX / 2, WIDTH_STEP_PX)


def _shapes(rows: Rows, corners: np.ndarray, widths: np.ndarray, light: SlitLight, eased_px: float) -> np.ndarray:
    how = {"deepness": light.deepness, "shadow_px": light.shadow_px}
    return shapes(rows, corners, widths, eased_px=eased_px, **how)


def _corner_course(one: _Reading, corners: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """The inner corner's own course (B,), averaged along the lap, from what each block says of it by itself.

    As likely closed as not: with a course that goes with the gap's own, a streak beside a closed lap became a slit, and
    18 closed places of one photograph were called open.
    """
    from scipy.ndimage import gaussian_filter1d

    beforehand = np.gradient(widths)
    beforehand[0] = widths[-1]
    chance = beforehand[:, None, None] * np.exp(one.doubt.min(axis=(0, 1)) - one.doubt)
    mean, spread = _moments(chance.sum(axis=0), corners)
    weight = 1.0 / (spread**2 + CORNER_FAIR_PX**2)
    around = [gaussian_filter1d(part, CORNER_BLOCKS, mode="nearest") for part in (mean * weight, weight)]
    return np.asarray(around[0] / around[1])


def _weights(readings: Sequence[_Reading], courses: Sequence[AlongLap]) -> np.ndarray:
    """The weight (N,) of each reading, whose blocks together give it the evidence of its course.

    A light has the weight that was settled. Of the easing the blocks speak together: with the right one most of the
    lap is closed.
    """
    evidence: dict[float, float] = {}
    for one, way in zip(readings, courses, strict=True):
        evidence[one.eased_px] = evidence.get(one.eased_px, 0.0) + one.light.weight * way.evidence / EASING_CAUTION
    most = max(evidence.values())
    share = {eased: float(np.exp(value - most)) for eased, value in evidence.items()}
    weights = np.array([one.light.weight * share[one.eased_px] for one in readings])
    return np.asarray(weights / weights.sum())


def _by_easing(weights: np.ndarray, easings: np.ndarray, means: np.ndarray) -> np.ndarray:
    """The spread (B,) of the mean widths (N, B) of readings from one easing to another.

    Never less than what would let an easing that is still possible close a slit within three times as much.
    """
    each, share = [], []
    for eased in np.unique(easings):
        own = weights * (easings == eased)
        if own.sum() >= STILL_POSSIBLE:
            each.append(own @ means / own.sum())
            share.append(own.sum())
    shares = np.array(share) / sum(share)
    mean = shares @ np.array(each)
    spread = np.sqrt(shares @ (np.array(each) - mean) ** 2)
    return np.asarray(np.maximum(spread, (mean - np.min(each, axis=0)) / 3.0))


def _spread_over(to: np.ndarray, given: np.ndarray) -> np.ndarray:
    """Weights (T, G) that interpolate values at ``given`` (G,) to those at ``to`` (T,)."""
    return np.array([np.interp(to, given, row) for row in np.eye(len(given))]).T


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


def _lightest(rows: Rows, widths: np.ndarray, eased_px: float) -> np.ndarray:
    """The least light (W,) that a slit of each width shows if its floor sees all of an even sky that it can, over that
    of the strake; averaged over where the corner falls among the pixels."""
    tries = shapes(rows, PHASES_PX, widths, deepness=1.0, shadow_px=0.0, eased_px=eased_px)
    least = (tries[..., 0] + tries[..., 2]).min(axis=2).mean(axis=1)
    return np.asarray(np.minimum(least, MOST_LIGHT))


def _relative(light: np.ndarray) -> np.ndarray:
    return np.asarray(light / np.maximum(np.quantile(light, 0.75, axis=0), 1e-3), np.float32)


def _widths(widest_px: float) -> np.ndarray:
    """Widths to try: fine where a slit begins to be seen, coarser where it is plain."""
    fine = np.arange(0.0, 1.2, 0.1)
    return np.concatenate([fine, np.arange(1.2, max(widest_px, 2.0) + 0.2, 0.2)])


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
