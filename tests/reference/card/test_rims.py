"""A near side of a card is seen at its upper or its lower rim; the card's shape tells which."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.reference.card.rims import rims_left_open, settled
from fitcheck.reference.pose import FacePose, solve_pose
from fitcheck.reference.sighting import Sighting
from tests.reference.flat_scene import CAMERA, view

# ISO/IEC 7810: 85.60 x 53.98 x 0.76 mm.
HALF = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * (85.60 / 2, 53.98 / 2)
UPPER = np.column_stack([HALF, np.full(4, 0.76)])
NEAR_RIM = [2, 3]


def _true_pose(tilt_deg: float) -> FacePose:
    seen = view(away_mm=380.0, tilt_deg=tilt_deg, toward_deg=4.0, turn_deg=3.0, at=(10.0, -6.0))
    return FacePose(CAMERA, seen.rotation, seen.translation_mm, np.zeros((9, 9)), np.zeros(3))


def _seen(pose: FacePose, share: float) -> Sighting:
    """The card as its sides are read: the near one ``share`` of the way down from the upper to the lower rim."""
    upper, lower = pose.px_from_face(UPPER), pose.px_from_face(UPPER * (1.0, 1.0, 0.0))
    corners = upper.copy()
    for end, along in ((2, upper[1] - upper[2]), (3, upper[0] - upper[3])):
        normal = np.array([-(upper[3] - upper[2])[1], (upper[3] - upper[2])[0]])
        corners[end] += share * along * ((lower - upper)[end] @ normal) / (along @ normal)
    return Sighting("id1", UPPER, corners, np.full(4, 0.1), 0.0009, corners)


def _near_is_below(pose: FacePose) -> bool:
    return bool(pose.camera_face_mm[1] < HALF[2, 1])


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("tilt_deg", [35.0, 55.0, 66.0])
def test_scale_is_right_whichever_rim_is_seen(share, tilt_deg):
    true = _true_pose(tilt_deg) if _near_is_below(_true_pose(tilt_deg)) else _true_pose(-tilt_deg)
    seen = _seen(true, share)
    opened = rims_left_open(seen, solve_pose(seen, CAMERA))
    pose = solve_pose(opened, CAMERA)
    marks = true.px_from_face(np.array([[-40.0, 25.0, 0.0], [40.0, 25.0, 0.0], [0.0, 50.0, 0.0], [0.0, 0.0, 0.0]]))
    read = pose.face_from_px(marks)
    assert np.linalg.norm(read[1] - read[0]) == pytest.approx(80.0, rel=0.004)
    assert np.linalg.norm(read[3] - read[2]) == pytest.approx(50.0, rel=0.012)
    assert np.abs(settled(opened, pose).points_px - true.px_from_face(UPPER)).max() < 0.9


def test_the_lower_rim_taken_for_the_upper_one_misleads():
    """What the rims left open mend: without them the same card reads lengths across the lap 2 % wrong and more."""
    true = _true_pose(62.0) if _near_is_below(_true_pose(62.0)) else _true_pose(-62.0)
    pose = solve_pose(_seen(true, 1.0), CAMERA)
    read = pose.face_from_px(true.px_from_face(np.array([[0.0, 50.0, 0.0], [0.0, 0.0, 0.0]])))
    assert abs(np.linalg.norm(read[1] - read[0]) / 50.0 - 1.0) > 0.02


def test_sides_that_face_away_are_left_alone():
    """Straight above the card's middle no side faces the camera."""
    turn, shift = np.diag([1.0, -1.0, -1.0]), np.array([0.0, 0.0, 400.0])
    above = FacePose(CAMERA, turn, shift, np.zeros((9, 9)), np.zeros(3))
    seen = Sighting("id1", UPPER, above.px_from_face(UPPER), np.full(4, 0.1), 0.0009, UPPER[:, :2])
    assert rims_left_open(seen, above) is seen
