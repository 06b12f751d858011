"""The pose of a curved face: a :class:`fitcheck.reference.pose.FacePose` on the laid-out face of a bending hull.

Everything that looks at a lap works in the face's own x and y, in mm along the wood; here these are laid out from
the hull's shape, so the strip comes out straight and true to scale over the whole photograph.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fitcheck.plank.joint.hull_shape import Shape, place_on
from fitcheck.reference.pose import FacePose, PerturbedPose, small_turn

ROUNDS = 3
#: A line of sight that runs almost along the face, or past it, is followed no further than this at a time.
LEAST_SLANT, MOST_STEP_MM = -0.02, 500.0


@dataclass(frozen=True, kw_only=True)
class CurvedPose(FacePose):
    """Where a curved face lies before the camera.

    The face frame has its origin at ``origin_mm`` (s, w) on the laid-out ``shape``, its x axis turned by ``turn_rad``
    from s toward w; ``rotation`` and ``translation_mm`` are those of the face just there. ``covariance`` has, after the
    nine of the pose, the shape's bends and twists at its knots.
    """

    shape: Shape
    origin_mm: np.ndarray
    turn_rad: float = 0.0

    def turned(self, angle_rad: float, flip: bool = False) -> CurvedPose:
        """As :meth:`FacePose.turned`; the shape stays."""
        angle = angle_rad + (np.pi if flip else 0.0)
        turn = _about_z(angle)
        change = np.eye(len(self.covariance))
        change[:3, :3] = turn.T
        covariance = change @ self.covariance @ change.T
        return replace(self, rotation=self.rotation @ turn, covariance=covariance, turn_rad=self.turn_rad + angle)

    def px_from_face(self, points_mm: np.ndarray) -> np.ndarray:
        """Pixels (N, 2) of points (N, 3) on the laid-out face."""
        points = np.asarray(points_mm, float).reshape(-1, 3)
        laid = np.column_stack([self.plank_from_face(points[:, :2]), points[:, 2]])
        centre, axes = self._here()
        return super().px_from_face((place_on(self.shape, laid) - centre) @ axes)

    def face_from_px(self, points_px: np.ndarray, height_mm: float = 0.0) -> np.ndarray:
        """Places (N, 2) on the laid-out face, or ``height_mm`` above it, seen at pixels (N, 2)."""
        camera, toward = self.perturbed(np.zeros(len(self.covariance))).sight(self.seen(points_px))
        reach = (height_mm - camera[2]) / toward[:, 2]
        return np.column_stack([camera[0] + toward[:, 0] * reach, camera[1] + toward[:, 1] * reach])

    def directions(self, points_px: np.ndarray) -> np.ndarray:
        """Directions (N, 3) of the lines of sight, each in the frame of the face where it meets it."""
        return self.perturbed(np.zeros(len(self.covariance))).sight(self.seen(points_px))[1]

    def camera_over(self, along_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
        """The camera's centre (3, N) as the face at each place would have it if it went on flat from there."""
        laid = self.plank_from_face(np.column_stack([along_mm, y_mm]))
        centre, axes = self._here()
        camera = centre + axes @ self.camera_face_mm
        there, sides = self.shape.frames(laid[:, 0])
        from_there = np.einsum("ni,nij->nj", camera - there, sides)
        from_there[:, 0] += laid[:, 0]
        return self._from_plank(from_there).T

    def departs(self, along_mm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Nothing: the bends and twists of the shape and their doubts are in the covariance."""
        return np.zeros(len(along_mm)), np.zeros(len(along_mm))

    def places_mm(self, along_mm: np.ndarray) -> np.ndarray:
        """Places s (N,) on the laid-out face, 0 at the lowest card."""
        return self.plank_from_face(np.column_stack([along_mm, np.zeros(np.shape(along_mm))]))[:, 0]

    def perturbed(self, change: np.ndarray) -> PerturbedCurve:
        """The pose with its numbers changed by ``change``."""
        return PerturbedCurve(self, np.asarray(change, float))

    def plank_from_face(self, points_mm: np.ndarray) -> np.ndarray:
        """Places (N, 2) as s and w of places (N, 2) in this face frame."""
        return np.asarray(self.origin_mm + points_mm @ _about_z(self.turn_rad)[:2, :2].T)

    def face_from_plank(self, points_mm: np.ndarray) -> np.ndarray:
        """Places (N, 2) in this face frame of places (N, 2) as s and w."""
        return np.asarray((points_mm - self.origin_mm) @ _about_z(self.turn_rad)[:2, :2])

    def _from_plank(self, points_mm: np.ndarray) -> np.ndarray:
        """Points (N, 3) in this face frame of points (N, 3) as s, w, z."""
        return np.asarray((points_mm - [*self.origin_mm, 0.0]) @ _about_z(self.turn_rad))

    def _here(self) -> tuple[np.ndarray, np.ndarray]:
        """The face frame's origin (3,) and axes (3, 3) in the shape's one frame."""
        centre, axes = self.shape.frames(self.origin_mm[:1])
        return centre[0] + self.origin_mm[1] * axes[0][:, 1], axes[0] @ _about_z(self.turn_rad)


@dataclass(frozen=True)
class PerturbedCurve(PerturbedPose):
    """A curved pose a small step away."""

    base: CurvedPose

    def sight(self, seen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Camera centre (3, N) and directions (N, 3), in the frames of the face where the lines of sight meet it."""
        base, knots = self.base, len(self.base.shape.knots_mm)
        rotation = base.rotation @ small_turn(self.change[:3])
        lens = base.lens + self.change[6:9]
        rays = np.column_stack([(seen - lens[1:]) / (1.0 + lens[0]), np.ones(len(seen))]) @ rotation
        shape = base.shape.changed(self.change[9 : 9 + knots], self.change[9 + knots :])
        here, axes = replace(base, shape=shape)._here()
        camera = here + axes @ (-rotation.T @ (base.translation_mm + self.change[3:6]))
        rays = rays @ axes.T
        s = np.full(len(seen), base.origin_mm[0])
        for last in (*[False] * ROUNDS, True):
            centre, axes = shape.frames(s)
            from_here, toward = np.einsum("ni,nij->nj", camera - centre, axes), np.einsum("ni,nij->nj", rays, axes)
            from_here[:, 0] += s
            if not last:
                reach = from_here[:, 2] / np.minimum(toward[:, 2], LEAST_SLANT)
                s = s + np.clip(from_here[:, 0] - s - toward[:, 0] * reach, -MOST_STEP_MM, MOST_STEP_MM)
        return base._from_plank(from_here).T, toward @ _about_z(base.turn_rad)


def _about_z(angle_rad: float) -> np.ndarray:
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
