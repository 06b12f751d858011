"""The strip of one look, cut along the course that another look at the same lap found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.lap.course.find_course import Course
from fitcheck.lap.course.scored_course import keel_in_picture
from fitcheck.lap.square_on.registered import shift_down_mm
from fitcheck.lap.square_on.scored_look import Cut, strip_along, strip_on, with_evidence
from fitcheck.reference.pose import FacePose


@dataclass(frozen=True, eq=False)
class Lead:
    """The look that others are laid on: the pose of its card, the course of its lap, its strip."""

    card_pose: FacePose
    course: Course
    cut: Cut


def cut_beside(
    pixels: np.ndarray, card_pose: FacePose, outlines_px: tuple[np.ndarray, ...], lead: Lead, settings: Settings
) -> tuple[Cut, bool]:
    """The strip of a photograph along the lead's course, and whether the strake's grain told how to lay it there.

    ``card_pose`` is that of the same card, not moved, in this photograph.
    """
    course = lead.course
    turn = _turn_between(lead.card_pose, course.pose)
    upright, over = (card_pose.turned(turn, flip=flip) for flip in (False, True))
    # A card looks the same turned by half: the hull lies the same way in all looks.
    pose = upright if keel_in_picture(upright) == course.keel else over
    along = Course(pose, course.keel, course.along_mm, course.y_mm)
    first = lead.cut.strip
    flat, _ = strip_along(pixels, along, outlines_px, settings)
    shift = shift_down_mm(first, flat, float(np.median(np.maximum(lead.cut.odds.width_mm, 0.0))))
    base = first.base_y_mm - (0.0 if shift is None else shift)
    beside = strip_on(pixels, pose, first.along_mm, base, first.down_mm, outlines_px)
    return with_evidence(beside, along, settings), shift is not None


def _turn_between(card: FacePose, course: FacePose) -> float:
    """By how much (radians) the course's frame is turned against the card's own."""
    turned = card.rotation.T @ course.rotation
    return float(np.arctan2(turned[1, 0], turned[0, 0]))
