"""Look at the lap with every card in the photograph: one to lie on, more to hold the tilt or to measure the bevel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import carried
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.lap.course.find_course import Course, edge_ambiguous, find_course, find_courses, keel_unclear
from fitcheck.lap.shown import courses_shown
from fitcheck.lap.square_on.square_look import Look, look_along
from fitcheck.reference.card.joint_cards import bevel_between, joint_pose
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Sighting

Card = tuple[Sighting, FacePose]
#: A card whose middle lies this far beyond the edge, toward the sheer, lies on the plank.
ON_PLANK_MM = 8.0
MOST_BEVEL_DEG = 20.0
#: An edge has a sure line where this share of it is surer than that.
SURE_SHARE, SURE_CHANCE = 0.5, 0.95


@dataclass(frozen=True, kw_only=True, eq=False)
class OnStrake:
    """Where a photograph's lap runs, by the cards on its strake.

    ``card_pose`` is that of the card that places are counted from, in the card's own frame; ``used`` are the cards that
    the course's pose rests on. ``settings`` have the bevel as measured, and ``told`` is what is to be said of it.
    """

    course: Course
    card_pose: FacePose
    used: tuple[Sighting, ...]
    settings: Settings
    told: tuple[Reason, ...]


def look_with_cards(pixels: np.ndarray, cards: list[Card], settings: Settings) -> tuple[Look, OnStrake]:
    """The look at the lap and the course that it was taken along; raises as :func:`on_strake`."""
    outlines, edge_at = tuple(sighting.outline_px for sighting, _ in cards), settings.hints.edge_at_px
    found = on_strake(
        cards,
        settings,
        course_of=lambda pose: _course(pixels, pose, outlines, settings),
        held_to=lambda pose, keel: find_course(pixels, pose, outlines, keel, edge_at),
    )
    with carried(courses_shown([found.course])):
        return look_along(pixels, found.course, outlines, found.settings), found


def on_strake(
    cards: list[Card],
    settings: Settings,
    *,
    course_of: Callable[[FacePose], Course],
    held_to: Callable[[FacePose, str], Course],
) -> OnStrake:
    """Where the lap runs, whichever way its course is found.

    ``course_of`` finds the course beside a card with its pose, ``held_to`` the one beside all cards of one plane, with
    the keel where it was found. Raises :class:`Refused` where no card lies on the strake below a lap.
    """
    course, first, others = _on_the_strake(cards, course_of)
    on_plank = [card for card in others if _above_edge(course, card[0])]
    beside = [card for card in others if not _above_edge(course, card[0])]
    told: list[Reason] = []
    used = [first[0]]
    if beside:
        joint = joint_pose(first[1], first[0], [sighting for sighting, _ in beside])
        if joint is None:
            told.append(Reason("cards-no-plane", "The cards do not lie in one plane; only the surest one is used."))
        else:
            course = held_to(joint, course.keel)
            used += [sighting for sighting, _ in beside]
    for _, pose in on_plank[:1]:
        settings, reason = with_measured_bevel(
            settings, *bevel_between(course.pose, pose), "The card on the plank shows"
        )
        told.append(reason)
    return OnStrake(course=course, card_pose=first[1], used=tuple(used), settings=settings, told=tuple(told))


def _on_the_strake(cards: list[Card], course_of: Callable[[FacePose], Course]) -> tuple[Course, Card, list[Card]]:
    """The surest card from which a lap is found, its course, and the other cards."""
    refusals: list[Refused] = []
    for number, card in enumerate(cards):
        try:
            course = course_of(card[1])
        except Refused as refused:
            refusals.append(refused)
            continue
        return course, card, cards[:number] + cards[number + 1 :]
    raise refusals[0]


def _course(pixels: np.ndarray, pose: FacePose, outlines: tuple[np.ndarray, ...], settings: Settings) -> Course:
    """Where the lap runs. Of several courses that it could have it is the one along which a sure line lies.

    That one must be the likeliest on its side of the reference besides: streaks of grain make a lap of sorts too.
    """
    courses = find_courses(pixels, pose, outlines, settings.keel, settings.hints.edge_at_px)
    if len(courses) == 1:
        return courses[0]
    shares = [_sure_share(look_along(pixels, course, outlines, settings)) for course in courses]
    sure = [course for course, share in zip(courses, shares, strict=True) if share > SURE_SHARE]
    if len(sure) == 1 and sure[0] is next(course for course in courses if course.keel == sure[0].keel):
        return sure[0]
    with carried(courses_shown(courses)):
        if len({course.keel for course in courses}) > 1:
            raise keel_unclear()
        if any(share > 0.0 for share in shares):
            raise edge_ambiguous()
    return courses[0]


def _sure_share(look: Look) -> float:
    """Share of the lap in sight along which edge and line are sure."""
    sight = ~look.covered
    sure = (look.line.chance > SURE_CHANCE) & ~look.edge_unclear & ~look.line.at_edge
    return float(sure[sight].mean()) if sight.any() else 0.0


def _above_edge(course: Course, card: Sighting) -> bool:
    x, y = course.pose.face_from_px(card.points_px.mean(axis=0, keepdims=True))[0]
    return bool(y > np.interp(x, course.along_mm, course.y_mm) + ON_PLANK_MM)


def with_measured_bevel(
    settings: Settings, bevel_deg: float, u_bevel_deg: float, shown: str
) -> tuple[Settings, Reason]:
    """The given or usual bevel and the measured one, each by its weight; ``shown`` says by what it was measured."""
    told, u_told = settings.bevel()
    agrees = abs(bevel_deg - told) < 3.0 * np.hypot(u_told, u_bevel_deg)
    if not agrees or bevel_deg > MOST_BEVEL_DEG:
        text = f"{shown} a bevel of {bevel_deg:.1f}°, not {told:g}° as given; it is left out."
        return settings, Reason("bevel-disagrees", text)
    weights = np.array([u_told, u_bevel_deg]) ** -2.0
    both = float((weights * [told, bevel_deg]).sum() / weights.sum())
    u_both = float(weights.sum() ** -0.5)
    text = f"{shown} a bevel of {bevel_deg:.1f}° ± {COVERAGE * u_bevel_deg:.1f}°; {both:.1f}° is used."
    return replace(settings, bevel_deg=both, u_bevel_deg=u_both), Reason("bevel-measured", text)
