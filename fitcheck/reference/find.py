"""Find the reference the builder named, whatever its kind, and the pose of the face under it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Reason
from fitcheck.reference.card.card import all_cards
from fitcheck.reference.kinds import card_kind
from fitcheck.reference.pose import FacePose, solve_pose
from fitcheck.reference.sighting import Sighting

#: What a flag of a rule means to the builder.
TOLD = {
    "origin-from-what-is-seen": "The middle of the rule's scale cannot be told; "
    "places count from the middle of what is seen of it.",
    "width-not-seen": "Only one long edge of the rule is in sight; its tilt is held by its marks alone.",
}


@dataclass(frozen=True)
class Found:
    """The references found in a photograph, the surest first, each with the pose of the face under it."""

    references: tuple[tuple[Sighting, FacePose], ...]
    warnings: tuple[Reason, ...] = ()

    @property
    def sightings(self) -> tuple[Sighting, ...]:
        """The references alone."""
        return tuple(sighting for sighting, _ in self.references)

    @property
    def pose(self) -> FacePose:
        """The pose of the face under the surest."""
        return self.references[0][1]


def find_references(pixels: np.ndarray, camera: Camera, kind: str) -> Found:
    """Find the reference of this kind in an upright photograph (H, W, 3) BGR, with the camera turned the same way.

    Raises :class:`fitcheck.ground.refusal.Refused` where there is none, and
    :class:`fitcheck.ground.refusal.WrongCall` for an unknown kind.
    """
    card = card_kind(kind)
    if card is not None:
        return Found(tuple(all_cards(pixels, camera, card)))
    from fitcheck.reference.rule.rule import find_rule

    sighting = find_rule(pixels, camera, kind)
    warnings = tuple(Reason(flag, TOLD[flag]) for flag in sighting.flags if flag in TOLD)
    return Found(((sighting, solve_pose(sighting, camera)),), warnings)
