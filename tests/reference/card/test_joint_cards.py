"""Two cards on one strake solved together, and a bevel from a card on each plank: made from geometry alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.reference.card.joint_cards import bevel_between, joint_pose
from fitcheck.reference.pose import FacePose, solve_pose
from fitcheck.reference.sighting import Sighting
from tests.lap.made_pose import CAMERA, DEVIATIONS, seen_px, standing

#: ISO/IEC 7810, ID-1.
HALF_MM, THICK_MM, U_PX = (85.60 / 2, 53.98 / 2), 0.76, 0.2
CORNERS_MM = np.column_stack([np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * HALF_MM, np.full(4, THICK_MM)])
TRUTH = standing((60.0, -120.0, 450.0), (-70.0, 20.0, 0.0))


def seen(places_mm: np.ndarray, noise_px: np.ndarray | float = 0.0) -> Sighting:
    points = seen_px(TRUTH, places_mm) + noise_px
    return Sighting("id1", CORNERS_MM, points, np.full(4, U_PX), 0.0, points)


def laid(x_mm: float, y_mm: float, turn_deg: float, *, raised_mm: float = 0.0) -> np.ndarray:
    """The corners of a card that lies elsewhere on the strake."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    flat = CORNERS_MM[:, :2] @ np.array([[c, s], [-s, c]]) + (x_mm, y_mm)
    return np.column_stack([flat, CORNERS_MM[:, 2] + raised_mm])


SECOND_MM = laid(-170.0, 12.0, 25.0)


def test_two_cards_seen_perfectly_give_the_pose_they_were_seen_from():
    first = seen(CORNERS_MM)
    found = joint_pose(solve_pose(first, CAMERA), first, [seen(SECOND_MM)])
    assert found is not None
    assert found.camera_face_mm == pytest.approx(TRUTH.camera_face_mm, abs=0.01)
    assert found.rotation == pytest.approx(TRUTH.rotation, abs=1e-5)


def test_the_tilt_along_the_lap_is_held_far_better_and_as_well_as_is_stated():
    """80 draws know a standard deviation to 8 %; accepted: 30 % either way."""
    rng, draws = np.random.default_rng(11), 80
    off, stated = np.empty((draws, 2)), np.empty((draws, 2))
    for number in range(draws):
        first, second = (seen(at, U_PX * rng.normal(size=(4, 2))) for at in (CORNERS_MM, SECOND_MM))
        alone = solve_pose(first, CAMERA)
        both = joint_pose(alone, first, [second])
        assert both is not None
        for k, pose in enumerate((alone, both)):
            off[number, k] = (TRUTH.rotation.T @ pose.rotation)[0, 2]
            stated[number, k] = np.sqrt(pose.covariance[1, 1])
    assert off[:, 1].std() < 0.5 * off[:, 0].std()
    assert off[:, 1].std() == pytest.approx(np.median(stated[:, 1]), rel=0.3)


def test_cards_that_lie_in_no_one_plane_are_not_joined():
    first = seen(CORNERS_MM)
    up = laid(-170.0, 12.0, 25.0)
    tipped = up + np.column_stack([np.zeros((4, 2)), np.tan(np.radians(25.0)) * (up[:, 1] - 12.0)])
    assert joint_pose(solve_pose(first, CAMERA), first, [seen(tipped)]) is None


def planks(bevel_deg: float, roll_deg: float) -> FacePose:
    """The pose of a card on the plank's face, whose upper side leans out from the strake's by the bevel."""
    b, r = np.radians(bevel_deg), np.radians(roll_deg)
    across = np.array([0.0, np.cos(b), -np.sin(b)])
    out = np.array([0.0, np.sin(b), np.cos(b)])
    along = np.array([1.0, 0.0, 0.0])
    axes = np.column_stack([np.cos(r) * along + np.sin(r) * across, np.cos(r) * across - np.sin(r) * along, out])
    return replace(TRUTH, rotation=TRUTH.rotation @ axes)


@pytest.mark.parametrize("bevel_deg", [-3.0, 0.0, 6.0, 21.5])
@pytest.mark.parametrize("roll_deg", [0.0, 30.0, 180.0])
def test_the_bevel_is_the_angle_between_the_faces_however_the_card_lies(bevel_deg, roll_deg):
    assert bevel_between(TRUTH, planks(bevel_deg, roll_deg))[0] == pytest.approx(bevel_deg, abs=1e-9)


@pytest.mark.parametrize(("roll_deg", "axis"), [(0.0, 0), (90.0, 1), (180.0, 0)])
def test_both_cards_turns_about_the_lap_make_the_uncertainty_of_the_bevel(roll_deg, axis):
    expected = np.degrees(np.hypot(DEVIATIONS[0], DEVIATIONS[axis]))
    assert bevel_between(TRUTH, planks(6.0, roll_deg))[1] == pytest.approx(expected)
