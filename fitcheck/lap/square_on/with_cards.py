"""Look at the lap with every card in the photograph: one to lie on, more to hold the tilt or to measure the bevel."""

from __future__ import annotations

from dataclasses import replace

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


def look_with_cards(
    pixels: np.ndarray, cards: list[Card], settings: Settings
) -> tuple[Look, list[Sighting], Settings, list[Reason]]:
    """The look, the cards it rests on, the settings with the bevel as measured, and what is to be said of it.

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
            course = find_course(pixels, joint, outlines, course.keel, settings.hints.edge_at_px)
            used += [sighting for sighting, _ in beside]
    for _, pose in on_plank[:1]:
        settings, reason = with_measured_bevel(
            settings, *bevel_between(course.pose, pose), "The card on the plank shows"
        )
        told.append(reason)
    with carried(courses_shown([course])):
        return look_along(pixels, course, outlines, settings), used, settings, told


def _on_the_strake(
    pixels: np.ndarray, cards: list[Card], outlines: tuple[np.ndarray, ...], settings: Settings
) -> tuple[Course, Card, list[Card]]:
    """The surest card from which a lap is found, its course, and the other cards."""
    refusals: list[Refused] = []
    for number, card in enumerate(cards):
        try:
            course = _course(pixels, card[1], outlines, settings)
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
