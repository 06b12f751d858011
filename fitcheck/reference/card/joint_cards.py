"""Two cards on one strake solved together: their distance apart holds the face's tilt far better than either card."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fitcheck.reference.pose import PRIOR_CENTRE, PRIOR_FOCAL, FacePose, small_turn
from fitcheck.reference.sighting import Sighting

#: Where the cards together fit this much worse than their own corners allow, the strake is no plane between them.
MOST_EXCESS = 6.0


def joint_pose(pose: FacePose, first: Sighting, others: Sequence[Sighting]) -> FacePose | None:
    """The pose of the plane under all cards, in the first card's frame, or None where no one plane fits them.

    ``pose`` is that of the first card alone. Each other card may lie anywhere on the plane and be turned on it.
    """
    from scipy.optimize import least_squares

    camera = pose.camera
    focal_px = float(camera.matrix[0, 0] + camera.matrix[1, 1]) / 2.0
    cards = [first, *others]
    seen = [camera.undistort(card.points_px) for card in cards]
    laid = [_laid(pose, card) for card in others]
    prior = np.array([PRIOR_FOCAL, PRIOR_CENTRE, PRIOR_CENTRE])

    def misfit(change: np.ndarray) -> np.ndarray:
        rotation, shift = pose.rotation @ small_turn(change[:3]), pose.translation_mm + change[3:6]
        places = [np.zeros(3), *[start + change[9 + 3 * i : 12 + 3 * i] for i, start in enumerate(laid)]]
        left = []
        for card, at, place in zip(cards, seen, places, strict=True):
            before = _on_plane(card.points_mm, place) @ rotation.T + shift
            aim = before[:, :2] / before[:, 2:] * (1.0 + change[6]) + change[7:9]
            left.append(((aim - at) * focal_px / card.u_px[:, None]).ravel())
        return np.concatenate([*left, change[6:9] / prior])

    scale = np.array([0.01, 0.01, 0.01, 1.0, 1.0, 1.0, *prior, *[1.0, 1.0, 0.01] * len(others)])
    found = least_squares(misfit, np.zeros(9 + 3 * len(others)), x_scale=scale, method="lm")
    freedom = len(found.fun) - 3 - 6 - 3 * len(others)
    excess = float((found.fun[:-3] ** 2).sum()) / max(1, freedom)
    if excess > MOST_EXCESS:
        return None
    slopes = np.asarray(found.jac)
    covariance = np.linalg.inv(slopes.T @ slopes)[:9, :9] * max(1.0, excess)
    shift = pose.translation_mm + found.x[3:6]
    # Cards of one kind are cut alike: the doubt of their size does not fall with their number.
    covariance[3:6, 3:6] += first.u_scale**2 * np.outer(shift, shift)
    rotation = pose.rotation @ small_turn(found.x[:3])
    return FacePose(camera, rotation, shift, (covariance + covariance.T) / 2.0, found.x[6:9], pose.residual_px)


def _laid(pose: FacePose, card: Sighting) -> np.ndarray:
    """Place x, y (mm) and turn (radians) of a card on the plane of ``pose``."""
    corners = pose.face_from_px(card.points_px, float(card.points_mm[:, 2].mean()))
    own, here = card.points_mm[:, :2] - card.points_mm[:, :2].mean(axis=0), corners - corners.mean(axis=0)
    turn = np.arctan2((own[:, 0] * here[:, 1] - own[:, 1] * here[:, 0]).sum(), (own * here).sum())
    return np.array([*corners.mean(axis=0), turn])


def _on_plane(points_mm: np.ndarray, place: np.ndarray) -> np.ndarray:
    c, s = np.cos(place[2]), np.sin(place[2])
    flat = points_mm[:, :2] @ np.array([[c, s], [-s, c]]) + place[:2]
    return np.column_stack([flat, points_mm[:, 2]])


def bevel_between(strake: FacePose, plank: FacePose) -> tuple[float, float]:
    """The bevel and its standard uncertainty in degrees, from a card on the strake and one on the plank's own face.

    ``strake`` has x along the lap and y toward the sheer; ``plank`` is in its own card's frame. The bevel is the angle
    between the two faces about the lap.
    """
    plank_from_face = plank.rotation.T @ strake.rotation
    normal = plank_from_face.T[:, 2]
    bevel = np.degrees(np.arctan2(normal[1], normal[2]))
    lap = plank_from_face[:, 0]
    variance = strake.covariance[0, 0] + lap @ plank.covariance[:3, :3] @ lap
    return float(bevel), float(np.degrees(np.sqrt(variance)))
