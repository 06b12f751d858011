"""References found in a photograph: their points in mm and where they were seen in pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitcheck.ground.refusal import Reason

if TYPE_CHECKING:
    import numpy as np

    from fitcheck.reference.pose import FacePose


@dataclass(frozen=True)
class Sighting:
    """A reference of known length as seen in one photograph.

    ``points_mm`` (N, 3) are in the reference's own frame: origin at its centre, x along its long side (or its scale),
    y to its
    left-hand side when looking along +x from above, z out of the face toward the camera, so that z is the height of
    the point above the face the reference lies on. ``points_px`` (N, 2) are (u, v) at full size in the picture as a
    person sees it. ``u_px`` (N,) is the standard uncertainty of each point per axis; ``u_scale`` the relative
    standard uncertainty of the reference's size, common to all its points. ``outline_px`` (M, 2) is what to draw and
    to mask.
    ``number`` is the station card's number. ``slack_px`` (K, N, 2), if any, are K ways in which all points together may
    have been seen elsewhere, each by one standard uncertainty: where a near side shows the card's thickness, its upper
    or its lower rim may be what was seen.
    """

    kind: str
    points_mm: np.ndarray
    points_px: np.ndarray
    u_px: np.ndarray
    u_scale: float
    outline_px: np.ndarray
    number: int | None = None
    flags: tuple[str, ...] = ()
    slack_px: np.ndarray | None = None


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
