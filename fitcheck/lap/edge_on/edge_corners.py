"""The two corners of the edge face along an edge-on photograph, to a fraction of a pixel.

The inner corner is followed with the outer one's help where it stands its full height off; in a gain the outer corner
runs down to it, and is followed alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.ground.paths import best_path
from fitcheck.ground.refusal import Refused
from fitcheck.lap.edge_on.edge_on_paths import step_gain
from fitcheck.lap.edge_on.faces import EDGE_FROM_PX, PLANK_TO, edge_likeness, plank_likeness
from fitcheck.lap.edge_on.find_edge import EdgeOn
from fitcheck.lap.edge_on_band import Band, EdgeLine, clear_of, cut_band, edge_line, smoothed

#: The rough edge may be off by this share of the edge face's height.
REACH_SHARE, LEAST_REACH_PX = 0.3, 8.0
OUTER_SHARE = 0.6
#: Steps are taken over this share of the edge face, so that grain counts less than the faces.
HALF_SHARE, MOST_HALF_PX = 0.12, 8
FINE_HALF_PX, WIDE_SHARE, SHARP_SHARE, CLEAR_PX = 2, 0.25, 0.3, 2.0
BEND_COST, OUTER_BEND_COST = 0.6, 1.5
#: Rows share their grain: what the woods' looks say counts by this share a row.
WOODS_SHARE = 0.3
#: Nearer to the inner corner than this the outer one cannot be told from it.
FLUSH_PX = 3.0
#: What a step there must be worth to be taken for a corner (noise units), and what full height is worth beforehand.
FLUSH_GAIN, FULL_GAIN, MOST_GAIN = 1.8, 1.8, 5.0
TOLERANCE = 0.06
#: Where the outer corner is looked for, over the full height as told: at it, up to the second; beyond the third it is
#: another thickness, if it stands out this much better there.
THICKER, CLEARLY = (0.9, 1.05, 1.1, 1.45), 1.3
LEARNINGS = 3
#: The full height is a rival where the path is better by less than this (noise units), over so many blocks about.
RIVAL_GAIN, RIVAL_BLOCKS, RIVAL_SHARE = 8.0, 15.0, 0.6
#: Nearer to the full height than this, or than the tolerance, it is the same corner, eased.
SAME_PX = 2.0
#: A step that dips and rises again is right to about this share of the dip.
DIP_SHARE = 0.6
#: Below so much in favour of the edge face (noise units), or this share of its height in pixels, it is no edge face.
FAINT_GAIN, FAINT_SHARE = 9.0, 0.35
#: A flush step is between nothing and the least that shows: so much of that, and its standard uncertainty.
FLUSH_SHARE, U_FLUSH_SHARE = 0.45, 0.35
#: Where a step runs out to flush its corner is lost before it ends: over so many blocks it may stand higher than it is
#: found, by so much of what it stood before.
LOST_BLOCKS, LOST_SHARE = 12, 0.45
#: A step is full, runs out, or has run out. One that is level over so many blocks, within so many pixels, at a height
#: between these shares of the full one, may be a streak of grain: then so much of what is wanting is uncertainty.
LEVEL_BLOCKS, LEVEL_PX, LEVEL_FROM, LEVEL_TO, STREAK_SHARE = 30, 2.0, 0.25, 0.94, 0.6


@dataclass(frozen=True)
class OuterCorner:
    """The outer corner at each block: ``height_px`` (B,) beyond the inner one, with ``u_px`` (B,); ``flush`` (B,)
    where it is too near the inner corner to be told from it; ``strength`` (B,) its step in noise units."""

    height_px: np.ndarray
    u_px: np.ndarray
    flush: np.ndarray
    strength: np.ndarray


def follow_inner(
    pixels: np.ndarray, rough: EdgeOn, block_px: int, fair_px: float, covers: tuple[np.ndarray, ...] = ()
) -> EdgeLine:
    """The inner corner's line, fair over ``fair_px``, from the rough edge; ``covers`` are outlines (M, 2) in pixels of
    what lies on the wood."""
    line = edge_line(_fair_points(rough.points_px), rough.keelward)
    for share in (REACH_SHARE, 0.5 * REACH_SHARE):
        reach = max(LEAST_REACH_PX, share * rough.height_px)
        half = _half_rows(rough.height_px)
        rows = np.arange(-reach - rough.height_px - half, max(reach + half, PLANK_TO * rough.height_px) + 1.0)
        band = cut_band(pixels, line, rows, block_px)
        clear = clear_of(band, line, covers)
        gain = step_gain(band.values, half) * clear
        outer = _read_up(gain, rough.height_px)
        near = np.abs(rows) <= reach
        both = gain + OUTER_SHARE * np.minimum(outer, gain)
        # All above it like the plank and all below like the strake, however strong a streak of grain is beside it.
        both += WOODS_SHARE * np.cumsum(plank_likeness(band.values, rows, rough.height_px) * clear, axis=0)
        path, _ = best_path(both[near], reach=2, bend_cost=BEND_COST)
        off = rows[near][path] + _sub_row(gain[near], path)
        line = smoothed(line.moved(np.interp(np.arange(len(line.at_px)), band.block, off)), fair_px)
    return line


def _fair_points(points_px: np.ndarray) -> np.ndarray:
    """Rough points (M, 2) with those off the fair curve through most of them brought onto it."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points_px, axis=0), axis=1))])
    at = 2.0 * along / along[-1] - 1.0
    weight = np.ones(len(at))
    for _ in range(12):
        fair = np.column_stack([np.polyval(np.polyfit(at, points_px[:, axis], 2, w=weight), at) for axis in (0, 1)])
        off = np.linalg.norm(points_px - fair, axis=1)
        weight = 1.0 / (1.0 + (off / (np.median(off) + 1.0)) ** 2)
    return fair


