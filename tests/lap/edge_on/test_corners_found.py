"""The two corners of the edge face in a picture drawn flat, without a photograph."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.lap.edge_on.corner_pair import find_by_thickness
from fitcheck.lap.edge_on.edge_corners import follow_inner, follow_outer
from fitcheck.lap.edge_on.find_edge import EdgeOn
from fitcheck.lap.edge_on_band import cut_band, edge_line
from tests.lap.edge_on.made_look import flat_lap

UPPER_PX, INNER_PX, BLOCK_PX = 200.0, 260.0, 6
#: A plank of 12.7 mm is seen 60 px high from 470 mm or so.
CAMERA = Camera(np.array([[2200.0, 0, 449.5], [0, 2200.0, 239.5], [0, 0, 1.0]]), np.zeros(5), (900, 480))
DOWN = np.array([0.0, 1.0])


def rough(row_px: float) -> EdgeOn:
    points = np.column_stack([np.linspace(5.0, 894.0, 90), np.full(90, row_px)])
    return EdgeOn(points, DOWN, "down", INNER_PX - UPPER_PX, None)


def tall_band(pixels: np.ndarray):
    line = edge_line(rough(INNER_PX - 0.5).points_px, DOWN)
    return cut_band(pixels, line, np.arange(-110.0, 3.0), BLOCK_PX)


@pytest.mark.parametrize("slit_px", [0.0, 4.0])
def test_a_pair_of_corners_as_far_apart_as_the_plank_is_thick_is_found(slit_px):
    pixels = flat_lap(slit_px=slit_px)
    found = find_by_thickness(pixels, CAMERA, 12.7, "down")
    assert np.median(found.points_px[:, 1]) == pytest.approx(INNER_PX, abs=3.0)
    assert found.height_px == pytest.approx(INNER_PX - UPPER_PX, abs=5.0)


def test_the_dark_of_a_slit_tells_which_corner_is_the_inner_one():
    pixels = flat_lap(slit_px=4.0)
    assert find_by_thickness(pixels, CAMERA, 12.7, "auto").keel == "down"
    turned = np.ascontiguousarray(pixels[::-1, ::-1])
    assert find_by_thickness(turned, CAMERA, 12.7, "auto").keel == "up"


def test_bare_paper_has_no_edge():
    pixels = np.random.default_rng(1).normal(200.0, 1.5, (480, 900, 3)).astype(np.uint8)
    with pytest.raises(Refused) as refused:
        find_by_thickness(pixels, CAMERA, 12.7, "auto")
    assert refused.value.reason.code == "no-edge"


@pytest.mark.parametrize("off_px", [-9.0, 0.0, 12.0])
def test_the_inner_corner_is_followed_from_a_rough_edge_that_is_off(off_px):
    line = follow_inner(flat_lap(), rough(INNER_PX + off_px), BLOCK_PX, 24.0)
    assert np.abs(line.at_px[30:-30, 1] - (INNER_PX - 0.5)).max() < 1.5


def test_the_outer_corner_is_found_at_its_height_and_a_faint_one_is_refused():
    count = tall_band(flat_lap()).values.shape[1]
    full = np.full(count, INNER_PX - UPPER_PX)
    found = follow_outer(tall_band(flat_lap()), full, 1.0, full_everywhere=False)
    assert np.median(np.abs(found.height_px - (INNER_PX - UPPER_PX))) < 1.0
    assert not found.flush.any()
    with pytest.raises(Refused) as refused:
        follow_outer(tall_band(flat_lap(levels=(150.0, 150.0, 150.0))), full, 1.0, full_everywhere=False)
    assert refused.value.reason.code == "edge-faint"


def test_a_step_that_is_level_but_not_full_may_be_a_streak_and_is_not_sure():
    """A streak at nine tenths of two thirds of the height, where the corner itself does not show."""
    band = tall_band(flat_lap(upper_px=220.0))
    found = follow_outer(band, np.full(band.values.shape[1], 60.0), 1.0, full_everywhere=False)
    wrong = np.abs(found.height_px - 60.0)
    assert (wrong <= 1.96 * found.u_px)[20:-20].mean() > 0.95


def test_a_step_that_runs_out_to_flush_is_unsure_where_its_corner_is_lost():
    """Full to the left, nothing from two thirds on: between them the top of the edge face comes down evenly."""
    pixels, bare = flat_lap(), flat_lap(upper_px=259.0)
    columns = np.arange(pixels.shape[1])
    top = np.clip(200.0 + (columns - 150.0) / 450.0 * 60.0, 200.0, 260.0)
    rows = np.arange(pixels.shape[0])[:, None]
    pixels = np.where(((rows >= 200.0) & (rows < top))[..., None], bare, pixels)
    count = tall_band(pixels).values.shape[1]
    found = follow_outer(tall_band(pixels), np.full(count, 60.0), 1.0, full_everywhere=False)
    true = 260.0 - top[np.arange(count) * BLOCK_PX + BLOCK_PX // 2]
    assert found.flush[-10:].all()
    assert (np.abs(found.height_px - true) <= 1.96 * found.u_px + 1.0).mean() > 0.9


def test_a_step_far_from_full_that_grain_could_feign_is_not_sure():
    """The outer corner stands at two thirds of the height that was given: found there, or said to be unsure."""
    count = tall_band(flat_lap()).values.shape[1]
    found = follow_outer(tall_band(flat_lap(upper_px=220.0)), np.full(count, 60.0), 1.0, full_everywhere=False)
    off = np.abs(found.height_px - 40.0)
    assert (off <= 3.0 * found.u_px).mean() > 0.95
