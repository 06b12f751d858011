"""OpenCV's own sample photographs of a board, left01.jpg to right14.jpg, 640 x 480, 9 x 6 inner corners.

Source: Debian package opencv-doc 4.6.0, examples/data (Apache-2.0 and BSD-3), with left_intrinsics.yml, the values
OpenCV ships for the left set. The other figures were measured with OpenCV 5.0 on these photographs and are named beside
each check. The folder lies beside the photographs that FITCHECK_PHOTOS names; the project does not carry it.
"""

from __future__ import annotations

import os
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.calibration.adjust import View
from fitcheck.calibration.board_corners import classic_corners, find_corners, place
from fitcheck.calibration.from_photos import Calibration, calibrate
from fitcheck.calibration.grid import ordered
from fitcheck.calibration.solve import solve
from fitcheck.calibration.target import Board

SAMPLES = Path(os.environ.get("FITCHECK_PHOTOS", "")) / ".." / "outside" / "opencv-samples"
pytestmark = pytest.mark.skipif(
    "FITCHECK_PHOTOS" not in os.environ or not SAMPLES.is_dir(), reason="OpenCV's sample photographs are not here"
)
BOARD = Board(9, 6, 25.0, 25.0)
SIZE = (640, 480)


def grays(side: str) -> list[np.ndarray]:
    return [cv2.imread(str(path), cv2.IMREAD_GRAYSCALE) for path in sorted(SAMPLES.glob(f"{side}*.jpg"))]


def opencv_solution(corners: list[np.ndarray], flags: int = 0) -> tuple[float, np.ndarray, np.ndarray]:
    """Root mean square, matrix and distortion by OpenCV's own solver."""
    objects = [BOARD.points_mm().astype(np.float32)] * len(corners)
    matrix = np.eye(3)
    pixels = [one.astype(np.float32) for one in corners]
    rms, matrix, distortion = cv2.calibrateCamera(objects, pixels, SIZE, matrix, None, flags=flags)[:3]
    return rms, matrix, distortion.ravel()


def test_the_shipped_values_with_opencvs_own_settings() -> None:
    """left_intrinsics.yml: f 535.916, centre 342.283 235.571, k1 -0.26637, RMS 0.3926: classic finder, window 11."""
    stop = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 30, 0.1)
    corners = []
    for gray in grays("left"):
        found, coarse = cv2.findChessboardCorners(gray, (9, 6))
        assert found
        corners.append(cv2.cornerSubPix(gray, coarse, (11, 11), (-1, -1), stop).reshape(-1, 2))
    rms, matrix, distortion = opencv_solution(corners, cv2.CALIB_FIX_ASPECT_RATIO)
    shipped = cv2.FileStorage(str(SAMPLES / "left_intrinsics.yml"), cv2.FILE_STORAGE_READ)
    expected = shipped.getNode("camera_matrix").mat()
    assert matrix[0, 0] == pytest.approx(expected[0, 0], abs=0.01)
    np.testing.assert_allclose(matrix[:2, 2], expected[:2, 2], atol=0.03)
    assert distortion[0] == pytest.approx(shipped.getNode("distortion_coefficients").mat()[0, 0], abs=1e-4)
    assert rms == pytest.approx(shipped.getNode("avg_reprojection_error").real(), abs=1e-3)


def test_the_classic_finder_with_a_narrow_window() -> None:
    """Window 0.33 of the smallest spacing: f 533.1, RMS 0.178. Here each corner has its own, narrower one."""
    corners = []
    for gray in grays("left"):
        found = classic_corners(gray, BOARD.size)
        assert found is not None
        corners.append(place(gray, found, BOARD.size, smooth_px=0.0)[0])
    rms, matrix, _ = opencv_solution(corners)
    assert matrix[0, 0] == pytest.approx(533.1, abs=0.4)
    assert rms == pytest.approx(0.178, abs=0.006)


def test_our_solver_agrees_with_opencvs_from_the_same_corners() -> None:
    """From the same corners OpenCV finds f 533.1, and the views that our own fit has not seen miss by about its RMS."""
    corners = [find_corners(gray, BOARD) for gray in grays("left")]
    held = solve([View(one.points_px, one.used) for one in corners], Board(9, 6, 25.0, 25.0), SIZE)
    _, matrix, _ = opencv_solution([one.points_px for one in corners], cv2.CALIB_FIX_K3)
    flat = held.tried["k1 k2 p1 p2, flat board"]
    assert matrix[0, 0] == pytest.approx(533.1, abs=0.5)
    assert 0.15 < flat < 0.20


def test_the_sector_finder_is_the_reverse_of_the_classic_one_and_ours_orders_both() -> None:
    """The sector-based finder returns the corners in the reverse order of the classic one on these photographs."""
    gray = grays("left")[0]
    found, sector = cv2.findChessboardCornersSB(gray, (9, 6))
    classic = classic_corners(gray, BOARD.size)
    assert found
    assert classic is not None
    sector = sector.reshape(-1, 2).astype(float)
    assert np.abs(sector[::-1] - classic).max() < 5
    assert np.abs(ordered(sector, BOARD, gray) - ordered(classic, BOARD, gray)).max() < 5


@pytest.fixture(scope="module")
def both() -> dict[str, Calibration]:
    return {side: calibrate(sorted(SAMPLES.glob(f"{side}*.jpg")), board=BOARD) for side in ("left", "right")}


def test_every_photograph_is_used_and_the_stated_spread_holds_the_published_ones(both: dict[str, Calibration]) -> None:
    """f by other chains: sector-based 532.2, classic with a narrow window 533.1, another program 532.18 (left)."""
    left = both["left"]
    assert len(left.used) == 13
    assert left.state == "usable"  # the frame's left side and corners hold no board
    assert left.camera is not None
    assert left.camera.covariance is not None
    u95 = 2.0 * float(np.sqrt(left.camera.covariance[0, 0]))
    for f in (532.2, 533.1, 532.18):
        assert abs(left.camera.matrix[0, 0] - f) < max(2.0 * u95, 1.5)


def test_two_cameras_see_the_same_bent_board(both: dict[str, Calibration]) -> None:
    """Left and right photographed one board at the same moments; each, by itself, must find the same shape of it."""
    shapes = []
    for side in ("left", "right"):
        solution = both[side].solution
        assert solution is not None
        assert solution.adjustment.shape_released
        bent = solution.adjustment.board_mm[:, 2]
        aside = np.column_stack([BOARD.points_mm()[:, :2], np.ones(54)])
        shapes.append(bent - aside @ np.linalg.lstsq(aside, bent, rcond=None)[0])
    assert np.corrcoef(shapes)[0, 1] > 0.9
    assert np.std(shapes[0] - shapes[1]) < 0.05  # mm, of shapes whose own spread is near 0.1
