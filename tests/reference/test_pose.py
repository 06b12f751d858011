"""The pose of the face: found again from points that OpenCV projects, and its covariance proved by trials."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.ground.refusal import Refused
from fitcheck.reference.pose import PRIOR_CENTRE, PRIOR_FOCAL, solve_pose
from fitcheck.reference.sighting import Sighting
from tests.lap.made_pose import CAMERA, seen_px, standing

WIDTH_MM, HEIGHT_MM, THICK_MM = 85.60, 53.98, 0.76
CORNERS_MM = np.column_stack(
    [np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * (WIDTH_MM / 2, HEIGHT_MM / 2), np.full(4, THICK_MM)]
)
STANDS = [(60.0, -150.0, 420.0), (-130.0, 90.0, 500.0), (10.0, 20.0, 450.0)]


def sighting(points_px: np.ndarray, *, u_px: float = 0.2, u_scale: float = 0.0) -> Sighting:
    return Sighting("id1", CORNERS_MM, points_px, np.full(4, u_px), u_scale, points_px)


@pytest.mark.parametrize("stand_mm", STANDS)
@pytest.mark.parametrize("roll_deg", [0.0, 25.0, 180.0])
def test_a_card_seen_perfectly_gives_the_pose_it_was_seen_from(stand_mm, roll_deg):
    """Neither square nor centred: any swap of axes or sign of y or z fails."""
    truth = standing(stand_mm, (15.0, 30.0, 0.0), roll_deg=roll_deg)
    found = solve_pose(sighting(seen_px(truth, CORNERS_MM)), CAMERA)
    assert found.camera_face_mm == pytest.approx(np.array(stand_mm), abs=0.01)
    assert found.rotation == pytest.approx(truth.rotation, abs=1e-5)
    assert found.residual_px < 1e-3
    assert found.camera_face_mm[2] > 0, "z of the face points toward the camera"


def test_places_on_the_face_and_off_it_go_there_and_back():
    pose = standing(STANDS[0])
    x, y = np.meshgrid(np.linspace(-150, 150, 7), np.linspace(-40, 70, 5))
    for height in (0.0, 12.7):
        points = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, height)])
        px = pose.px_from_face(points)
        assert px == pytest.approx(seen_px(pose, points), abs=1e-6)
        assert pose.face_from_px(px, height) == pytest.approx(points[:, :2], abs=1e-5)


@pytest.mark.parametrize("flip", [False, True])
def test_turning_the_face_turns_its_axes_and_nothing_else(flip):
    pose = standing(STANDS[0])
    turned = pose.turned(0.3, flip)
    angle = 0.3 + (np.pi if flip else 0.0)
    along = np.array([[np.cos(angle), np.sin(angle), 0.0]]) * 80.0
    assert turned.px_from_face(np.array([[80.0, 0.0, 0.0]])) == pytest.approx(pose.px_from_face(along), abs=1e-6)
    assert turned.tilt_deg == pytest.approx(pose.tilt_deg)
    # The doubt of a turn about the card's own long side is that of the same turn, whatever the axes are called.
    axis = turned.rotation.T @ pose.rotation @ np.array([1.0, 0.0, 0.0])
    assert axis @ turned.covariance[:3, :3] @ axis == pytest.approx(pose.covariance[0, 0])


@pytest.mark.parametrize("stand_mm", STANDS[:2])
def test_the_covariance_is_the_spread_of_trials(stand_mm):
    """240 draws of corner noise, lens and size know a standard deviation to 5 %; accepted: 20 % either way."""
    truth, rng = standing(stand_mm, (15.0, 30.0, 0.0)), np.random.default_rng(3)
    u_px, u_scale, draws = 0.2, 0.002, 240
    stated = solve_pose(sighting(seen_px(truth, CORNERS_MM), u_px=u_px, u_scale=u_scale), CAMERA)
    stands = np.empty((draws, 3))
    for number in range(draws):
        drifted = CAMERA.parameters()
        drifted[:2] *= 1.0 + PRIOR_FOCAL * rng.normal()
        drifted[2:4] += PRIOR_CENTRE * CAMERA.matrix[0, 0] * rng.normal(size=2)
        lens = standing(stand_mm, (15.0, 30.0, 0.0), camera=CAMERA.with_parameters(drifted))
        cut = CORNERS_MM * [1.0 + u_scale * rng.normal()] * np.array([1.0, 1.0, 1.0])
        seen = seen_px(lens, cut) + u_px * rng.normal(size=(4, 2))
        stands[number] = solve_pose(sighting(seen, u_px=u_px, u_scale=u_scale), CAMERA).translation_mm
    for axis in range(3):
        told = np.sqrt(stated.covariance[3 + axis, 3 + axis])
        assert stands[:, axis].std() == pytest.approx(told, rel=0.2), "xyz"[axis]


def test_a_worse_fit_than_the_corners_allow_widens_the_doubt():
    truth = standing(STANDS[0])
    seen = seen_px(truth, CORNERS_MM)
    bent = seen + np.array([[3.0, 0.0], [-3.0, 0.0], [3.0, 0.0], [-3.0, 0.0]])
    good, bad = (solve_pose(sighting(px), CAMERA) for px in (seen, bent))
    assert bad.residual_px > 1.0
    assert np.trace(bad.covariance[:3, :3]) > 4.0 * np.trace(good.covariance[:3, :3])


def test_a_card_seen_too_slantwise_is_refused():
    truth = standing((0.0, -500.0, 70.0), (0.0, 0.0, 0.0))
    with pytest.raises(Refused) as caught:
        solve_pose(sighting(seen_px(truth, CORNERS_MM), u_px=0.05), CAMERA)
    assert caught.value.reason.code == "reference-oblique"


@pytest.mark.parametrize("stand_mm", [(0.0, -60.0, 450.0), (90.0, 10.0, 450.0), (0.0, 130.0, 420.0)])
def test_the_stated_tilt_is_the_line_of_sights(stand_mm):
    truth = standing(stand_mm, (0.0, 0.0, 0.0))
    slant = np.degrees(np.arctan2(np.hypot(*stand_mm[:2]), stand_mm[2]))
    assert solve_pose(sighting(seen_px(truth, CORNERS_MM)), CAMERA).tilt_deg == pytest.approx(slant, abs=0.05)
