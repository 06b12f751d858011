"""The adjustment: lens, board poses and, if asked, the board's own shape, together, from the corners of many views.

Levenberg-Marquardt on the weighted residuals of all corners (bundle adjustment), begun from OpenCV's calibration;
corners that disagree are weighted down (Cauchy weights, scale from the median), so that one bad corner does not move
the lens.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.calibration.normal import Normal

#: fx, fy, cx, cy, k1, k2, p1, p2, k3.
LENS_SIZE, K3 = 9, 8
#: How far a corner of a printed board may lie from its place, as a standard deviation; far above what the views tell,
#: so that it only settles what no view can see: the board's overall size and pose.
SHAPE_SPREAD_MM = 0.5
_CAUCHY = 3.0
_LEAST_SCALE_PX = 0.01
_MOST_ROUNDS, _SETTLED = 20, 1e-5


@dataclass(frozen=True, eq=False)
class View:
    """One view of the board: ``points_px`` (N, 2) in the board's order and ``used`` (N,), false where not placed."""

    points_px: np.ndarray
    used: np.ndarray


@dataclass(frozen=True, eq=False)
class Adjustment:
    """A solution.

    ``lens`` (9,) fx fy cx cy k1 k2 p1 p2 k3; ``poses`` (V, 6) rotation vector and place of the board before the camera,
    in mm; ``board_mm`` (N, 3) the board as found, ``nominal_mm`` as told. ``residuals_px`` are (N, 2) a view, nan where
    a corner was not used; ``scale_px`` is the robust standard deviation of one of them per axis. ``covariance`` (9, 9)
    of the lens holds the corners' noise alone.
    """

    lens: np.ndarray
    poses: np.ndarray
    board_mm: np.ndarray
    nominal_mm: np.ndarray
    residuals_px: tuple[np.ndarray, ...]
    scale_px: float
    covariance: np.ndarray
    with_k3: bool
    shape_released: bool


def lens_matrix(lens: np.ndarray) -> np.ndarray:
    """The camera matrix (3, 3) of a lens (9,)."""
    return np.array([[lens[0], 0.0, lens[2]], [0.0, lens[1], lens[3]], [0.0, 0.0, 1.0]])


def first_solution(views: Sequence[View], board_mm: np.ndarray, size_px: tuple[int, int]) -> Adjustment:
    """A start from OpenCV's calibration, without k3 and without weights. Raises ``cv2.error`` where it finds none."""
    objects = [board_mm[view.used].astype(np.float32) for view in views]
    pixels = [view.points_px[view.used].astype(np.float32) for view in views]
    _, matrix, distortion, turns, places = cv2.calibrateCamera(
        objects, pixels, size_px, None, None, flags=cv2.CALIB_FIX_K3
    )
    lens = np.array([matrix[0, 0], matrix[1, 1], matrix[0, 2], matrix[1, 2], *distortion.ravel()[:5]])
    poses = np.array([[*turn.ravel(), *place.ravel()] for turn, place in zip(turns, places, strict=True)])
    blank = Adjustment(
        lens=lens,
        poses=poses,
        board_mm=board_mm,
        nominal_mm=board_mm,
        residuals_px=(),
        scale_px=1.0,
        covariance=np.zeros((9, 9)),
        with_k3=False,
        shape_released=False,
    )
    return replace(blank, residuals_px=_residuals(views, blank))


def adjust(views: Sequence[View], start: Adjustment, *, with_k3: bool, release_shape: bool) -> Adjustment:
    """The best lens, poses and board shape for ``views``, from ``start`` (whose poses are those of the same views)."""
    free = [at for at in range(LENS_SIZE) if with_k3 or at != K3]
    now = replace(start, with_k3=with_k3, shape_released=release_shape)
    if not with_k3:
        now = replace(now, lens=np.where(np.arange(LENS_SIZE) == K3, 0.0, now.lens))
    if not release_shape:
        now = replace(now, board_mm=now.nominal_mm)
    now = replace(now, residuals_px=_residuals(views, now))
    scale_px = _scale(now.residuals_px)
    damping, cost = 1e-6, _cost(now, scale_px)
    for _ in range(_MOST_ROUNDS):
        normal = _normal_equations(views, now, scale_px, free)
        tried = _moved(views, now, normal.step(damping), free)
        tried_cost = _cost(tried, scale_px)
        if tried_cost > cost:
            damping = max(10.0 * damping, 1e-6)
            if damping > 1e6:
                break
            continue
        settled = cost - tried_cost < _SETTLED * cost
        now, scale_px, damping = tried, _scale(tried.residuals_px), damping / 10.0
        cost = _cost(now, scale_px)
        if settled:
            break
    covariance = np.zeros((LENS_SIZE, LENS_SIZE))
    covariance[np.ix_(free, free)] = _normal_equations(views, now, scale_px, free).covariance(len(free))
    return replace(now, scale_px=scale_px, covariance=covariance)


