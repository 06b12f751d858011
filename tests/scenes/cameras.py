"""Invented cameras, each of its own picture size, so that a folder of many tells them apart by size."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.scenes.arrays import Array, Mask


@dataclass(frozen=True)
class Camera:
    """A pinhole with OpenCV's five distortion coefficients (k1 k2 p1 p2 k3); pixels are those of the stored file."""

    name: str
    size_px: tuple[int, int]
    focal_px: tuple[float, float]
    centre_px: tuple[float, float]
    distortion: tuple[float, float, float, float, float]
    make: str
    model: str
    focal_mm: float
    focal_35mm: int

    @property
    def matrix(self) -> NDArray[np.float64]:
        """The 3 x 3 camera matrix."""
        (fx, fy), (cx, cy) = self.focal_px, self.centre_px
        return np.array([[fx, 0.0, cx], [0.0, fy, cy], [0.0, 0.0, 1.0]])

    def sight(self, pixels: Array) -> NDArray[np.float64]:
        """Undistorted (x, y) at z = 1 of pixels (N, 2)."""
        until = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 60, 1e-12)
        flat = cv2.undistortPoints(
            np.ascontiguousarray(pixels[:, None]), self.matrix, np.array(self.distortion), criteria=until
        )
        return np.asarray(flat, float).reshape(-1, 2)

    def in_field(self, points: Array) -> Mask:
        """Which points (N, 3) lie ahead and no further off axis than the picture's corners.

        Beyond these the distortion's polynomial may fold back into the frame.
        """
        right, low = (n - 1.0 for n in self.size_px)
        corners = self.sight(np.array([[0.0, 0.0], [right, 0.0], [0.0, low], [right, low]]))
        ahead = points[:, 2] > 1.0
        flat = points[:, :2] / np.where(ahead, points[:, 2], 1.0)[:, None]
        return np.asarray(ahead & (np.hypot(*flat.T) < 1.02 * np.hypot(*corners.T).max()))

    def project(self, points: Array) -> NDArray[np.float64]:
        """Pixels (N, 2) of points (N, 3) in the camera frame."""
        seen = cv2.projectPoints(points[:, None], np.zeros(3), np.zeros(3), self.matrix, np.array(self.distortion))[0]
        return np.asarray(seen, float).reshape(-1, 2)


SEDGE = Camera(
    "sedge", (2048, 1536), (1624.0, 1622.8), (1031.6, 759.4), (0.071, -0.19, 0.0004, -0.0006, 0.12),
    "Marram (invented)", "Sedge 5", 4.2, 29,
)  # fmt: skip
CURLEW = Camera(
    "curlew", (2592, 1944), (2188.0, 2190.1), (1283.9, 983.7), (-0.094, 0.061, -0.0003, 0.0005, -0.008),
    "Marram (invented)", "Curlew", 5.1, 31,
)  # fmt: skip
DUNLIN = Camera(
    "dunlin", (1920, 1440), (1388.0, 1389.5), (948.8, 733.1), (-0.142, 0.108, 0.0007, 0.0002, -0.03),
    "Tideway (invented)", "Dunlin S", 3.9, 26,
)  # fmt: skip
PLOVER = Camera(
    "plover", (3264, 2448), (2561.0, 2563.5), (1649.0, 1211.9), (0.048, -0.13, -0.0005, 0.0004, 0.09),
    "Tideway (invented)", "Plover 2", 5.6, 28,
)  # fmt: skip
# Small and long of lens: quick to render, for tests of the maker itself.
WREN = Camera(
    "wren", (800, 600), (1500.0, 1490.0), (411.0, 290.0), (-0.1, 0.05, 0.001, -0.0007, 0.02),
    "Tideway (invented)", "Wren", 4.0, 68,
)  # fmt: skip
CAMERAS = {camera.name: camera for camera in (SEDGE, CURLEW, DUNLIN, PLOVER)}
