"""Look at the lap by the trained score with every card in the photograph: which of the courses it has, and its pose."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import carried
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.course.find_course import Course, edge_ambiguous, keel_unclear
from fitcheck.lap.course.scored_course import ScoredCourse, scored_courses
from fitcheck.lap.shown import courses_shown
from fitcheck.lap.square_on.scored_look import ScoredLook, look_by_score
from fitcheck.lap.square_on.with_cards import ON_PLANK_MM, with_measured_bevel
from fitcheck.reference.card.joint_cards import bevel_between, joint_pose
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Sighting

Card = tuple[Sighting, FacePose]
#: A course with so much of the chance is the lap's; so much is needed for the keel to be told.
SURE_COURSE, SURE_KEEL = 0.97, 0.95
#: Edges nearer each other than this are one.
SAME_EDGE_MM = 1.0
#: At most so many courses are looked along, and what the looks tell of edge and line counts by so much.
MOST_COURSES, EDGE_WEIGHT, LINE_WEIGHT = 4, 0.05, 0.15


@dataclass(frozen=True, kw_only=True, eq=False)
class OnStrake:
    """Where a photograph's lap runs, by the cards on its strake.

    ``card_pose`` is that of the card that places are counted from, in the card's own frame; ``used`` are the cards that
    the course's pose rests on, ``outlines_px`` those of all cards. ``settings`` have the bevel as measured, and
    ``told`` is what is to be said of it.
    """

    course: Course
    card_pose: FacePose
    outlines_px: tuple[np.ndarray, ...]
    used: tuple[Sighting, ...]
    settings: Settings
    told: tuple[Reason, ...]


def look_from_cards(pixels: np.ndarray, cards: list[Card], settings: Settings) -> tuple[ScoredLook, OnStrake]:
    """The look at the lap, and the course that it was taken along; raises as :func:`on_strake`."""
    found = on_strake(pixels, cards, settings)
    with carried(courses_shown([found.course])):
        return look_by_score(pixels, found.course, found.outlines_px, found.settings), found


def on_strake(pixels: np.ndarray, cards: list[Card], settings: Settings) -> OnStrake:
    """Where the lap runs, by the cards in the photograph.

    Raises :class:`Refused` where no card lies on the strake below a lap.
    """
    outlines = tuple(sighting.outline_px for sighting, _ in cards)
    course, first, others = _on_the_strake(pixels, cards, outlines, settings)
    on_plank = [card for card in others if _above_edge(course, card[0])]
    beside = [card for card in others if not _above_edge(course, card[0])]
    told: list[Reason] = []
    used = [first[0]]
    if beside:
        joint = joint_pose(first[1], first[0], [sighting for sighting, _ in beside])
        if joint is None:
            told.append(Reason("cards-no-plane", "The cards do not lie in one plane; only the surest one is used."))
        else:
            course = scored_courses(pixels, joint, outlines, course.keel, settings.hints.edge_at_px)[0]
            used += [sighting for sighting, _ in beside]
    for _, pose in on_plank[:1]:
        settings, reason = with_measured_bevel(
            settings, *bevel_between(course.pose, pose), "The card on the plank shows"
        )
        told.append(reason)
    return OnStrake(
        course=course,
        card_pose=first[1],
        outlines_px=outlines,
        used=tuple(used),
        settings=settings,
        told=tuple(told),
    )


def _on_the_strake(
    pixels: np.ndarray, cards: list[Card], outlines: tuple[np.ndarray, ...], settings: Settings
) -> tuple[Course, Card, list[Card]]:
    """The surest card from which a lap is found, its course, and the other cards."""
    refusals: list[Refused] = []
    for number, card in enumerate(cards):
        try:
            course = surest_course(pixels, card[1], outlines, settings)
        except Refused as refused:
            refusals.append(refused)
            continue
        return course, card, cards[:number] + cards[number + 1 :]
    raise refusals[0]


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


def _above_edge(course: Course, card: Sighting) -> bool:
    x, y = course.pose.face_from_px(card.points_px.mean(axis=0, keepdims=True))[0]
    return bool(y > np.interp(x, course.along_mm, course.y_mm) + ON_PLANK_MM)
