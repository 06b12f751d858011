"""The camera: turning it with the picture, its file, and matching it to a photograph."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.calibration.camera import Camera, check_match, load_camera, save_camera
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.picture.identity import CameraIdentity
from fitcheck.picture.orientation import turned_pixels, upright_from_stored
from fitcheck.picture.photo import Photo

TEAL = CameraIdentity("Saltmarsh", "Teal 3", "main", 4.1, 28.0, None)


def camera() -> Camera:
    """Not square, off centre, with unequal tangential terms: any swap or sign shows."""
    spread = np.random.default_rng(4).normal(size=(9, 9)) * np.array([2, 2, 3, 3, 0.01, 0.03, 0.001, 0.001, 0.05])
    return Camera(
        matrix=np.array([[820.0, 0, 301.5], [0, 834.0, 262.25], [0, 0, 1]]),
        distortion=np.array([-0.21, 0.11, 0.004, -0.007, -0.02]),
        size_px=(640, 480),
        covariance=spread.T @ spread,
        identity=TEAL,
    )


@pytest.mark.parametrize("orientation", range(1, 9))
def test_turning_the_points_is_turning_the_pixels(orientation: int) -> None:
    stored = camera()
    turned = stored.turned(orientation)
    directions, shift_px = upright_from_stored(orientation, stored.size_px)
    points = np.random.default_rng(1).uniform([-0.3, -0.25, 1.0], [0.3, 0.25, 1.4], (60, 3))
    points_upright = np.column_stack([points[:, :2] @ directions.T, points[:, 2]])
    upright_px = stored.project(points) @ directions.T + shift_px
    np.testing.assert_allclose(turned.project(points_upright), upright_px, atol=1e-9)
    seen = points_upright[:, :2] / points_upright[:, 2:]
    np.testing.assert_allclose(turned.undistort(upright_px), seen, atol=1e-8)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_map_of_points_is_the_one_of_pixels(orientation: int) -> None:
    pixels = np.zeros((480, 640), np.uint8)
    pixels[37, 512] = 255
    directions, shift_px = upright_from_stored(orientation, (640, 480))
    u, v = (directions @ [512, 37] + shift_px).astype(int)
    assert turned_pixels(pixels, orientation)[v, u] == 255


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_covariance_turns_with_the_camera(orientation: int) -> None:
    """A draw turned is a draw of the turned camera: draws turned one by one, against the covariance turned."""
    stored = camera()
    draws = np.random.default_rng(2).multivariate_normal(stored.parameters(), stored.covariance, 400)
    turned = np.array([stored.with_parameters(draw).turned(orientation).parameters() for draw in draws])
    centre = stored.turned(orientation)
    np.testing.assert_allclose(stored.with_parameters(stored.parameters()).matrix, stored.matrix)
    steps = np.linalg.lstsq(draws - draws.mean(0), turned - turned.mean(0), rcond=None)[0]
    np.testing.assert_allclose(steps.T @ stored.covariance @ steps, centre.covariance, rtol=1e-6, atol=1e-12)


def test_projection_agrees_with_the_written_model() -> None:
    """D. C. Brown's model in the form of OpenCV's documentation of calib3d, written out here by hand."""
    one = camera()
    x, y = 0.23, -0.17
    k1, k2, p1, p2, k3 = one.distortion
    r2 = x * x + y * y
    radial = 1 + k1 * r2 + k2 * r2**2 + k3 * r2**3
    u = 820.0 * (x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)) + 301.5
    v = 834.0 * (y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y) + 262.25
    np.testing.assert_allclose(one.project(np.array([[2 * x, 2 * y, 2.0]])), [[u, v]], atol=1e-9)


def test_no_points_give_no_points() -> None:
    assert camera().undistort(np.empty((0, 2))).shape == (0, 2)
    assert camera().project(np.empty((0, 3))).shape == (0, 2)


def test_the_file_reads_back(tmp_path: Path) -> None:
    one = camera()
    path = save_camera(one, tmp_path / "calib" / "teal.json")
    back = load_camera(path)
    np.testing.assert_array_equal(back.parameters(), one.parameters())
    np.testing.assert_array_equal(back.covariance, one.covariance)
    assert (back.size_px, back.identity) == (one.size_px, TEAL)
    assert [entry.name for entry in path.parent.iterdir()] == ["teal.json"]


def test_a_lens_term_that_was_held_has_no_spread_and_reads_back(tmp_path: Path) -> None:
    """Without k3 its row of the covariance is zero."""
    held = np.diag([1.0] * 8 + [0.0])
    back = load_camera(save_camera(replace(camera(), covariance=held), tmp_path / "teal.json"))
    np.testing.assert_array_equal(back.covariance, held)


def test_a_file_with_only_the_contract_entries_loads(tmp_path: Path) -> None:
    value = {"camera_matrix": camera().matrix.tolist(), "distortion": [0.1, 0, 0, 0], "size_px": [640, 480]}
    (tmp_path / "bare.json").write_text(json.dumps(value))
    bare = load_camera(tmp_path / "bare.json")
    assert bare.covariance is None
    assert bare.distortion.tolist() == [0.1, 0, 0, 0, 0]


@pytest.mark.parametrize(
    ("entry", "value"),
    [
        ("camera_matrix", [[820, 0, 300], [0, -820, 200], [0, 0, 1]]),
        ("camera_matrix", [[820, 5, 300], [0, 820, 200], [0, 0, 1]]),
        ("camera_matrix", [[820, 0, 9000], [0, 820, 200], [0, 0, 1]]),
        ("camera_matrix", [[820, 0], [0, 820]]),
        ("camera_matrix", [[float("nan"), 0, 300], [0, 820, 200], [0, 0, 1]]),
        ("distortion", [0.1, 0.2]),
        ("distortion", "none"),
        ("size_px", [0, 480]),
        ("size_px", None),
        ("covariance", np.diag([-1.0] * 9).tolist()),
        ("covariance", [[1.0]]),
        ("identity", {"make": 7}),
        ("schema", 99),
    ],
)
def test_an_unusable_file_is_a_wrong_call(tmp_path: Path, entry: str, value: object) -> None:
    path = save_camera(camera(), tmp_path / "teal.json")
    kept = json.loads(path.read_text())
    path.write_text(json.dumps({**kept, entry: value}))
    with pytest.raises(WrongCall, match=r"teal\.json"):
        load_camera(path)


@pytest.mark.parametrize("content", [b"", b"{", b"[1, 2]", b"\xff\xd8\xff\xe0", b"null", b"[" * 100_000])
def test_a_file_that_is_no_camera_is_a_wrong_call(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "odd.json").write_bytes(content)
    with pytest.raises(WrongCall, match=r"odd\.json"):
        load_camera(tmp_path / "odd.json")
    with pytest.raises(WrongCall):
        load_camera(tmp_path / "none.json")


def photo(identity: CameraIdentity = TEAL, size_px: tuple[int, int] = (640, 480), orientation: int = 1) -> Photo:
    return Photo(np.zeros((8, 8, 3), np.uint8), Path("fit.jpg"), "0", orientation, size_px, identity)


@pytest.mark.parametrize(
    ("code", "other"),
    [
        ("camera-size", photo(size_px=(1280, 960))),
        ("camera-size", photo(size_px=(480, 640))),
        ("camera-other", photo(replace(TEAL, model="Heron 12"))),
        ("camera-lens", photo(replace(TEAL, lens="wide"))),
        ("camera-lens", photo(replace(TEAL, focal_mm=5.6))),
        ("camera-zoom", photo(replace(TEAL, focal_35mm_mm=56.0))),
        ("camera-zoom", photo(replace(TEAL, digital_zoom=2.0))),
    ],
)
def test_another_camera_size_lens_or_zoom_is_refused(code: str, other: Photo) -> None:
    with pytest.raises(Refused, match=r"fit\.jpg") as refused:
        check_match(camera(), other)
    assert refused.value.reason.code == code


def test_the_same_camera_matches_however_it_was_held() -> None:
    for orientation in range(1, 9):
        assert check_match(camera(), photo(orientation=orientation)) == ()


def test_what_is_not_told_is_a_warning() -> None:
    warnings = check_match(camera(), photo(CameraIdentity()))
    assert [one.code for one in warnings] == ["camera-unknown"]


def test_undistorting_agrees_with_opencv_on_a_whole_picture() -> None:
    """OpenCV's undistortion map says which pixel each straight direction comes from; ours must give it back."""
    one = camera()
    map_u, map_v = cv2.initUndistortRectifyMap(
        one.matrix, one.distortion, np.eye(3), one.matrix, one.size_px, cv2.CV_32FC1
    )
    v, u = np.mgrid[40:440:40, 40:600:40]
    seen = one.undistort(np.column_stack([map_u[v, u].ravel(), map_v[v, u].ravel()]))
    straight = seen * [820.0, 834.0] + [301.5, 262.25]
    np.testing.assert_allclose(straight, np.column_stack([u.ravel(), v.ravel()]), atol=1e-3)
