"""What one step of the training looks at: a part of a strip as channels, and for each mark the rows it may be in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.evidence.channels import COARSE_MM, FINE_MM, coarse_channels, fine_channels
from fitcheck.lap.evidence.look_odds import INNER, LINE, OUTER
from fitcheck.lap.evidence.marks import ABOUT_WITNESS_MM, BELOW_MM
from tests.training.augment import cover, jittered, recoloured, turned_light
from tests.training.regrain import regrained
from tests.training.strips import CourseStrip, LapStrip

ROW_MM = FINE_MM[0]
#: Rows and columns of a part.
LAP_PART, COURSE_PART = (224, 96), (360, 72)
#: Narrower laps and lower courses tell too little.
LEAST_COLUMNS, LEAST_ROWS = 60, 60
#: Shares of parts with a line made light, with something lying over it, and shown with the sheer above.
TURNED_LIGHT, COVERED, SHEER_ABOVE = 0.2, 0.15, 0.65
#: Thickness, bevel and pose give the edge face's width to about this; a narrower one does not show.
U_WIDTH_MM, LEAST_WIDTH_MM = 0.3, 0.25
#: Within this of a clamp's middle it hides the edge; further off than the second it hides nothing.
UNDER_CLAMP_MM, CLEAR_MM = 8.0, 40.0
#: A witness line lies within this of where it is looked for.
U_WITNESS_MM = 2.5
#: A column of which less is in sight is not asked.
LEAST_SEEN_LAP, LEAST_SEEN_COURSE = 0.4, 0.3


@dataclass(frozen=True)
class Target:
    """Where one mark truly is: in ``row`` (C,), rows and parts of rows, where ``present`` (C,), else nowhere.

    ``allowed`` (R, C) are the rows among which it is chosen; only columns ``told`` (C,) are asked.
    """

    name: str
    head: int
    row: np.ndarray
    present: np.ndarray
    allowed: np.ndarray
    told: np.ndarray


@dataclass(frozen=True)
class Crop:
    """Channels (K, R, C) and the marks' targets."""

    channels: np.ndarray
    targets: tuple[Target, ...]


def lap_crop(strip: LapStrip, rng: np.random.Generator) -> Crop | None:
    """A random part of a lap strip, or None where it is too short."""
    if len(strip.along_mm) < LEAST_COLUMNS:
        return None
    rows, columns = _part(strip.seen.shape, LAP_PART, rng)
    if rng.random() < 0.5:
        columns = columns[::-1]
    light, seen = strip.light[np.ix_(rows, columns)], strip.seen[np.ix_(rows, columns)]
    top = strip.down_mm[0] + rows[0] * ROW_MM
    outer, inner, line = ((one[columns] - top) / ROW_MM for one in (strip.outer_mm, strip.inner_mm, strip.line_mm))
    width = strip.width_mm + rng.normal(0.0, U_WIDTH_MM)
    light = regrained(jittered(light, rng), outer, FINE_MM, 1.0 / strip.px_per_mm, rng)
    light = recoloured(light, rng)
    if strip.line_seen.any() and rng.random() < TURNED_LIGHT:
        light = turned_light(light, np.where(strip.line_seen[columns], line, np.nan), rng)
    channels = fine_channels(light, seen, width, strip.px_per_mm)
    if rng.random() < COVERED:
        over = cover(len(columns), rng)
        channels[:5, :, over], seen[:, over] = 0.0, False
    under = strip.clamp_mm[columns] < UNDER_CLAMP_MM
    clear = (strip.clamp_mm[columns] > CLEAR_MM) | under
    told = clear & np.isfinite(outer) & (seen.mean(axis=0) > LEAST_SEEN_LAP)
    targets = [Target("outer", OUTER, outer, _in(seen, outer) & ~under, seen, told)]
    if width > LEAST_WIDTH_MM:
        targets.append(Target("inner", INNER, inner, _in(seen, inner) & ~under, seen, told))
    drawn = strip.line_seen[columns] & ~under
    targets.append(_line_target(strip, line, np.fmax(inner, outer), inner, drawn, seen, told & ~under, rng))
    return Crop(channels, tuple(targets))


def _line_target(
    strip: LapStrip,
    line: np.ndarray,
    lower: np.ndarray,
    inner: np.ndarray,
    drawn: np.ndarray,
    seen: np.ndarray,
    told: np.ndarray,
    rng: np.random.Generator,
) -> Target:
    """The line among the rows below the edge that is seen, where it is looked for in use."""
    row = np.arange(len(seen))[:, None]
    if strip.witness_mm:
        middle = line + rng.normal(0.0, U_WITNESS_MM) / ROW_MM
        window = (np.abs(row - middle) < ABOUT_WITNESS_MM / ROW_MM) & (row > lower - 1.0)
        return Target("witness", LINE, line, drawn & _in(seen, line), seen & window, told & np.isfinite(line))
    window = (row > lower - 1.5 / ROW_MM) & (row < inner + BELOW_MM / ROW_MM)
    present = drawn & (line > lower) & _in(seen, line)
    return Target("line", LINE, line, present, seen & window, told & np.isfinite(line))


def course_crop(strip: CourseStrip, rng: np.random.Generator) -> Crop | None:
    """A random part of a course strip; turned with the sheer below there is no lap to be found in it."""
    in_sight = np.flatnonzero(strip.seen.any(axis=1))
    if len(in_sight) < LEAST_ROWS:
        return None
    light, seen = strip.light[in_sight[0] : in_sight[-1] + 1], strip.seen[in_sight[0] : in_sight[-1] + 1]
    edge, clear = strip.edge_row - in_sight[0], strip.clear
    above = bool(rng.random() < SHEER_ABOVE)
    if above != strip.sheer_up:
        light, seen, edge, clear = light[::-1, ::-1], seen[::-1, ::-1], len(seen) - 1 - edge[::-1], clear[::-1]
    rows, columns = _part(seen.shape, COURSE_PART, rng)
    if rng.random() < 0.5:
        columns = columns[::-1]
    light = regrained(jittered(light[:, columns], rng), edge[columns], COARSE_MM, 0.0, rng)
    channels = coarse_channels(recoloured(light, rng), seen[:, columns])[:, rows]
    seen, edge, clear = seen[np.ix_(rows, columns)], edge[columns] - rows[0], clear[columns]
    told = clear & np.isfinite(edge) & (seen.mean(axis=0) > LEAST_SEEN_COURSE)
    name = "edge" if above else "none"
    return Crop(channels, (Target(name, 0, edge, _in(seen, edge) & above, seen, told),))


def _part(shape: tuple[int, ...], most: tuple[int, int], rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Rows and columns of a random part of at most that size."""
    sizes = [min(have, wanted) for have, wanted in zip(shape, most, strict=True)]
    starts = [int(rng.integers(0, have - size + 1)) for have, size in zip(shape, sizes, strict=True)]
    rows, columns = (np.arange(start, start + size) for start, size in zip(starts, sizes, strict=True))
    return rows, columns


def _in(seen: np.ndarray, row: np.ndarray) -> np.ndarray:
    """Which columns (C,) have their mark in a cell that is seen."""
    near = np.round(np.nan_to_num(row, nan=-1.0)).astype(int)
    inside = (near >= 0) & (near < len(seen))
    return np.asarray(inside & seen[np.clip(near, 0, len(seen) - 1), np.arange(len(row))])
