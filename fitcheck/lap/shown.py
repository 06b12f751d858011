"""What a look at the lap found, as candidates to be shown: courses, edges and lines in the picture's pixels."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from fitcheck.ground.candidates import Candidate, candidate
from fitcheck.ground.runs import runs
from fitcheck.lap.line.fair_line import BELIEVED
from fitcheck.reference.pose import FacePose

if TYPE_CHECKING:
    from fitcheck.lap.course.boundaries import Boundary
    from fitcheck.lap.course.find_course import Course
    from fitcheck.lap.square_on.square_look import Look
    from fitcheck.lap.strip import Strip

#: More edges than this are no choice that an eye can make.
MOST_EDGES = 4
#: A path is drawn through a point each so many millimetres; shorter stretches are left out.
STEP_MM, LEAST_MM = 5.0, 10.0
#: Two paths nearer each other than this, along most of the lap, are one.
APART_MM = 0.6


def edges_shown(found: Iterable[Boundary], pose: FacePose) -> tuple[Candidate, ...]:
    """Candidates for the edge from long boundaries (in the frame of ``pose``), the likeliest first."""
    paths = [_px(pose, one.along_mm, one.y_mm) for one in list(found)[:MOST_EDGES]]
    return _ranked(paths)


def courses_shown(courses: Iterable[Course]) -> tuple[Candidate, ...]:
    """Candidates for the edge from courses that the lap could have, the likeliest first."""
    return _ranked(_px(one.pose, one.along_mm, one.y_mm) for one in courses)


def look_shown(look: Look, where: np.ndarray | None = None) -> tuple[Candidate, ...]:
    """Candidates for edge and line from a look, in the windows ``where`` (N,) alone if given.

    The edge is the one that was followed, with others as plain as it; the lines are the likeliest path below it, with
    its chance, and the next. What lies under a clamp is left out.
    """
    along = look.aligned.along_mm
    windows = ~look.covered & (np.ones(len(along), bool) if where is None else where)
    edges = [look.edge_down_mm, *(np.interp(along, one.along_mm, one.down_mm) for one in look.other_edges)]
    # A path that lies against the edge follows the crease: that is no line to be chosen.
    lines = [np.where(look.line.at_edge, np.nan, look.line.down_mm)]
    if np.mean(np.abs(look.line.other_down_mm - look.line.down_mm) > APART_MM) > 0.5:
        lines.append(look.line.other_down_mm)
    odds = float(np.median(look.line.chance[windows])) if windows.any() else None
    found: list[Candidate] = []
    for kind, paths in (("edge", edges), ("line", lines)):
        for rank, down in enumerate(paths, start=1):
            told = odds if (kind, rank) == ("line", 1) else None
            there = windows & np.isfinite(down)
            stretches = stretches_px(look.pose, look.strip, along, down, there)
            found += [candidate(kind, part, rank=rank, odds=told) for part in stretches]
    return tuple(found)


def ambiguous_shown(look: Look) -> tuple[Candidate, ...]:
    """Candidates of the stretches that a measured photograph leaves ambiguous: the edge only where it is unclear."""
    unsure = (look.line.chance < BELIEVED) & ~look.line.at_edge
    edges = [one for one in look_shown(look, look.edge_unclear) if one.kind == "edge"]
    return (*edges, *(one for one in look_shown(look, unsure | look.edge_unclear) if one.kind == "line"))


def _ranked(paths: Iterable[np.ndarray]) -> tuple[Candidate, ...]:
    shown = [path for path in paths if len(path) > 1]
    return tuple(candidate("edge", path, rank=number + 1) for number, path in enumerate(shown[:MOST_EDGES]))


def stretches_px(
    pose: FacePose, strip: Strip, along_mm: np.ndarray, down_mm: np.ndarray, windows: np.ndarray
) -> list[np.ndarray]:
    """A path in strip rows ``down_mm`` (N,) as pixels (M, 2), a part for each run of ``windows`` (N,)."""
    parts = []
    for at in runs(windows):
        if along_mm[at.stop - 1] - along_mm[at.start] >= LEAST_MM:
            parts.append(_px(pose, along_mm[at], strip.y_mm(along_mm[at], down_mm[at])))
    return [part for part in parts if len(part) > 1]


def _px(pose: FacePose, along_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """A path on the face as pixels (M, 2), a point each :data:`STEP_MM`, as far as it lies in the picture."""
    order = np.argsort(along_mm)
    at = np.arange(along_mm.min(), along_mm.max() + 1e-6, STEP_MM)
    y = np.interp(at, along_mm[order], y_mm[order])
    px = pose.px_from_face(np.column_stack([at, y, np.zeros(len(at))]))
    inside = np.all((px > 0) & (px < np.array(pose.camera.size_px) - 1), axis=1)
    # One run only, the longest: far out of the picture the lens model folds back into it.
    return np.asarray(px[max(runs(inside), key=lambda run: run.stop - run.start, default=slice(0))])