def pose_of(view: View, board_mm: np.ndarray, lens: np.ndarray, scale_px: float) -> tuple[np.ndarray, np.ndarray]:
    """Pose (6,) of the board in one view with the lens held, and its residuals (N, 2), nan where a corner is not used.

    Raises ``cv2.error`` where no pose is found.
    """
    at = np.flatnonzero(view.used)
    matrix, distortion = lens_matrix(lens), lens[4:]
    _, turn, place = cv2.solvePnP(board_mm[at], view.points_px[at], matrix, distortion)
    for _ in range(3):
        residuals = _view_residuals(view, board_mm, lens, np.array([*turn.ravel(), *place.ravel()]))
        size = np.linalg.norm(residuals[at], axis=1)
        kept = at[size <= max(4.0 * scale_px, 3.0 * float(np.median(size)))]
        turn, place = cv2.solvePnPRefineLM(board_mm[kept], view.points_px[kept], matrix, distortion, turn, place)
    pose = np.array([*turn.ravel(), *place.ravel()])
    return pose, _view_residuals(view, board_mm, lens, pose)


def _view_residuals(view: View, board_mm: np.ndarray, lens: np.ndarray, pose: np.ndarray) -> np.ndarray:
    seen = cv2.projectPoints(board_mm, pose[:3], pose[3:], lens_matrix(lens), lens[4:])[0].reshape(-1, 2)
    return np.where(view.used[:, None], view.points_px - seen, np.nan)


def _residuals(views: Sequence[View], now: Adjustment) -> tuple[np.ndarray, ...]:
    pairs = zip(views, now.poses, strict=True)
    return tuple(_view_residuals(view, now.board_mm, now.lens, pose) for view, pose in pairs)


def _scale(residuals_px: Sequence[np.ndarray]) -> float:
    """Standard deviation per axis from the median of the residuals' lengths, as if they were Gaussian."""
    lengths = np.concatenate([np.linalg.norm(one, axis=1) for one in residuals_px])
    return max(float(np.nanmedian(lengths)) / 1.1774, _LEAST_SCALE_PX)


def _cost(now: Adjustment, scale_px: float) -> float:
    lengths2 = np.concatenate([np.nansum(one**2, axis=1) for one in now.residuals_px]) / scale_px**2
    cost = float(np.sum(_CAUCHY**2 * np.log1p(lengths2 / _CAUCHY**2)))
    return cost + float(np.sum(((now.board_mm - now.nominal_mm) / SHAPE_SPREAD_MM) ** 2))


def _normal_equations(views: Sequence[View], now: Adjustment, scale_px: float, free: list[int]) -> Normal:
    """The weighted normal equations; the core is the free lens terms, then the poses."""
    lenses = len(free)
    normal = Normal.empty(lenses + now.poses.size, len(now.board_mm) if now.shape_released else 0)
    for place, (view, pose, residuals) in enumerate(zip(views, now.poses, now.residuals_px, strict=True)):
        weight = 1.0 / (1.0 + np.nansum(residuals**2, axis=1) / (_CAUCHY * scale_px) ** 2)
        root = np.where(view.used, np.sqrt(weight) / scale_px, 0.0)[:, None, None]
        part = cv2.projectPoints(now.board_mm, pose[:3], pose[3:], lens_matrix(now.lens), now.lens[4:])[1]
        part = part.reshape(len(residuals), 2, -1)
        with_core = np.concatenate([part[:, :, 6:15][:, :, free], part[:, :, :6]], axis=2)
        # Moving one point of the board is moving the board's place, for that point, by the step as the board is turned.
        with_point = part[:, :, 3:6] @ cv2.Rodrigues(pose[:3])[0]
        own = np.concatenate([np.arange(lenses), lenses + 6 * place + np.arange(6)])
        normal.add(own, with_core * root, with_point * root, np.nan_to_num(residuals) * root[:, :, 0])
    if now.shape_released:
        normal.hold_points(now.board_mm - now.nominal_mm, SHAPE_SPREAD_MM)
    return normal


def _moved(views: Sequence[View], now: Adjustment, step: tuple[np.ndarray, np.ndarray], free: list[int]) -> Adjustment:
    core, points = step
    lens = now.lens.copy()
    lens[free] += core[: len(free)]
    poses = now.poses + core[len(free) :].reshape(-1, 6)
    board_mm = now.board_mm + points if now.shape_released else now.board_mm
    moved = replace(now, lens=lens, poses=poses, board_mm=board_mm)
    return replace(moved, residuals_px=_residuals(views, moved))
