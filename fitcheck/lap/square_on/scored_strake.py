"""Which of the courses that a photograph's lap could have it has, by what is seen of edge and line along each."""

from __future__ import annotations

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import carried
from fitcheck.ground.refusal import Refused
from fitcheck.lap.course.find_course import edge_ambiguous, keel_unclear
from fitcheck.lap.course.scored_course import scored_courses
from fitcheck.lap.shown import courses_shown
from fitcheck.lap.square_on.scored_look import ScoredLook, look_by_score
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Sighting

#: A course with so much of the chance is the lap's; so much is needed for the keel to be told.
SURE_COURSE, SURE_KEEL = 0.97, 0.95
#: Edges nearer each other than this are one.
SAME_EDGE_MM = 1.0
#: At most so many courses are looked along, and what the looks tell of edge and line counts by so much.
MOST_COURSES, EDGE_WEIGHT, LINE_WEIGHT = 4, 0.05, 0.15


def look_from_cards(
    pixels: np.ndarray, cards: list[tuple[Sighting, FacePose]], settings: Settings
) -> tuple[ScoredLook, Sighting]:
    """The look at the lap from the surest card beside which one is found, and that card.

    Raises :class:`Refused` where no card lies by a lap.
    """
    outlines = tuple(sighting.outline_px for sighting, _ in cards)
    refusals: list[Refused] = []
    for sighting, pose in cards:
        try:
            return surest_look(pixels, pose, outlines, settings), sighting
        except Refused as refused:
            refusals.append(refused)
    raise refusals[0]


def surest_look(pixels: np.ndarray, pose: FacePose, outlines: tuple[np.ndarray, ...], settings: Settings) -> ScoredLook:
    """The look along the course by which edge and line are likeliest, of all that the lap could have."""
    courses = scored_courses(pixels, pose, outlines, settings.keel)
    if courses[0].chance > SURE_COURSE:
        return look_by_score(pixels, courses[0], outlines, settings)
    looks = [look_by_score(pixels, course, outlines, settings) for course in courses[:MOST_COURSES]]
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
    with carried(courses_shown(courses)):
        same_way = sum(share for share, one in zip(chance, courses, strict=False) if one.keel == courses[best].keel)
        if same_way < SURE_KEEL:
            raise keel_unclear()
        if sure < SURE_COURSE:
            raise edge_ambiguous()
    return looks[best]


def _same_edge(one: ScoredLook, other: ScoredLook) -> bool:
    """Whether two looks found the same edge."""
    if not np.allclose(one.pose.rotation, other.pose.rotation):
        return False
    at = one.along_mm[one.edge_sure]
    y = [np.interp(at, look.along_mm, look.strip.y_mm(look.along_mm, look.edge_down_mm)) for look in (one, other)]
    return bool(len(at) and np.median(np.abs(y[0] - y[1])) < SAME_EDGE_MM)
