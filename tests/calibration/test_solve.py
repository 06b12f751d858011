"""The lens model and the board's shape are chosen by held-out views; odd views are left out."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.calibration.adjust import View
from fitcheck.calibration.solve import rms, solve
from fitcheck.calibration.target import Board
from fitcheck.ground.refusal import Refused
from tests.calibration.board_scene import BOARD, lens, poses, views

POSES = poses()


def test_k3_is_kept_where_the_lens_has_one() -> None:
    with_k3 = solve(views(lens(k3=0.3), POSES, noise_px=0.03), BOARD, (1600, 1200))
    assert with_k3.adjustment.with_k3
    assert with_k3.tried["k1 k2 p1 p2 k3, flat board"] < with_k3.tried["k1 k2 p1 p2, flat board"]


def test_a_flat_board_is_held_flat_and_a_pitch_that_is_wrong_one_way_is_released() -> None:
    flat = solve(views(lens(), POSES, noise_px=0.03), BOARD, (1600, 1200))
    assert not flat.adjustment.shape_released
    stretched = BOARD.points_mm() * [1.004, 1.0, 1.0]
    found = solve(views(lens(), POSES, noise_px=0.03, board_mm=stretched), BOARD, (1600, 1200))
    assert found.adjustment.shape_released
    assert abs(found.adjustment.lens[0] / lens().matrix[0, 0] - 1) < 5e-4
    # Told both measured pitches, there is nothing to release.
    told = solve(views(lens(), POSES, noise_px=0.03, board_mm=stretched), Board(9, 6, 25.1, 25.0), (1600, 1200))
    assert not told.adjustment.shape_released


def test_a_board_whose_ends_look_alike_is_never_released() -> None:
    """A half turn of a 9 x 7 board cannot be seen, so its shape cannot be carried from view to view."""
    assert not Board(9, 7, 25, 25).told_apart
    assert Board(9, 6, 25, 25).told_apart


def test_the_held_out_figure_is_the_noise() -> None:
    """Noise of 0.1 px per axis is 0.14 px as a distance; views not seen by the fit miss by that and a little more."""
    found = solve(views(lens(), POSES, noise_px=0.1), BOARD, (1600, 1200))
    fit_px = rms(np.concatenate(found.adjustment.residuals_px))
    assert fit_px < found.held_out_px < 1.15 * fit_px
    assert found.held_out_px == pytest.approx(0.141, rel=0.08)


def test_a_view_of_a_board_that_moved_is_left_out() -> None:
    seen = views(lens(), POSES, noise_px=0.05)
    sheared = seen[4].points_px + 0.02 * (seen[4].points_px - 600.0)[:, ::-1] * [1.0, 0.0]
    bent = sheared + 8.0 * np.sin(np.arange(54) / 4.0)[:, None]
    found = solve([*seen[:4], View(bent, seen[4].used), *seen[5:]], BOARD, (1600, 1200))
    assert found.odd == (4,)
    assert len(found.views) == len(seen) - 1
    assert found.held_out_px < 0.1


def test_corners_of_no_board_are_refused() -> None:
    """All views in one place say nothing of the lens."""
    noise = np.random.default_rng(1)
    nowhere = [View(np.full((54, 2), 500.0) + noise.normal(0, 1e-9, (54, 2)), np.ones(54, bool)) for _ in range(6)]
    with pytest.raises(Refused) as refused:
        solve(nowhere, BOARD, (1600, 1200))
    assert refused.value.reason.code == "calibration-failed"


def test_k3_and_a_wrong_pitch_together_are_both_found() -> None:
    """Neither alone makes the held-out views better by much: the other's misfit hides it. All four models are tried."""
    stretched = BOARD.points_mm() * [0.996, 1.0, 1.0]
    found = solve(views(lens(k3=0.3), POSES, noise_px=0.02, board_mm=stretched), BOARD, (1600, 1200))
    assert found.model == "k1 k2 p1 p2 k3, board as found"
    assert len(found.tried) == 4
    assert abs(found.adjustment.lens[0] / lens().matrix[0, 0] - 1) < 3e-4
