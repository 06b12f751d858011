"""The adjustment against known lenses, against OpenCV's own solution, and its stated spread against Monte Carlo."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from fitcheck.calibration.adjust import Adjustment, View, adjust, first_solution, pose_of
from tests.calibration.board_scene import BOARD, lens, poses, views

CAMERA = lens(k3=-0.05)
POSES = poses()


def solved(seen: list[View], *, with_k3: bool = True, release_shape: bool = False) -> Adjustment:
    start = first_solution(seen, BOARD.points_mm(), CAMERA.size_px)
    return adjust(seen, start, with_k3=with_k3, release_shape=release_shape)


def test_a_known_lens_is_found() -> None:
    found = solved(views(CAMERA, POSES))
    np.testing.assert_allclose(found.lens[:4], CAMERA.parameters()[:4], atol=0.01)
    np.testing.assert_allclose(found.lens[4:], CAMERA.distortion, atol=2e-3)
    np.testing.assert_allclose(found.poses[:, 3:], POSES[:, 3:], atol=0.01)


def test_the_spread_agrees_with_opencv() -> None:
    """``cv2.calibrateCameraExtended`` states standard deviations for the same model and the same corners.

    OpenCV spreads the residuals over all corners alike; here corners in the tails count less, so a little more is said.
    """
    seen = views(CAMERA, POSES, noise_px=0.1)
    found = solved(seen)
    kept = [view.used for view in seen]
    objects = [BOARD.points_mm()[used].astype(np.float32) for used in kept]
    pixels = [view.points_px[view.used].astype(np.float32) for view in seen]
    _, matrix, _, _, _, spread, _, _ = cv2.calibrateCameraExtended(objects, pixels, CAMERA.size_px, None, None)
    stated = np.sqrt(np.diag(found.covariance))
    np.testing.assert_allclose(stated, spread.ravel()[:9], rtol=0.15)
    assert abs(found.lens[0] - matrix[0, 0]) < stated[0]


def test_the_stated_spread_is_that_of_repeated_trials() -> None:
    """40 sets of corners, noise 0.1 px: (found - true) / stated has a spread of 1; 40 draws give 0.85 to 1.18."""
    away = []
    for seed in range(40):
        found = solved(views(CAMERA, POSES, noise_px=0.1, seed=seed))
        away.append((found.lens - CAMERA.parameters()) / np.sqrt(np.diag(found.covariance)))
    assert 0.85 < np.sqrt(np.mean(np.square(away))) < 1.18
    assert found.scale_px == pytest.approx(0.1, rel=0.1)


def test_one_bad_corner_moves_nothing() -> None:
    seen = views(CAMERA, POSES, noise_px=0.05)
    clean = solved(seen)
    points = seen[3].points_px.copy()
    points[10] += [6.0, -4.0]
    spoilt = solved([*seen[:3], View(points, seen[3].used), *seen[4:]])
    assert np.all(np.abs(spoilt.lens - clean.lens) < 0.5 * np.sqrt(np.diag(clean.covariance)))


def test_a_corner_not_used_counts_for_nothing() -> None:
    seen = views(CAMERA, POSES, noise_px=0.05)
    used = seen[2].used.copy()
    used[:9] = False
    points = np.where(used[:, None], seen[2].points_px, 1e4)
    part = solved([*seen[:2], View(points, used), *seen[3:]])
    assert np.isnan(part.residuals_px[2][:9]).all()
    np.testing.assert_allclose(part.lens[:2], CAMERA.parameters()[:2], atol=1.0)


@pytest.mark.parametrize("bow_mm", [1.0, 0.0])
def test_releasing_the_board_finds_a_bow_and_frees_the_focal_length_of_it(bow_mm: float) -> None:
    """A bow of 1 mm biases the focal length when the board is held flat; released, the bow itself is found."""
    flat = BOARD.points_mm()
    middle = flat[:, :2].mean(axis=0)
    bent = flat.copy()
    bent[:, 2] = bow_mm * (1.0 - ((flat[:, 0] - middle[0]) / 100.0) ** 2)
    seen = views(CAMERA, POSES, noise_px=0.03, board_mm=bent)
    held, released = solved(seen), solved(seen, release_shape=True)
    true_f = CAMERA.matrix[0, 0]
    assert abs(released.lens[0] / true_f - 1) < 3e-4
    if bow_mm:
        assert abs(held.lens[0] / true_f - 1) > 3e-3
    # The board's own pose is free, so shapes are compared after the best plane is taken out of the difference.
    off = released.board_mm[:, 2] - bent[:, 2]
    plane = np.column_stack([flat[:, :2], np.ones(len(flat))])
    off -= plane @ np.linalg.lstsq(plane, off, rcond=None)[0]
    assert np.abs(off).max() < 0.03


def test_a_pose_alone_is_found_with_the_lens_held() -> None:
    seen = views(CAMERA, POSES[:1])[0]
    points = seen.points_px.copy()
    points[5] += 15.0
    pose, residuals = pose_of(replace(seen, points_px=points), BOARD.points_mm(), CAMERA.parameters(), 0.05)
    np.testing.assert_allclose(pose, POSES[0], atol=1e-3)
    assert np.linalg.norm(residuals[5]) == pytest.approx(15.0 * np.sqrt(2), rel=0.01)
