"""The pose of the strake's face under the reference, with what is not known about it.

Nine numbers are estimated together: the rotation and translation of the face and, held by priors, the focal length and
the centre of the picture, because a phone's lens moves with every focusing. The priors' standard uncertainties, 0.5 %
and 1/300 of the focal length, are our own assumption without a published source. The reference's own size enters as a
tenth, common to all its points.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.reference.sighting import Sighting

PRIOR_FOCAL = 0.005
PRIOR_CENTRE = 1.0 / 300.0
PARAMETERS = ("rotation_x", "rotation_y", "rotation_z", "x_mm", "y_mm", "z_mm", "focal", "centre_u", "centre_v")
MOST_OBLIQUE_DEG = 78.0
#: Planking bends to about this radius and twists by this much in a metre; one standard uncertainty each.
CURVE_RADIUS_MM = 5000.0
TWIST_DEG_PER_M = 2.5


@dataclass(frozen=True)
class FacePose:
    """Where the face lies before the camera.

    ``rotation`` (3, 3) and ``translation_mm`` (3,) are ``camera_from_face``: the face frame has its origin at the
    reference's centre, z out of the face toward the camera. ``covariance`` (9, 9) is that of :data:`PARAMETERS`:
    a small turn (radians, about the face's own axes), the translation, the relative focal length and the centre over
    the focal length.
    It holds the noise of the reference's points, the doubt of its size and of the camera; it does not hold the face
    being curved.
    ``lens`` (3,) is how far this photograph's own focal length and centre, as the fit found them, lie from the
    calibrated ones; ``slack`` (K,) how much of each way that the sighting leaves open the fit took up.
    """

    camera: Camera
    rotation: np.ndarray
    translation_mm: np.ndarray
    covariance: np.ndarray
    lens: np.ndarray
    residual_px: float = 0.0
    slack: np.ndarray = field(default_factory=lambda: np.zeros(0))

    @property
    def tilt_deg(self) -> float:
        """The angle between the line of sight to the reference and the face's normal."""
        toward = -self.translation_mm / np.linalg.norm(self.translation_mm)
        return float(np.degrees(np.arccos(np.clip(self.rotation[:, 2] @ toward, -1.0, 1.0))))

    @property
    def camera_face_mm(self) -> np.ndarray:
        """The camera's centre in the face frame, (3,)."""
        return -self.rotation.T @ self.translation_mm

    def camera_over(self, along_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
        """The camera's centre, (3,) or (3, N), in the frame of the face at places (N,): on a flat face the same for
        all."""
        return self.camera_face_mm

    def places_mm(self, along_mm: np.ndarray) -> np.ndarray:
        """Places (N,) along the plank as far as this pose knows them: those along the face themselves."""
        return np.asarray(along_mm)

    def departs(self, along_mm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """How far (N,) the face may have bent off this pose at places along (N,), in mm, and twisted (N,), in
        radians."""
        off = np.abs(along_mm)
        return off**2 / (2.0 * CURVE_RADIUS_MM), np.radians(TWIST_DEG_PER_M) * off / 1000.0

    def directions(self, points_px: np.ndarray) -> np.ndarray:
        """Directions (N, 3) in the face frame of the lines of sight through (N, 2) pixels."""
        return self.perturbed(np.zeros(9)).sight(self.seen(points_px))[1]

    def seen(self, points_px: np.ndarray) -> np.ndarray:
        """Undistorted normalised points (N, 2) of pixels (N, 2), by the camera as calibrated."""
        return np.asarray(self.camera.undistort(np.asarray(points_px, float).reshape(-1, 2)))

    def face_from_px(self, points_px: np.ndarray, height_mm: float = 0.0) -> np.ndarray:
        """Places (N, 2) in mm on the plane ``height_mm`` above the face, seen at pixels (N, 2)."""
        centre, toward = self.camera_face_mm, self.directions(points_px)
        return centre[:2] + toward[:, :2] * ((height_mm - centre[2]) / toward[:, 2:])

    def px_from_face(self, points_mm: np.ndarray) -> np.ndarray:
        """Pixels (N, 2) of points (N, 3) in the face frame."""
        points = np.asarray(points_mm, float).reshape(-1, 3)
        at = points @ self.rotation.T + self.translation_mm
        aim = at[:, :2] / at[:, 2:] * (1.0 + self.lens[0]) + self.lens[1:]
        return np.asarray(self.camera.project(np.column_stack([aim, np.ones(len(aim))])))

    def turned(self, angle_rad: float, flip: bool = False) -> FacePose:
        """The same pose with the face's x axis turned by ``angle_rad`` toward y, then by half a turn if ``flip``."""
        angle = angle_rad + (np.pi if flip else 0.0)
        c, s = np.cos(angle), np.sin(angle)
        new_from_old = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
        change = np.eye(9)
        change[:3, :3] = new_from_old
        return replace(self, rotation=self.rotation @ new_from_old.T, covariance=change @ self.covariance @ change.T)

    def perturbed(self, change: np.ndarray) -> PerturbedPose:
        """The pose with :data:`PARAMETERS` changed by ``change`` (9,)."""
        return PerturbedPose(self, np.asarray(change, float))


@dataclass(frozen=True)
class PerturbedPose:
    """A pose a small step away, for propagating its uncertainty: only lines of sight are needed of it."""

    base: FacePose
    change: np.ndarray

    def sight(self, seen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Camera centre (3,) and directions (N, 3) in the face frame for undistorted normalised points (N, 2)."""
        rotation = self.base.rotation @ small_turn(self.change[:3])
        translation = self.base.translation_mm + self.change[3:6]
        lens = self.base.lens + self.change[6:9]
        rays = np.column_stack([(seen - lens[1:]) / (1.0 + lens[0]), np.ones(len(seen))])
        return -rotation.T @ translation, rays @ rotation


def small_turn(turn_rad: np.ndarray) -> np.ndarray:
    """The rotation matrix (3, 3) of a turn vector (3,) in radians."""
    return np.asarray(cv2.Rodrigues(np.asarray(turn_rad, float).reshape(3, 1))[0])


def solve_pose(sighting: Sighting, camera: Camera) -> FacePose:
    """The pose of the face under one reference.

    Both solutions that a flat reference allows are refined and the better kept (Collins and Bartoli 2014, then
    Levenberg-Marquardt). Raises :class:`Refused` ``reference-oblique`` where the reference is seen so slantwise that
    its pose means nothing, ``reference-unclear`` where no pose fits.
    """
    points, pixels = sighting.points_mm, sighting.points_px
    level = float(points[:, 2].mean())
    flat = np.column_stack([points[:, :2], points[:, 2] - level])
    seen = camera.undistort(pixels)
    starts = _planar_starts(flat, seen)
    poses = [_refine(start, sighting, seen, camera, level) for start in starts]
    if not poses:
        raise Refused(
            "reference-unclear",
            "No pose of the reference fits its outline. Lay it flat on the strake and photograph again.",
        )
    pose = min(poses, key=lambda found: found.residual_px)
    if pose.tilt_deg > MOST_OBLIQUE_DEG:
        raise Refused(
            "reference-oblique",
            f"The reference is seen {pose.tilt_deg:.0f}° off square; too slantwise to measure by. "
            "Photograph it more squarely.",
        )
    return pose


def _planar_starts(flat_mm: np.ndarray, seen: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    _, turns, shifts, _ = cv2.solvePnPGeneric(flat_mm, seen.reshape(-1, 1, 2), np.eye(3), None, flags=cv2.SOLVEPNP_IPPE)
    starts = [(cv2.Rodrigues(turn)[0], shift.ravel()) for turn, shift in zip(turns, shifts, strict=True)]
    return [
        (rotation, shift)
        for rotation, shift in starts
        if np.isfinite(rotation).all() and np.isfinite(shift).all() and shift[2] > 0
    ]


def _refine(
    start: tuple[np.ndarray, np.ndarray], sighting: Sighting, seen: np.ndarray, camera: Camera, level_mm: float
) -> FacePose:
    from scipy.optimize import least_squares

    rotation, shift = start
    # The solver placed the reference's own level at zero; the face lies ``level_mm`` behind it.
    shift = shift - rotation[:, 2] * level_mm
    focal_px = float(camera.matrix[0, 0] + camera.matrix[1, 1]) / 2.0
    prior = np.array([PRIOR_FOCAL, PRIOR_CENTRE, PRIOR_CENTRE])
    weight = focal_px / sighting.u_px[:, None]
    slack_px = np.zeros((0, *seen.shape)) if sighting.slack_px is None else sighting.slack_px

    def misfit(change: np.ndarray) -> np.ndarray:
        at = sighting.points_mm @ (rotation @ small_turn(change[:3])).T + shift + change[3:6]
        aim = at[:, :2] / at[:, 2:] * (1.0 + change[6]) + change[7:9]
        left = (aim - seen) * weight + np.tensordot(change[9:], slack_px, axes=1) / sighting.u_px[:, None]
        return np.concatenate([left.ravel(), change[6:9] / prior, change[9:]])

    scale = np.array([0.01, 0.01, 0.01, 1.0, 1.0, 1.0, *prior, *np.ones(len(slack_px))])
    found = least_squares(misfit, np.zeros(9 + len(slack_px)), x_scale=scale, method="lm")
    corners = found.fun[: 2 * len(seen)]
    fit_px = corners.reshape(-1, 2) * sighting.u_px[:, None]
    excess = float((corners**2).sum()) / max(1, 2 * len(seen) - 6)
    slopes = np.asarray(found.jac)
    covariance = np.linalg.inv(slopes.T @ slopes)[:9, :9] * max(1.0, excess)
    covariance = (covariance + covariance.T) / 2.0
    shift = shift + found.x[3:6]
    covariance[3:6, 3:6] += sighting.u_scale**2 * np.outer(shift, shift)
    residual_px = float(np.sqrt((fit_px**2).sum(axis=1).mean()))
    turned = rotation @ small_turn(found.x[:3])
    return FacePose(camera, turned, shift, covariance, found.x[6:9], residual_px, found.x[9:])
