"""Which of the courses that a photograph's lap could have it has, by what the trained score sees along each."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import carried
from fitcheck.lap.course.find_course import Course, edge_ambiguous, keel_unclear
from fitcheck.lap.course.scored_course import ScoredCourse, scored_courses
from fitcheck.lap.shown import courses_shown
from fitcheck.lap.square_on.scored_look import ScoredLook, look_by_score
from fitcheck.lap.square_on.with_cards import Card, OnStrake, on_strake
from fitcheck.reference.pose import FacePose

#: A course with so much of the chance is the lap's; so much is needed for the keel to be told.
SURE_COURSE, SURE_KEEL = 0.97, 0.95
#: Edges nearer each other than this are one.
SAME_EDGE_MM = 1.0
#: At most so many courses are looked along, and what the looks tell of edge and line counts by so much.
MOST_COURSES, EDGE_WEIGHT, LINE_WEIGHT = 4, 0.05, 0.15


def scored_strake(pixels: np.ndarray, cards: list[Card], settings: Settings) -> OnStrake:
    """Where the lap runs, by the cards in the photograph; raises as :func:`.with_cards.on_strake`."""
    outlines, edge_at = tuple(sighting.outline_px for sighting, _ in cards), settings.hints.edge_at_px
    return on_strake(
        cards,
        settings,
        course_of=lambda pose: surest_course(pixels, pose, outlines, settings),
        held_to=lambda pose, keel: scored_courses(pixels, pose, outlines, keel, edge_at)[0],
    )


def surest_course(pixels: np.ndarray, pose: FacePose, outlines: tuple[np.ndarray, ...], settings: Settings) -> Course:
    """Where the lap runs: of several courses that it could have, the one along which edge and line are likeliest."""
    courses = scored_courses(pixels, pose, outlines, settings.keel, settings.hints.edge_at_px)
    return surest_of(courses, lambda course: look_by_score(pixels, course, outlines, settings))


def surest_of(courses: Sequence[ScoredCourse], look_of: Callable[[Course], ScoredLook]) -> Course:
    """The course along which edge and line are likeliest, by the look that ``look_of`` takes along each.

    Raises :class:`Refused` ``keel-unclear`` or ``edge-ambiguous`` where two of them are nearly as likely.
    """
    if courses[0].chance > SURE_COURSE:
        return courses[0]
    looks = [look_of(course) for course in courses[:MOST_COURSES]]
    told = np.array(
        [
            np.log(course.chance) + EDGE_WEIGHT * look.marks.edge_evidence + LINE_WEIGHT * look.marks.line_evidence
            for course, look in zip(courses, looks, strict=False)
        ]
    )
    chance = np.exp(told - told.max())
    chance /= chance.sum()
    best = int(chance.argmax())
    # Courses a little apart may lead to one and the same edge.
    sure = float(chance[[_same_edge(looks[best], look) for look in looks]].sum())
    with carried(courses_shown(list(courses))):
        same_way = sum(share for share, one in zip(chance, courses, strict=False) if one.keel == courses[best].keel)
        if same_way < SURE_KEEL:
            raise keel_unclear()
        if sure < SURE_COURSE:
            raise edge_ambiguous()
    return courses[best]


def _same_edge(one: ScoredLook, other: ScoredLook) -> bool:
    """Whether two looks found the same edge."""
    if not np.allclose(one.pose.rotation, other.pose.rotation):
        return False
    at = one.along_mm[one.edge_sure]
    y = [np.interp(at, look.along_mm, look.strip.y_mm(look.along_mm, look.edge_down_mm)) for look in (one, other)]
    return bool(len(at) and np.median(np.abs(y[0] - y[1])) < SAME_EDGE_MM)
