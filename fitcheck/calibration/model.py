"""The camera: how it throws points in front of it onto its pixels.

The model is the pinhole with the radial and tangential distortion of D. C. Brown (1966), in OpenCV's order
k1 k2 p1 p2 k3. Integers are pixel centres. A camera file describes the pixels as stored; :meth:`Camera.turned`
turns it with the picture.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.picture.identity import UNKNOWN_CAMERA, CameraIdentity
from fitcheck.picture.orientation import turned_size, upright_from_stored

#: The order of the rows of a camera's covariance.
PARAMETERS = ("fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2", "k3")


@dataclass(frozen=True, eq=False)
class Camera:
    """A calibrated camera.

    ``matrix`` (3, 3) in pixels; ``distortion`` (5,) k1 k2 p1 p2 k3; ``size_px`` (w, h) of the pixels it describes.
    ``covariance`` (9, 9) of (fx, fy, cx, cy, k1, k2, p1, p2, k3), or None where the file has none: it holds the noise
    of the corners and the spread between corner finders, and not the camera's refocusing from shot to shot.
    ``quality`` are the figures of the calibration, ``inputs`` the photographs it was made from.

    >>> camera = Camera(np.array([[800.0, 0, 330], [0, 800, 236], [0, 0, 1]]), np.zeros(5), (640, 480))
    >>> camera.project(np.array([[0.1, 0.0, 1.0]])).round(6).tolist()
    [[410.0, 236.0]]
    """

    matrix: np.ndarray
    distortion: np.ndarray
    size_px: tuple[int, int]
    covariance: np.ndarray | None = None
    identity: CameraIdentity = UNKNOWN_CAMERA
    quality: Mapping[str, Any] = field(default_factory=dict)
    inputs: tuple[Mapping[str, Any], ...] = ()
    path: Path | None = None
    digest: str | None = None

    def parameters(self) -> np.ndarray:
        """The nine numbers of :data:`PARAMETERS`, (9,)."""
        matrix = self.matrix
        return np.array([matrix[0, 0], matrix[1, 1], matrix[0, 2], matrix[1, 2], *self.distortion])

    def with_parameters(self, parameters: np.ndarray) -> Camera:
        """This camera with other values of :data:`PARAMETERS` (9,): a draw from its covariance, or another focus."""
        fx, fy, cx, cy = parameters[:4]
        matrix = np.array([[fx, 0.0, cx], [0.0, fy, cy], [0.0, 0.0, 1.0]])
        return replace(self, matrix=matrix, distortion=np.array(parameters[4:9], float))

    def undistort(self, points_px: np.ndarray) -> np.ndarray:
        """Directions (N, 2) as (x/z, y/z) in the camera frame, from pixels (N, 2)."""
        points = np.ascontiguousarray(points_px, float).reshape(-1, 1, 2)
        if not len(points):
            return np.empty((0, 2))
        stop = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 100, 1e-12)
        return cv2.undistortPoints(points, self.matrix, self.distortion, criteria=stop).reshape(-1, 2)

    def project(self, points_camera: np.ndarray) -> np.ndarray:
        """Pixels (N, 2) of points (N, 3) in the camera frame; they must lie in front of the camera."""
        points = np.ascontiguousarray(points_camera, float).reshape(-1, 1, 3)
        if not len(points):
            return np.empty((0, 2))
        still = np.zeros(3)
        return cv2.projectPoints(points, still, still, self.matrix, self.distortion)[0].reshape(-1, 2)

    def turned(self, orientation: int) -> Camera:
        """The camera of the picture turned upright from the stored pixels by EXIF ``orientation`` (1 to 8).

        The camera frame turns with it: x and y by the same quarter turns or mirror as the pixels, z stays.
        """
        directions, shift_px = upright_from_stored(orientation, self.size_px)
        turn = np.abs(directions)
        matrix = np.eye(3)
        matrix[[0, 1], [0, 1]] = turn @ np.diag(self.matrix)[:2]
        matrix[:2, 2] = directions @ self.matrix[:2, 2] + shift_px
        # (p2, p1) is a vector in the picture and turns as one; the radial terms do not feel a turn.
        p1_p2 = (directions @ self.distortion[[3, 2]])[::-1]
        k1, k2, _, _, k3 = self.distortion
        change = np.zeros((9, 9))
        change[:2, :2], change[2:4, 2:4] = turn, directions
        change[6:8, 6:8] = directions[::-1, ::-1]
        change[[4, 5, 8], [4, 5, 8]] = 1.0
        return replace(
            self,
            matrix=matrix,
            distortion=np.array([k1, k2, *p1_p2, k3]),
            size_px=turned_size(self.size_px, orientation),
            covariance=None if self.covariance is None else change @ self.covariance @ change.T,
        )

    def as_json(self) -> dict[str, Any]:
        """What a measurement tells of the camera it was made with."""
        return {
            "file": None if self.path is None else self.path.name,
            "sha256": self.digest,
            "size_px": list(self.size_px),
            "identity": self.identity.as_json(),
        }
