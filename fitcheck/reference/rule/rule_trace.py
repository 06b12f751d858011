"""From one graduated piece of a line to the whole run of marks and the plane they lie on, in divisions of the rule."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.reference.rule.graduations import Count, count_marks, light_marks, recount, share_of_marks
from fitcheck.reference.rule.rule_find import Seed
from fitcheck.reference.rule.rule_pose import OnLine, RulePlane, solve_plane, start_plane, tilted
from fitcheck.reference.sides.steps import sample_bilinear
from fitcheck.reference.sides.straight_sides import fit_side

ROW_STEP = 0.35
LEAST_ROWS, MOST_ROWS = 3, 24
#: Marks followed to within this much of a division are marks.
MOST_SPREAD = 0.05
#: The scatter of a row's phase in one window, in pixels; only the balance of the samples hangs on it.
PHASE_U_PX = 0.05
STARTS_DEG = (-25.0, 0.0, 25.0)
MOST_MISFIT = 4.0


@dataclass(frozen=True)
class Trace:
    """A run of marks: the ``plane`` in divisions, the count from ``first`` to ``last``, and the heights of the rows
    (upper, lower) in which all marks were counted, in divisions."""

    plane: RulePlane
    first: float
    last: float
    rows: tuple[float, float]


@dataclass(frozen=True)
class _Line:
    """A straight line of the undistorted picture; places along and across it are in pixels of its middle."""

    camera: Camera
    point: np.ndarray
    direction: np.ndarray
    per_px: float

    def seen(self, along: np.ndarray, across: float) -> np.ndarray:
        inward = np.array([-self.direction[1], self.direction[0]])
        return self.point + (along[:, None] * self.direction + across * inward) * self.per_px

    def px(self, along: np.ndarray, across: float) -> np.ndarray:
        seen = self.seen(along, across)
        return np.asarray(self.camera.project(np.column_stack([seen, np.ones(len(seen))])))


def trace_marks(gray: np.ndarray, camera: Camera, seed: Seed) -> Trace | None:
    """The run of marks that ``seed`` belongs to; None where they cannot be followed or lie on no plane."""
    line = _line_of(gray, camera, seed)
    tries = [abs(seed.row_px) * share for share in (1.0, 0.5, 1.5)] + [0.8 * seed.period_px]
    trace = _trace(gray, line, tries, seed.period_px)
    if trace is None:
        return None
    # The seed's line may cross the marks at an angle; along their own middle they can be followed to the end.
    line, period_px = _line_along(camera, trace)
    return _trace(gray, line, [0.0], period_px) or trace


def _trace(gray: np.ndarray, line: _Line, tries: list[float], period_px: float) -> Trace | None:
    along = _along_in_frame(line, gray.shape)
    way = 1.0 if line.direction[0] >= 0 else -1.0
    best = _best_row(gray, line, along, tries, period_px)
    if best is None:
        return None
    rows = [best, *_rows_beside(gray, line, along, best, -1.0), *_rows_beside(gray, line, along, best, 1.0)]
    if len(rows) < LEAST_ROWS:
        return None
    seen = np.concatenate([line.seen(along[0] + count.middles, across) for across, count in rows])
    x = np.concatenate([count.at(count.middles) for _, count in rows])
    half = 0.5 if light_marks(sample_bilinear(gray, line.px(along, best[0])), best[1]) else 0.0
    x = (x + half) * way
    starts = [tilted(start_plane(seen, x), about_x, 0.0) for about_x in STARTS_DEG]
    plane = solve_plane(starts, [OnLine(seen, 0, x, np.full(len(x), PHASE_U_PX * line.per_px))])
    if plane.spread > MOST_MISFIT or plane.translation[2] <= 0:
        return None
    ends = [way * (end + half) for _, count in rows for end in count.at(np.array([count.low, count.high]))]
    heights = plane.on_rule(seen)[:, 1]
    return Trace(plane, min(ends), max(ends), (float(heights.max()), float(heights.min())))


def _line_along(camera: Camera, trace: Trace) -> tuple[_Line, float]:
    """The line along the middle of the marks, about the middle of their run, and their spacing there in pixels."""
    middle, y = (trace.first + trace.last) / 2.0, sum(trace.rows) / 2.0
    seen = trace.plane.seen(np.array([(middle - 0.5, y), (middle + 0.5, y)]))
    apart = np.linalg.norm(seen[1] - seen[0])
    per_px = 1.0 / float(camera.matrix[0, 0])
    return _Line(camera, seen.mean(axis=0), (seen[1] - seen[0]) / apart, per_px), float(apart / per_px)


def _line_of(gray: np.ndarray, camera: Camera, seed: Seed) -> _Line:
    """The seed's line, with the marks on its right; fitted finely where it is an edge."""
    a, b = (seed.a_px, seed.b_px) if seed.row_px > 0 else (seed.b_px, seed.a_px)
    ends = camera.undistort(np.array([a, b]))
    per_px = float(np.linalg.norm(ends[1] - ends[0]) / np.linalg.norm(b - a))
    try:
        side = fit_side(gray, a, b, reach_px=8.0, keep=(0.0, 1.0), undistort=camera.undistort, shadows=False)
    except Refused:
        return _Line(camera, ends.mean(axis=0), (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0]), per_px)
    return _Line(camera, side.point, side.direction, per_px)


def _along_in_frame(line: _Line, shape: tuple[int, ...]) -> np.ndarray:
    """Places along the line, a pixel apart, that lie in the picture."""
    reach = 1.2 * float(np.hypot(shape[0], shape[1]))
    along = np.arange(-np.floor(reach), reach)
    # Far outside the picture the lens model folds back, so only the run through the line's own middle counts.
    places = line.px(along, 0.0)
    inside = ((places >= 1.0) & (places <= np.array([shape[1], shape[0]]) - 2.0)).all(axis=1)
    middle = int(np.argmin(np.abs(along)))
    outside = np.flatnonzero(~inside)
    low = int(outside[outside < middle].max(initial=-1)) + 1
    high = int(outside[outside > middle].min(initial=len(along)))
    return along[low:high]


def _best_row(
    gray: np.ndarray, line: _Line, along: np.ndarray, tries: list[float], period: float
) -> tuple[float, Count] | None:
    """A row beside the line in which the marks can be followed, (across, count): the clearest that can."""
    start = int(np.argmin(np.abs(along)))
    rows = [(across, sample_bilinear(gray, line.px(along, across))) for across in tries]
    for across, profile in sorted(rows, key=lambda row: -share_of_marks(row[1], start, period)):
        count = count_marks(profile, start, period)
        if count is not None and count.spread < MOST_SPREAD:
            return across, count
    return None


def _rows_beside(
    gray: np.ndarray, line: _Line, along: np.ndarray, best: tuple[float, Count], way: float
) -> list[tuple[float, Count]]:
    """Counts in the rows next to ``best``, as far as the marks go that way."""
    across, count = best
    step = max(1.0, ROW_STEP * float(count.period(np.array([count.origin]))[0]))
    rows = []
    for _ in range(MOST_ROWS):
        across += way * step
        beside = recount(sample_bilinear(gray, line.px(along, across)), count)
        if beside is None or beside.spread > MOST_SPREAD:
            break
        count = beside
        rows.append((across, count))
    return rows
