"""A reference found in a photograph: its points in mm and where they were seen in pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


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
    ``number`` is the station card's number.
    """

    kind: str
    points_mm: np.ndarray
    points_px: np.ndarray
    u_px: np.ndarray
    u_scale: float
    outline_px: np.ndarray
    number: int | None = None
    flags: tuple[str, ...] = ()
