"""Marker corners by our own line fit, and the flat card through them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from fitcheck.ground.refusal import Refused
from fitcheck.reference.sides.straight_sides import corners_of, fit_side
from fitcheck.reference.station.station_layout import CORNER_SIGNS

if TYPE_CHECKING:
    from fitcheck.calibration.camera import Camera

SIDE_KEEP = (0.08, 0.92)
SIDE_BIAS_PX = 0.02


def fit_marker(gray: np.ndarray, camera: Camera, quad: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """Corners (4, 2) and their standard uncertainty (4,) in pixels, or None where a side is covered or runs out."""
    height, width = gray.shape
    if (quad < 2.0).any() or (quad > np.array([width, height]) - 3.0).any():
        return None
    side_px = float(np.linalg.norm(quad - np.roll(quad, -1, axis=0), axis=1).min())
    try:
        sides = [
            fit_side(
                gray,
                quad[index],
                quad[(index + 1) % 4],
                reach_px=min(2.5, side_px / 12.0),
                keep=SIDE_KEEP,
                undistort=camera.undistort,
                shadows=False,
                contrast_sign=-1,
                bias_px=SIDE_BIAS_PX,
            )
            for index in range(4)
        ]
        corners, covariance = corners_of(sides, distort=lambda points: distort(camera, points))
    except Refused:
        return None
    return corners, np.sqrt(np.trace(covariance, axis1=1, axis2=2) / 2.0)


@dataclass(frozen=True)
class FlatFit:
    """A flat card fitted to undistorted points ``seen`` (N, 2), which have been freed of the bleed of the print."""

    seen: np.ndarray
    seen_from_mm: np.ndarray
    left_mm: float


def fit_flat(points_mm: np.ndarray, seen: np.ndarray) -> FlatFit:
    """The homography from the card to undistorted points, with the markers' growth or shrinkage as a ninth unknown.

    Ink spreads, and a phone's tone curve draws light over dark, alike on all sides of all markers: every side then
    stands a little out of its place or in, which the distances between the markers tell apart from scale.
    """
    seen_from_mm, _ = cv2.findHomography(points_mm, seen, 0)
    outward = np.tile(CORNER_SIGNS, (len(points_mm) // 4, 1))
    basis = np.concatenate([_projective_steps(points_mm), outward[:, :, None]], axis=2).reshape(-1, 9)
    found_mm = through(np.linalg.inv(seen_from_mm), seen)
    solved = np.linalg.lstsq(basis, (found_mm - points_mm).ravel(), rcond=None)[0]
    freed = through(seen_from_mm, found_mm - solved[8] * outward)
    seen_from_mm, _ = cv2.findHomography(points_mm, freed, 0)
    left = through(np.linalg.inv(seen_from_mm), freed) - points_mm
    return FlatFit(freed, seen_from_mm, float(np.linalg.norm(left, axis=1).max()))


def _projective_steps(points_mm: np.ndarray) -> np.ndarray:
    """How (N, 2) points move, (N, 2, 8), for a small change of each of the eight numbers of a plane's homography."""
    x, y = points_mm.T
    zero, one = np.zeros(len(x)), np.ones(len(x))
    in_x = np.column_stack([one, zero, x, zero, y, zero, x * x, x * y])
    in_y = np.column_stack([zero, one, zero, x, zero, y, x * y, y * y])
    return np.stack([in_x, in_y], axis=1)


def through(homography: np.ndarray, points: np.ndarray) -> np.ndarray:
    return np.asarray(cv2.perspectiveTransform(np.asarray(points, float).reshape(-1, 1, 2), homography).reshape(-1, 2))


def distort(camera: Camera, seen: np.ndarray) -> np.ndarray:
    return np.asarray(camera.project(np.column_stack([seen, np.ones(len(seen))])))
