"""Which photograph of the board would help most: the pose that most lowers the spread of the lens over the frame.

After Peng & Sturm, Calibration Wizard (ICCV 2019): each candidate view adds its information, its own unknown pose taken
out, and the candidate that leaves the least spread is told in plain words.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.calibration.adjust import K3, lens_matrix
from fitcheck.calibration.camera import Camera
from fitcheck.calibration.frame import directions, frame_points, lens_jacobian

_ACROSS = {0.24: "left", 0.5: "", 0.76: "right"}
_DOWN = {0.26: "upper", 0.5: "", 0.74: "lower"}
_LEANS = {
    "square to the camera": (0.0, 0.0),
    "leaned back about 30 degrees": (-30.0, 0.0),
    "leaned forward about 30 degrees": (30.0, 0.0),
    "its left side turned away about 30 degrees": (0.0, 30.0),
    "its right side turned away about 30 degrees": (0.0, -30.0),
}
#: The board spans this share of the frame's width, as it would at working distance.
_SPAN = 0.42


@dataclass(frozen=True, eq=False)
class NextPhoto:
    """The photograph to take next, in words, and the share by which it should lower the lens's spread."""

    text: str
    gain: float


def next_photo(camera: Camera, board_mm: np.ndarray, scale_px: float, orientation: int = 1) -> NextPhoto:
    """The best of some 45 candidate views for ``camera`` (of the stored pixels, with its covariance).

    ``scale_px`` is what one corner's place is good for. Left, right, upper and lower are those of the picture as a
    person sees it, turned by ``orientation``.
    """
    upright = camera.turned(orientation)
    assert upright.covariance is not None
    lens = upright.parameters()
    free = [at for at in range(9) if at != K3 or upright.covariance[K3, K3] > 0]
    known = np.linalg.inv(upright.covariance[np.ix_(free, free)])
    frame = lens_jacobian(lens, directions(lens, frame_points(upright.size_px)))[:, free]
    wanted = frame.T @ frame
    best_text, best = "", np.inf
    for text, pose in _candidates(lens, board_mm, upright.size_px):
        told = _information(lens, board_mm, pose, scale_px)[np.ix_(free, free)]
        left = float(np.trace(np.linalg.inv(known + told) @ wanted))
        if left < best:
            best_text, best = text, left
    now = float(np.trace(np.linalg.inv(known) @ wanted))
    return NextPhoto(best_text, 1.0 - float(np.sqrt(best / now)))


def _candidates(lens: np.ndarray, board_mm: np.ndarray, size_px: tuple[int, int]) -> Iterator[tuple[str, np.ndarray]]:
    """Poses (6,) in which the whole board is in the frame, each with its words."""
    width_mm = float(np.ptp(board_mm[:, 0]))
    away_mm = lens[0] * width_mm / (_SPAN * size_px[0])
    middle = board_mm.mean(axis=0)
    for across, side in _ACROSS.items():
        for down, height in _DOWN.items():
            ray = directions(lens, np.array([[across * size_px[0], down * size_px[1]]]))[0]
            for lean, (back_deg, turn_deg) in _LEANS.items():
                turn = cv2.Rodrigues(np.radians([back_deg, turn_deg, 0.0]))[0]
                place = ray * away_mm - turn @ middle
                pose = np.concatenate([cv2.Rodrigues(turn)[0].ravel(), place])
                seen = cv2.projectPoints(board_mm, pose[:3], pose[3:], lens_matrix(lens), lens[4:])[0].reshape(-1, 2)
                if np.all(seen > 0) and np.all(seen < np.array(size_px) - 1):
                    yield f"the board in the {_place(height, side)} of the picture, {lean}", pose


def _place(height: str, side: str) -> str:
    """Where in the picture, in words.

    >>> _place("upper", "left"), _place("", "left"), _place("lower", ""), _place("", "")
    ('upper left corner', 'left half', 'lower half', 'middle')
    """
    if height and side:
        return f"{height} {side} corner"
    return f"{height or side} half" if height or side else "middle"


def _information(lens: np.ndarray, board_mm: np.ndarray, pose: np.ndarray, scale_px: float) -> np.ndarray:
    """What one view tells of the lens (9, 9), its own pose being unknown."""
    part = cv2.projectPoints(board_mm, pose[:3], pose[3:], lens_matrix(lens), lens[4:])[1] / scale_px
    with_pose, _ = np.linalg.qr(part[:, :6])
    with_lens = part[:, 6:15]
    with_lens = with_lens - with_pose @ (with_pose.T @ with_lens)
    return with_lens.T @ with_lens