def follow_outer(band: Band, full_px: np.ndarray, blur_px: float, *, full_everywhere: bool) -> OuterCorner:
    """The outer corner in a band whose rows count from the inner one; ``full_px`` (B,) is its full height.

    ``full_everywhere`` holds it to its full height, as where nothing else gives the scale. Raises :class:`Refused`
    ``edge-faint`` where no edge face stands out from the plank's face.
    """
    rows = -band.at_px
    steps = _outer_steps(band, _wide_rows(full_px))
    full_px = full_px if full_everywhere else full_px * _thicker(steps, rows, full_px)
    # A knot's rim is a stronger step than any corner.
    gain = np.minimum(steps, MOST_GAIN)
    bonus = FULL_GAIN * np.exp(-0.5 * ((rows[:, None] - full_px) / (TOLERANCE * full_px)) ** 2)
    least = FLUSH_PX + blur_px
    allowed = (rows[:, None] >= least) & (rows[:, None] <= 1.15 * full_px)
    if full_everywhere:
        allowed &= rows[:, None] >= 0.6 * full_px
    path = np.argmin(np.abs(rows[:, None] - full_px), axis=0)
    for _ in range(1 if full_everywhere else LEARNINGS):
        faces = np.zeros_like(gain) if full_everywhere else _faces(band, full_px, rows[path])
        worth = np.where(allowed, gain + bonus + faces, -10.0)
        if not full_everywhere:
            at_flush = (rows >= 0) & (rows < least)
            worth[at_flush] = FLUSH_GAIN + faces[at_flush]
        path, _ = best_path(worth, reach=2, bend_cost=OUTER_BEND_COST)
    pick = np.arange(worth.shape[1])
    if not full_everywhere:
        _refuse_faint(float(worth[path, pick].mean()), float(np.median(full_px)))
    flush = rows[path] < least
    height = np.where(flush, FLUSH_SHARE * least, rows[path] - _sub_row(gain, path))
    strength = np.where(flush, 0.0, gain[path, pick])
    u_px = np.where(flush, U_FLUSH_SHARE * least, np.hypot(0.4, 1.5 / np.maximum(strength, 0.7)))
    u_px = np.hypot(u_px, _rival_px(worth, rows, path, full_px))
    height = _fair(height)
    doubts = [DIP_SHARE * _dip(height), _lost_px(height, flush)]
    if not full_everywhere:
        doubts.append(_streak_px(height, full_px))
    return OuterCorner(height, np.sqrt(u_px**2 + sum(one**2 for one in doubts)), flush, strength)


def _refuse_faint(worth: float, full_px: float) -> None:
    if worth < min(FAINT_GAIN, FAINT_SHARE * full_px):
        raise Refused(
            "edge-faint",
            "The plank's edge does not stand out from the faces above and below it, so what was found may be a streak "
            "of grain. Light it from the keel side, or from the sheer side, so that the edge is lighter or darker than "
            "the faces.",
        )


def _rival_px(worth: np.ndarray, rows: np.ndarray, path: np.ndarray, full_px: np.ndarray) -> np.ndarray:
    """The doubt (B,) of a path that the full height hardly yields to over a hand's breadth: one of the two is right."""
    from scipy.ndimage import gaussian_filter1d

    pick = np.arange(worth.shape[1])
    same = np.maximum(SAME_PX, TOLERANCE * full_px)
    near = np.abs(rows[:, None] - full_px) <= same
    full = np.where(near, worth, -np.inf).max(axis=0)
    better = gaussian_filter1d(worth[path, pick] - full, RIVAL_BLOCKS, mode="nearest")
    apart = np.abs(rows[path] - full_px)
    return np.where((better < RIVAL_GAIN) & (apart > same), RIVAL_SHARE * apart, 0.0)


