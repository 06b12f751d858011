"""Photographs of flat printed things, made from geometry alone: drawn in mm, seen through a distorting lens.

Light is blurred and then stored by the sRGB curve, as a camera does it. Nothing here is shared with the program.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera

SUB = 2
CAMERA = Camera(
    matrix=np.array([[1180.0, 0, 672.0], [0, 1181.5, 441.0], [0, 0, 1]]),
    distortion=np.array([-0.12, 0.09, -0.0006, 0.0004, -0.02]),
    size_px=(1320, 900),
)


@dataclass(frozen=True)
class Drawing:
    """Light from 0 to 1, (H, W) or (H, W, 3) BGR, ``per_mm`` pixels to the mm; mm (0, 0) at the middle, y up."""

    light: np.ndarray
    per_mm: float

    def px_of_mm(self) -> np.ndarray:
        """Homogeneous (3, 3) from mm to the drawing's pixels."""
        height, width = self.light.shape[:2]
        return np.array([[self.per_mm, 0, (width - 1) / 2], [0, -self.per_mm, (height - 1) / 2], [0, 0, 1.0]])


@dataclass(frozen=True)
class View:
    """Where the drawing lies before the camera: camera_from_drawing."""

    rotation: np.ndarray
    translation_mm: np.ndarray

    def px_of(self, points_mm: np.ndarray, camera: Camera) -> np.ndarray:
        """Pixels (N, 2) of points (N, 2) of the drawing."""
        flat = np.column_stack([points_mm, np.zeros(len(points_mm))])
        return camera.project(flat @ self.rotation.T + self.translation_mm)


def view(
    *,
    away_mm: float,
    tilt_deg: float = 0.0,
    toward_deg: float = 0.0,
    turn_deg: float = 0.0,
    at: tuple[float, float] = (0.0, 0.0),
) -> View:
    """Square before the camera, then tilted about x, about y, and turned in the picture; ``at`` in mm off the axis."""
    level = np.diag([1.0, -1.0, -1.0])
    tilts = [cv2.Rodrigues(np.radians(a) * np.eye(3)[i])[0] for i, a in enumerate((tilt_deg, toward_deg, turn_deg))]
    return View(tilts[2] @ tilts[0] @ tilts[1] @ level, np.array([*at, away_mm]))


def photograph(
    drawing: Drawing, seen: View, *, camera: Camera = CAMERA, blur_px: float = 0.8, noise: float = 1.5, seed: int = 0
) -> np.ndarray:
    """The stored 8-bit picture, (H, W) or (H, W, 3) as the drawing is; ``noise`` in stored levels."""
    width, height = camera.size_px
    rays = _rays(camera, width, height)
    camera_from_mm = np.column_stack([seen.rotation[:, :2], seen.translation_mm])
    places = cv2.perspectiveTransform(rays, drawing.px_of_mm() @ np.linalg.inv(camera_from_mm))
    drawn, places = drawing.light.astype(np.float32), places.astype(np.float32)
    light = cv2.remap(drawn, places, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = cv2.GaussianBlur(light, (0, 0), blur_px * SUB)
    light = cv2.resize(light, (width, height), interpolation=cv2.INTER_AREA)
    stored = 255.0 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)
    stored = stored + np.random.default_rng(seed).normal(0.0, noise, stored.shape)
    return np.clip(np.round(stored), 0, 255).astype(np.uint8)


@lru_cache(maxsize=2)
def _rays(camera: Camera, width: int, height: int, coarse: int = 8) -> np.ndarray:
    """Undistorted points of every sub-pixel, (H * SUB, W * SUB, 2), interpolated from a coarse grid."""
    u, v = np.arange(-coarse, width + 2 * coarse, coarse), np.arange(-coarse, height + 2 * coarse, coarse)
    grid = np.stack(np.meshgrid(u, v), axis=2).astype(float)
    known = camera.undistort(grid.reshape(-1, 2)).reshape(grid.shape).astype(np.float32)
    sub_u = ((np.arange(width * SUB) + 0.5) / SUB - 0.5 + coarse) / coarse
    sub_v = ((np.arange(height * SUB) + 0.5) / SUB - 0.5 + coarse) / coarse
    at_u, at_v = np.meshgrid(sub_u.astype(np.float32), sub_v.astype(np.float32))
    # OpenCV rounds places to 1/32 of the coarse grid, so interpolate by hand.
    left, top = at_u.astype(int), at_v.astype(int)
    share_u, share_v = (at_u - left)[..., None], (at_v - top)[..., None]
    upper = known[top, left] * (1 - share_u) + known[top, left + 1] * share_u
    lower = known[top + 1, left] * (1 - share_u) + known[top + 1, left + 1] * share_u
    return np.asarray(upper * (1 - share_v) + lower * share_v)


def grain(shape: tuple[int, int], per_mm: float, *, light: float, depth: float, seed: int) -> np.ndarray:
    """Wood: streaks along x of random strength, light (H, W) about ``light``."""
    height, width = shape
    coarse = max(2, int(14 * per_mm))
    dots = np.random.default_rng(seed).normal(size=(height, width // coarse + 4)).astype(np.float32)
    streaks = cv2.GaussianBlur(dots, (0, 0), sigmaX=0.8, sigmaY=0.35 * per_mm)
    streaks = cv2.resize(streaks, (width, height), interpolation=cv2.INTER_CUBIC)
    return np.clip(light * (1.0 + depth * streaks / streaks.std()), 0.01, 1.0)
