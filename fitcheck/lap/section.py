"""The cross-section of a lap, and what the camera sees of it.

In the face frame (y toward the sheer, z toward the camera) the lap line lies at (y_line, 0). The lap's plane falls
away from it toward the sheer by the bevel b: direction (cos b, -sin b), normal (sin b, cos b). The plank's inner
corner stands on that plane, its outer corner ``thickness`` above it along the normal. A corner of the edge seen at a
pixel
is found where the line of sight meets the plane at that corner's height over the lap's plane.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.contract.gain import U_GAIN_MM, GainShape, step_mm
from fitcheck.reference.pose import FacePose


@dataclass(frozen=True)
class Section:
    """The plank's section at the lap: thickness, bevel and the width of the chamfer on its outer corner.

    An outer corner is eased by nothing to 0.4 mm; the middle of that is assumed and the rest carried as doubt.
    ``gains`` are where the step runs out to flush, in the frame of the pose's places. ``eased_mm`` is how far the inner
    corner is eased; None where nobody said.
    """

    thickness_mm: float
    bevel_rad: float
    chamfer_mm: float = 0.2
    gains: tuple[GainShape, ...] = ()
    eased_mm: float | None = None

    @property
    def normal(self) -> np.ndarray:
        """Unit normal (y, z) of the lap's plane."""
        return np.array([np.sin(self.bevel_rad), np.cos(self.bevel_rad)])

    @property
    def inward(self) -> np.ndarray:
        """Unit direction (y, z) in the lap's plane toward the sheer."""
        return np.array([np.cos(self.bevel_rad), -np.sin(self.bevel_rad)])

    def step_mm(self, pose: FacePose, along_mm: np.ndarray) -> np.ndarray:
        """Height (N,) of the step at places along (N,) in the frame of ``pose``."""
        return step_mm(self.thickness_mm, self.gains, pose.places_mm(along_mm))

    def higher(self, u_thickness_mm: float) -> Section:
        """The section with its step higher by its standard uncertainty: the thickness's, and in a gain the gain's."""
        gains = tuple(gain.higher(U_GAIN_MM) for gain in self.gains)
        return replace(self, thickness_mm=self.thickness_mm + u_thickness_mm, gains=gains)


def apparent_y(
    camera_mm: np.ndarray, x_mm: np.ndarray, y_mm: np.ndarray, z_mm: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Where (x, y) on the face's plane a point (x, y, z) seems to lie from the camera's centre (3,)."""
    shrink = camera_mm[2] / (camera_mm[2] - z_mm)
    return camera_mm[0] + (x_mm - camera_mm[0]) * shrink, camera_mm[1] + (y_mm - camera_mm[1]) * shrink


def corner_shift_mm(
    pose: FacePose, section: Section, along_mm: np.ndarray, y_mm: np.ndarray, *, chamfer_end: str
) -> np.ndarray:
    """How far toward the sheer of the inner corner the outer corner is seen, in mm on the face's plane.

    ``chamfer_end`` says which end of the eased outer corner is meant: "face" or "edge". Positive where the edge face
    is in sight, negative where the plank hides its own inner corner.
    """
    step = section.step_mm(pose, along_mm)
    # A step that has run out has no corner left to ease.
    chamfer = np.minimum(section.chamfer_mm, step)
    rise, run = (step, chamfer) if chamfer_end == "face" else (step - chamfer, np.zeros_like(step))
    across, out = (rise * section.normal[axis] + run * section.inward[axis] for axis in (0, 1))
    camera = pose.camera_over(along_mm, y_mm)
    return apparent_y(camera, along_mm, y_mm + across, out)[1] - y_mm


def past_of_corner(
    camera_mm: np.ndarray,
    toward: np.ndarray,
    line_y_at: Callable[[np.ndarray], np.ndarray],
    section: Section,
    rise_mm: float | np.ndarray,
    run_mm: float = 0.0,
) -> tuple[np.ndarray, np.ndarray]:
    """Places along (N,) and past-the-line values (N,) of a corner of the edge seen along directions ``toward`` (N, 3).

    ``rise_mm`` (a number, or one a place, (N,)) is the corner's height over the lap's plane, ``run_mm`` how far it
    stands toward the sheer of the edge itself. ``line_y_at`` gives the lap line's y at places along. The line is read
    where the corner stands, not where it is seen: off to the side of a photograph the two differ by most of the
    thickness.
    """
    normal, inward = section.normal, section.inward
    along = camera_mm[0] - toward[:, 0] * camera_mm[2] / toward[:, 2]
    for _ in range(3):
        line_y = line_y_at(along)
        over = (camera_mm[1] - line_y) * normal[0] + camera_mm[2] * normal[1]
        reach = (rise_mm - over) / (toward[:, 1] * normal[0] + toward[:, 2] * normal[1])
        along = camera_mm[0] + toward[:, 0] * reach
        y, z = camera_mm[1] + toward[:, 1] * reach, camera_mm[2] + toward[:, 2] * reach
    inboard = (y - line_y) * inward[0] + z * inward[1] - run_mm
    return along, -inboard
