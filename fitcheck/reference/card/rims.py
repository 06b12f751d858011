"""Which rim of a card its near sides show: the upper one, or the lower one, its own thickness further out.

A card's side that faces the camera shows the card's thickness. Where that narrow face is as light as the card, the
step of light lies at its lower rim, on the wood; where it is as light as the wood, at the upper rim; else between. At
65 degrees off square the two lie 1.6 mm apart on the wood, a thirtieth of the card. So how far out a near side is
seen is left open, and the pose, which knows the card's shape, settles it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Sighting

#: Share of the way from the upper to the lower rim at which a near side is seen, and its standard uncertainty: anywhere
#: between them, rather at one of them.
SHARE, U_SHARE = 0.5, 0.45
#: Rims nearer together than this in the picture need no telling apart.
LEAST_APART_PX = 0.05


def rims_left_open(sighting: Sighting, pose: FacePose) -> Sighting:
    """The card with its near sides drawn in halfway to the upper rim, the rest left open; ``pose`` is its rough pose.

    ``sighting`` has its points at the card's upper rim (x, y of the four corners in order, z the thickness).
    """
    ways = [way for side in range(4) if (way := _between_rims(sighting, pose, side)) is not None]
    if not ways:
        return sighting
    slack = np.array(ways)
    return replace(sighting, points_px=sighting.points_px - SHARE * slack.sum(axis=0), slack_px=U_SHARE * slack)


def settled(sighting: Sighting, pose: FacePose) -> Sighting:
    """The card's upper rim as ``pose``, which was solved from it, settled it."""
    if sighting.slack_px is None:
        return sighting
    moved = np.tensordot(pose.slack, sighting.slack_px, axes=1)
    return replace(sighting, points_px=sighting.points_px - moved, slack_px=None)


def _between_rims(sighting: Sighting, pose: FacePose, side: int) -> np.ndarray | None:
    """How the corners (4, 2) px move as one side goes from its upper to its lower rim; None if it faces away."""
    ends = [side, (side + 1) % 4]
    upper = sighting.points_mm[ends]
    middle = upper.mean(axis=0)
    if middle[:2] @ (pose.camera_face_mm - middle)[:2] <= 0.0:
        return None
    apart = pose.px_from_face(upper * (1.0, 1.0, 0.0)) - pose.px_from_face(upper)
    corners = sighting.points_px
    along = np.roll(corners, -1, axis=0) - corners
    normal = np.array([-along[side][1], along[side][0]]) / np.linalg.norm(along[side])
    if np.abs(apart @ normal).max() < LEAST_APART_PX:
        return None
    moved = np.zeros((4, 2))
    # A corner slides along the side that stays.
    for end, stays, off in zip(ends, (side - 1, (side + 1) % 4), apart, strict=True):
        moved[end] = along[stays] * (off @ normal) / (along[stays] @ normal)
    return moved
