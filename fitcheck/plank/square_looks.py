"""Looking at the lap in every photograph of a plank along the course that all of them together give it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import Candidate, carried
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.course.find_course import Course, find_course
from fitcheck.lap.shown import courses_shown
from fitcheck.lap.square_on.square_look import Look, look_along
from fitcheck.plank.joint.card_views import View, side_by_side
from fitcheck.plank.joint.curved_pose import CurvedPose
from fitcheck.plank.joint.lap_curve import LapCurve, fit_curve

STEP_MM = 4.0
#: A photograph far off the cards' middle sees no further than this, and needs to see this much.
REACH_MM, LEAST_MM = 600.0, 60.0
RIM_PX = 3.0


@dataclass(frozen=True, eq=False)
class Looked:
    """A view with what it shows of the lap, or the reason why that is nothing and what was ``found`` there."""

    view: View
    look: Look | None = None
    reason: Reason | None = None
    found: tuple[Candidate, ...] = ()


def look_at_all(
    views: Sequence[View],
    poses: Sequence[CurvedPose],
    settings: Settings,
    progress: Callable[[], None] = lambda: None,
) -> list[Looked]:
    """A look at the lap in every view: first its course in each, then one fair course through all, then edge and line.

    A view in which the lap's course cannot be told by itself is looked at along the course the others give. Which side
    is the sheer is what most views say. Where no view shows the lap's course, each says why.
    """

    def seek(at: int) -> Course | Refused:
        try:
            return find_course(_pixels(views[at]), poses[at], _outlines(views[at]), settings.keel)
        except Refused as refused:
            return refused

    courses = side_by_side(seek, range(len(views)))
    found = [course for course in courses if isinstance(course, Course)]
    if not found:
        return [_lost(view, one) for view, one in zip(views, courses, strict=True) if isinstance(one, Refused)]
    sheer = 1 if sum(_sheer_side(course) for course in found) >= 0 else -1
    curve, known = joint_course([course for course in found if _sheer_side(course) == sheer])

    def look(at: int) -> Looked:
        view, one = views[at], courses[at]
        try:
            course = _course_of(view, poses[at], curve, known, sheer)
            if course is None:
                return _lost(view, one if isinstance(one, Refused) else _no_lap(view))
            with carried(courses_shown([course])):
                return Looked(view, look_along(_pixels(view), course, _outlines(view), settings))
        except Refused as refused:
            return _lost(view, refused)
        finally:
            progress()

    return side_by_side(look, range(len(views)))


def joint_course(courses: Sequence[Course]) -> tuple[LapCurve, np.ndarray]:
    """One fair curve through the courses of several views, and the sorted places s (N,) at which any of them runs."""
    points = np.concatenate([_on_plank(course) for course in courses])
    return fit_curve(points[:, 0], points[:, 1]), np.sort(points[:, 0])


def _on_plank(course: Course) -> np.ndarray:
    pose: Any = course.pose
    return np.asarray(pose.plank_from_face(np.column_stack([course.along_mm, course.y_mm])))


def _sheer_side(course: Course) -> int:
    """+1 where the sheer lies toward w, -1 where it lies the other way: the course's own frame has it toward y."""
    pose: Any = course.pose
    return 1 if np.cos(pose.turn_rad) > 0 else -1


def _course_of(view: View, pose: CurvedPose, curve: LapCurve, known: np.ndarray, sheer: int) -> Course | None:
    """The joint course as one view sees it, or None where none of it is in the picture."""
    s = pose.origin_mm[0] + np.arange(-REACH_MM, REACH_MM + STEP_MM, STEP_MM)
    s = s[(s > known[0]) & (s < known[-1])]
    if len(s) < 2:
        return None
    face = pose.face_from_plank(np.column_stack([s, curve.w(s)]))
    px = pose.px_from_face(np.column_stack([face, np.zeros(len(s))]))
    wide, high = view.lens.size_px
    inside = (px > RIM_PX).all(axis=1) & (px[:, 0] < wide - RIM_PX) & (px[:, 1] < high - RIM_PX)
    if inside.sum() * STEP_MM < LEAST_MM:
        return None
    s = s[inside]
    w = curve.w(s)
    angle = float(np.arctan2(w[-1] - w[0], s[-1] - s[0]))
    turned = pose.turned(angle, flip=sheer < 0)
    face = turned.face_from_plank(np.column_stack([s, w]))[::sheer]
    up = turned.px_from_face(np.array([[0.0, 0.0, 0.0], [0.0, 20.0, 0.0]]))
    return Course(turned, "down" if up[1, 1] < up[0, 1] else "up", face[:, 0], face[:, 1])


def _pixels(view: View) -> np.ndarray:
    """The view's pixels: those at hand, or decoded again."""
    assert view.photo is not None
    return view.photo.decoded()


def _outlines(view: View) -> tuple[np.ndarray, ...]:
    return tuple(card.outline_px for card in view.cards)


def _lost(view: View, refused: Refused) -> Looked:
    return Looked(view, reason=refused.reason, found=refused.candidates)


def _no_lap(view: View) -> Refused:
    return Refused(
        "no-edge", f"{view.name} shows no plank's edge where the other photographs have it. Photograph it again."
    )