def _dip(height: np.ndarray) -> np.ndarray:
    """How far (B,) each place lies under the lower of the highest on its two sides: a step runs out toward an end, and
    never dips and rises again, so there something else was taken for the corner."""
    left, right = np.maximum.accumulate(height), np.maximum.accumulate(height[::-1])[::-1]
    return np.asarray(np.minimum(left, right) - height)


def _lost_px(height: np.ndarray, flush: np.ndarray) -> np.ndarray:
    """The doubt (B,) where the step runs out to flush."""
    from scipy.ndimage import maximum_filter1d

    size = 2 * LOST_BLOCKS + 1
    beside = maximum_filter1d(flush.astype(np.uint8), size, mode="nearest") > 0
    before = maximum_filter1d(height, size, mode="nearest")
    return np.where(beside, LOST_SHARE * (before - height), 0.0)


def _streak_px(height: np.ndarray, full_px: np.ndarray) -> np.ndarray:
    """The doubt (B,) where the step is level but not full: a streak of grain may have been taken for its corner."""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    low, high = (one(height, LEVEL_BLOCKS, mode="nearest") for one in (minimum_filter1d, maximum_filter1d))
    level = (high - low < LEVEL_PX) & (height > LEVEL_FROM * full_px) & (height < LEVEL_TO * full_px)
    around = maximum_filter1d(level.astype(np.uint8), LEVEL_BLOCKS, mode="nearest") > 0
    return np.where(around, STREAK_SHARE * np.maximum(full_px - height, 0.0), 0.0)


def _faces(band: Band, full_px: np.ndarray, height_px: np.ndarray) -> np.ndarray:
    """What speaks for the outer corner at each cell (R, B): everything below it like the edge face, above it not."""
    likeness = edge_likeness(band.values, -band.at_px, full_px, height_px)
    likeness[-band.at_px < EDGE_FROM_PX] = 0.0
    # Rows run from the sheer toward the keel: summed from the inner corner outward.
    return np.asarray(np.cumsum(likeness[::-1], axis=0)[::-1])


def _fair(height: np.ndarray) -> np.ndarray:
    from scipy.ndimage import gaussian_filter1d, median_filter

    return np.asarray(gaussian_filter1d(median_filter(height, 21, mode="nearest"), 8.0, mode="nearest"))


def _half_rows(height_px: float) -> int:
    return int(np.clip(round(HALF_SHARE * height_px), 2, MOST_HALF_PX))


def _outer_steps(band: Band, half_rows: int) -> np.ndarray:
    """Steps across the plank's face and edge face alone: the strake's part is overlaid with the edge face's last rows,
    so that the inner corner is no step. A corner is a lasting step, and mostly a sharp one."""
    clear = int(np.searchsorted(band.at_px, -CLEAR_PX))
    values = band.values.copy()
    values[clear:] = values[clear - 2 : clear].mean(axis=0)
    values = np.concatenate([values, np.repeat(values[-1:], half_rows, axis=0)])
    gain = step_gain(values, half_rows) + SHARP_SHARE * step_gain(values, FINE_HALF_PX)
    return np.asarray(gain[: len(band.at_px)])


def _thicker(steps: np.ndarray, rows: np.ndarray, full_px: np.ndarray) -> float:
    """How many times the full height the outer corner stands off along the whole photograph, where nothing stands out
    at the full height itself: a plank told thinner than it is; else 1."""
    shares = np.arange(THICKER[0], THICKER[-1], 0.01)
    pick = np.arange(steps.shape[1])
    at = np.clip(np.round(rows[0] - shares[:, None] * full_px).astype(int), 0, len(rows) - 1)
    worth = np.median(steps[at, pick], axis=1)
    told, more = shares < THICKER[1], shares > THICKER[2]
    best = int(np.argmax(np.where(more, worth, 0.0)))
    return float(shares[best]) if worth[best] > CLEARLY * worth[told].max() else 1.0


def _wide_rows(full_px: np.ndarray) -> int:
    return int(np.clip(round(WIDE_SHARE * float(np.median(full_px))), 3, MOST_HALF_PX))


def _read_up(gain: np.ndarray, up_px: float) -> np.ndarray:
    """Gain read ``up_px`` rows nearer the sheer; zero beyond the band."""
    shift = round(up_px)
    moved = np.zeros_like(gain)
    moved[shift:] = gain[:-shift]
    return moved


def _sub_row(gain: np.ndarray, path: np.ndarray) -> np.ndarray:
    """How far the peak of the gain lies beyond each row of the path, by a parabola, within half a row."""
    at, pick = np.clip(path, 1, len(gain) - 2), np.arange(len(path))
    before, here, after = gain[at - 1, pick], gain[at, pick], gain[at + 1, pick]
    bend = before - 2.0 * here + after
    return np.asarray(np.where(bend < -1e-6, np.clip(0.5 * (before - after) / np.minimum(bend, -1e-6), -0.5, 0.5), 0.0))
