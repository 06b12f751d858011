"""Find the reference the builder named, whatever its kind, and the pose of the face under it."""

from __future__ import annotations

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import WrongCall
from fitcheck.reference.kinds import reference_kind
from fitcheck.reference.sighting import Found


def find_references(
    pixels: np.ndarray, camera: Camera, kind: str, at_px: tuple[tuple[float, float], ...] = ()
) -> Found:
    """Find the reference of this kind in an upright photograph (H, W, 3) BGR, with the camera turned the same way.

    ``at_px`` are places (u, v) where the builder pointed: one on a card, or its four corners, roughly.

    Raises :class:`fitcheck.ground.refusal.Refused` where there is none, and
    :class:`fitcheck.ground.refusal.WrongCall` for an unknown kind, one that no photograph is measured by alone, or one
    that is not pointed at.
    """
    known = reference_kind(kind)
    if at_px:
        if known.pointed is None:
            raise WrongCall(f"--reference-at points at a card; {kind} is found by its own marks")
        return known.pointed(pixels, camera, at_px)
    find = known.find
    if find is None:
        raise WrongCall(f"--reference {kind} does not measure one photograph by itself: lay a card or a rule in it")
    return find(pixels, camera)
