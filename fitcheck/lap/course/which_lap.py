"""Which of the long boundaries in the picture could be the lap's, and on which side of the reference it lies."""

from __future__ import annotations

import numpy as np

from fitcheck.ground.refusal import Refused
from fitcheck.lap.course.boundaries import Boundary
from fitcheck.reference.pose import FacePose

LEAST_STRENGTH = 3.0
LEAST_OFF_MM, MOST_OFF_MM = 12.0, 160.0
NEAR_MM = 60.0
#: Another boundary this like the lap, and so far from it that no edge and its shadow are meant, could be it as well.
RIVAL_SHARE, APART_MM, MOST_RIVALS = 0.6, 10.0, 4
#: The crease on the far side of the edge: the reference then lies on the plank that stands proud.
FAR_CREASE = -0.08


def likely_laps(found: list[Boundary], pose: FacePose, keel: str) -> list[Boundary]:
    """The boundaries that could be the lap's, likeliest first; more than one where they are much alike.

    The lap's boundary stands proud of the reference's side, so the wood there darkens into the corner; the strake's
    own lower edge does the opposite. What lies along a boundary is no help: a line beside a streak of grain makes no
    lap. ``keel`` is "down", "up" or "auto", the way the hull lies in the picture.
    Raises :class:`Refused` where no boundary stands out, or the reference lies on the plank.
    """
    near = [one for one in found if LEAST_OFF_MM < abs(one.off_mm) < MOST_OFF_MM and one.strength > LEAST_STRENGTH]
    if keel != "auto":
        near = [one for one in near if keel_of(one, pose) == keel]
    if not near:
        raise Refused(
            "no-edge",
            "No plank edge is in sight near the reference. Lay the reference on the strake below, "
            "2 to 10 cm from the edge.",
        )
    ranked = sorted(near, key=_likeness, reverse=True)
    likely = ranked[:1]
    for one in ranked[1:]:
        alike = _likeness(one) > RIVAL_SHARE * _likeness(ranked[0])
        if alike and all(abs(one.off_mm - other.off_mm) > APART_MM for other in likely):
            likely.append(one)
    if keel == "auto" and len({keel_of(one, pose) for one in likely}) == 1 and likely[0].crease < FAR_CREASE:
        raise Refused(
            "reference-on-plank",
            "The reference seems to lie on the plank itself, not on the strake below. "
            "Lay it on the strake below the lap.",
        )
    return likely[:MOST_RIVALS]


def keel_of(lap: Boundary, pose: FacePose) -> str:
    """How the hull lies in the picture, "down" or "up", if this boundary is the lap's."""
    return "down" if (lap.off_mm > 0) == _y_is_up(pose) else "up"


def _likeness(one: Boundary) -> float:
    """Strong, with a crease on the reference's side, wood beyond, and near: the reference lies by the lap."""
    wood = min(max((one.grain - 1.0) / 1.5, 0.1), 1.0)
    return float(one.strength**2 * (0.3 + min(max(one.crease, 0.0), 0.3)) * wood * np.exp(-abs(one.off_mm) / NEAR_MM))


def _y_is_up(pose: FacePose) -> bool:
    ends = pose.px_from_face(np.array([[0.0, 0.0, 0.0], [0.0, 20.0, 0.0]]))
    return bool(ends[1, 1] < ends[0, 1])
