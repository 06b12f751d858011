"""A lens judged over the whole frame: how two lenses differ there, and how far a lens's spread throws its pixels.

Two lenses that differ by a small turn of the camera measure the same, so the best turn is taken out first.
"""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.calibration.adjust import lens_matrix

GRID = (13, 10)
#: Points keep this share of the frame away from its rim, where nothing is measured.
MARGIN = 0.04


def frame_points(size_px: tuple[int, int], grid: tuple[int, int] = GRID) -> np.ndarray:
    """Pixels (M, 2) spread evenly over the frame."""
    u, v = np.meshgrid(*(np.linspace(MARGIN, 1.0 - MARGIN, n) * side for n, side in zip(grid, size_px, strict=True)))
    return np.column_stack([u.ravel(), v.ravel()])


def directions(lens: np.ndarray, points_px: np.ndarray) -> np.ndarray:
    """Directions (M, 3), z = 1, in which a lens (9,) sees pixels (M, 2)."""
    stop = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 100, 1e-12)
    seen = cv2.undistortPoints(points_px.reshape(-1, 1, 2), lens_matrix(lens), lens[4:], criteria=stop).reshape(-1, 2)
    return np.column_stack([seen, np.ones(len(seen))])


def lens_jacobian(lens: np.ndarray, rays: np.ndarray) -> np.ndarray:
    """How the pixels of fixed directions (M, 3) move with the lens (2M, 9), the best turn of the camera taken out."""
    part = cv2.projectPoints(rays, np.zeros(3), np.zeros(3), lens_matrix(lens), lens[4:])[1]
    turn, _ = np.linalg.qr(part[:, :3])
    return part[:, 6:15] - turn @ (turn.T @ part[:, 6:15])


def spread_px(lens: np.ndarray, covariance: np.ndarray, size_px: tuple[int, int]) -> np.ndarray:
    """Standard deviation (M,) of the pixels over :func:`frame_points` that a covariance (9, 9) of the lens means."""
    jacobian = lens_jacobian(lens, directions(lens, frame_points(size_px)))
    variance = np.einsum("ij,jk,ik->i", jacobian, covariance, jacobian)
    return np.sqrt(np.maximum(variance, 0.0).reshape(-1, 2).sum(axis=1))


def difference_px(one: np.ndarray, other: np.ndarray, size_px: tuple[int, int]) -> np.ndarray:
    """How far apart (M,) two lenses (9,) put the same directions over the frame, the best turn taken out."""
    points = frame_points(size_px)
    rays = directions(one, points)
    turn = np.zeros(3)
    for _ in range(5):
        seen, part = cv2.projectPoints(rays, turn, np.zeros(3), lens_matrix(other), other[4:])[:2]
        off = (points - seen.reshape(-1, 2)).ravel()
        turn = turn + np.linalg.lstsq(part[:, :3], off, rcond=None)[0]
    seen = cv2.projectPoints(rays, turn, np.zeros(3), lens_matrix(other), other[4:])[0].reshape(-1, 2)
    return np.asarray(np.linalg.norm(points - seen, axis=1))
