"""Poses made from geometry alone: a face, a camera that stands where it is told, and points seen by OpenCV's own
projection."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.reference.pose import FacePose

#: Neither square nor centred, with every term of distortion, so that any swap of axes shows.
CAMERA = Camera(
    matrix=np.array([[1620.0, 0.0, 811.0], [0.0, 1634.0, 371.0], [0.0, 0.0, 1.0]]),
    distortion=np.array([0.06, -0.17, 0.0007, -0.0011, 0.1]),
    size_px=(1500, 900),
)
#: What a card leaves unknown at half a metre: a turn of some tenths of a degree, half a millimetre of place.
DEVIATIONS = np.array([0.005, 0.004, 0.001, 0.1, 0.1, 1.0, 0.004, 0.003, 0.003])


def standing(
    stand_mm: tuple[float, float, float],
    aim_mm: tuple[float, float, float] = (0.0, 20.0, 0.0),
    *,
    roll_deg: float = 0.0,
    camera: Camera = CAMERA,
    deviations: np.ndarray = DEVIATIONS,
) -> FacePose:
    """A camera at ``stand_mm`` of the face frame, looking at ``aim_mm``; y of the face is up in the picture."""
    stand = np.array(stand_mm, float)
    ahead = np.array(aim_mm, float) - stand
    ahead /= np.linalg.norm(ahead)
    right = np.cross(ahead, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    upright = np.stack([right, np.cross(ahead, right), ahead])
    rotation = cv2.Rodrigues(np.radians(roll_deg) * np.array([0.0, 0.0, 1.0]))[0] @ upright
    return FacePose(camera, rotation, -rotation @ stand, np.diag(deviations**2), np.zeros(3))


def seen_px(pose: FacePose, points_mm: np.ndarray) -> np.ndarray:
    """Pixels (N, 2) of points (N, 3) of the face frame, by OpenCV."""
    turn = cv2.Rodrigues(pose.rotation)[0]
    camera = pose.camera
    seen = cv2.projectPoints(
        np.ascontiguousarray(points_mm, float).reshape(-1, 1, 3),
        turn,
        pose.translation_mm,
        camera.matrix,
        camera.distortion,
    )[0]
    return np.asarray(seen).reshape(-1, 2)


def corner_mm(
    along_mm: np.ndarray, line_y_mm: np.ndarray, past_mm: np.ndarray, bevel_deg: float, thickness_mm: float
) -> tuple[np.ndarray, np.ndarray]:
    """Inner and outer corner (N, 3) of an edge ``past_mm`` beyond the lap line, measured in the lap's plane.

    The lap falls away under the face toward the sheer by the bevel; the edge stands square on it.
    """
    b = np.radians(bevel_deg)
    inner = np.column_stack([along_mm, line_y_mm - past_mm * np.cos(b), past_mm * np.sin(b)])
    return inner, inner + thickness_mm * np.array([0.0, np.sin(b), np.cos(b)])
