"""Made views of a board, with the truth: corners only, or whole pictures; shared by the tests of the calibration."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from scipy.interpolate import RectBivariateSpline

from fitcheck.calibration.adjust import View
from fitcheck.calibration.camera import Camera
from fitcheck.calibration.target import Board

BOARD = Board(9, 6, 25.0, 25.0)


def lens(k3: float = 0.0, size_px: tuple[int, int] = (1600, 1200)) -> Camera:
    """A lens, not square and off centre, in a picture of ``size_px``."""
    scale = size_px[0] / 1600
    matrix = np.array([[1310.0 * scale, 0, 812.0 * scale], [0, 1316.0 * scale, 588.0 * scale], [0, 0, 1.0]])
    return Camera(matrix, np.array([-0.12, 0.08, 0.0006, -0.0004, k3]), size_px)


def pose(back_deg: float, turn_deg: float, roll_deg: float, at_mm: Sequence[float], board: Board = BOARD) -> np.ndarray:
    """Pose (6,) of a board whose middle lies at ``at_mm`` before the camera."""
    turn = np.eye(3)
    for axis, angle in ((0, back_deg), (1, turn_deg), (2, roll_deg)):
        turn = turn @ cv2.Rodrigues(np.radians(angle) * np.eye(3)[axis])[0]
    place = np.array(at_mm, float) - turn @ board.points_mm().mean(axis=0)
    return np.concatenate([cv2.Rodrigues(turn)[0].ravel(), place])


def poses(count: int = 14, *, most_tilt_deg: float = 35.0, reach: float = 1.0, seed: int = 5) -> np.ndarray:
    """Poses (count, 6) over the frame: ``reach`` 1 takes boards to the rim, 0 keeps them in the middle."""
    random = np.random.default_rng(seed)
    tilts = [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (0.7, 0.7), (-0.7, 0.7), (0.7, -0.7), (-0.7, -0.7)]
    spots = [(0, 0), (-1, -1), (1, -1), (-1, 1), (1, 1), (0, -1), (0, 1), (-1, 0), (1, 0)]
    made = []
    for at in range(count):
        back, turn = np.array(tilts[at % len(tilts)]) * most_tilt_deg
        x, y = np.array(spots[at % len(spots)]) * reach * [95.0, 65.0]
        away = random.uniform(420, 470)
        made.append(pose(back, turn, random.uniform(-12, 12), (x, y, away)))
    return np.array(made)


def views(
    camera: Camera, at: np.ndarray, *, noise_px: float = 0.0, seed: int = 1, board_mm: np.ndarray | None = None
) -> list[View]:
    """The corners as the camera sees them, with Gaussian noise per axis; those outside the frame are not used."""
    random = np.random.default_rng(seed)
    points = BOARD.points_mm() if board_mm is None else board_mm
    made = []
    for one in at:
        seen = cv2.projectPoints(points, one[:3], one[3:], camera.matrix, camera.distortion)[0].reshape(-1, 2)
        used = np.all((seen > 4) & (seen < np.array(camera.size_px) - 5), axis=1)
        made.append(View(seen + random.normal(0, noise_px, seen.shape) if noise_px else seen, used))
    return made


def picture(
    camera: Camera, at: np.ndarray, board: Board = BOARD, *, noise: float = 1.5, blur_px: float = 0.8
) -> np.ndarray:
    """A picture (H, W) uint8 of the board on white paper on grey, 4 x 4 samples a pixel, then blur and noise."""
    width, height = camera.size_px
    fine = (np.arange(4) - 1.5) / 4.0
    u = (np.arange(width)[:, None] + fine).ravel()
    v = (np.arange(height)[:, None] + fine).ravel()
    coarse_u, coarse_v = np.linspace(-1, width, 81), np.linspace(-1, height, 61)
    grid = np.stack(np.meshgrid(coarse_u, coarse_v), axis=-1)
    rays = camera.undistort(grid.reshape(-1, 2)).reshape(grid.shape)
    seen = np.dstack([RectBivariateSpline(coarse_v, coarse_u, rays[..., axis])(v, u) for axis in (0, 1)])
    turn = cv2.Rodrigues(at[:3])[0]
    from_camera = np.linalg.inv(np.column_stack([turn[:, 0], turn[:, 1], at[3:]]))
    flat = np.dstack([seen, np.ones(seen.shape[:2])]) @ from_camera.T
    x = flat[..., 0] / flat[..., 2] / board.pitch_across_mm + 1
    y = flat[..., 1] / flat[..., 2] / board.pitch_down_mm + 1
    level = np.full(x.shape, 120.0, np.float32)
    paper = (x > -0.5) & (x < board.columns + 1.5) & (y > -0.5) & (y < board.rows + 1.5)
    level[paper] = 225.0
    inside = (x > 0) & (x < board.columns + 1) & (y > 0) & (y < board.rows + 1)
    level[inside & ((np.floor(x) + np.floor(y)) % 2 == 0)] = 40.0
    level = level.reshape(height, 4, width, 4).mean(axis=(1, 3))
    level = cv2.GaussianBlur(level, (0, 0), blur_px) + np.random.default_rng(3).normal(0, noise, level.shape)
    return np.clip(np.round(level), 0, 255).astype(np.uint8)
