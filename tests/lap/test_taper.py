"""Parallax in a gain goes with the step that stands there: perfect sight of a tapering step gives the true value."""

import numpy as np
import pytest

from fitcheck.contract.gain import U_GAIN_MM, GainShape, step_mm
from fitcheck.lap.past_values import SILHOUETTE_LOSS_MM, Seen, past_values
from fitcheck.lap.section import Section, corner_shift_mm
from tests.lap.made_pose import corner_mm, seen_px, standing

THICKNESS_MM, BEVEL_DEG = 9.5, 5.0
ALONG = np.arange(-150.0, 151.0, 10.0)
GAIN = GainShape(260.0, 9.5, 0.0, "eased", end_mm=160.0)
SHEER_SIDE = (30.0, 240.0, 450.0)


def values(gains):
    """What perfect sight of the outer corner, from the sheer side, of a step run out by GAIN comes to."""
    pose = standing(SHEER_SIDE)
    line_y, past = np.full(len(ALONG), 42.0), -2.0 + np.sin(ALONG / 60.0)
    step = GAIN.height_mm(ALONG, GAIN.end_mm) - SILHOUETTE_LOSS_MM
    outer = np.array(
        [corner_mm(ALONG, line_y, past, BEVEL_DEG, float(rise))[1][k] for k, rise in enumerate(np.maximum(step, 0.0))]
    )
    every = np.ones(len(ALONG))
    seen = Seen(
        pose.face_from_px(seen_px(pose, outer)),
        np.column_stack([ALONG, line_y - 20.0]),
        0.07 * every,
        0.09 * every,
        0.05,
        True,
        20.0,
    )
    told = {"thickness_mm": THICKNESS_MM, "u_thickness_mm": 0.2, "bevel_deg": BEVEL_DEG, "u_bevel_deg": 1.0}
    found = past_values(pose, seen, **told, gains=gains)
    return found, found.past_mm - np.interp(found.along_mm, ALONG, past)


def test_with_the_gain_told_the_edge_is_found_true_down_to_flush():
    assert np.abs(values((GAIN,))[1]).max() < 0.05


def test_without_it_the_full_thickness_puts_the_edge_off_by_the_parallax_of_what_is_missing():
    """What is missing of the step, Δt, shifts the edge by Δt (cos b · tan θ − sin b) (plain geometry)."""
    found, off = values(())
    last = int(np.argmax(found.along_mm))
    missing = THICKNESS_MM - float(GAIN.height_mm(np.array([150.0]), 160.0)[0])
    tan = (240.0 - 40.0) / 450.0
    expected = missing * (np.cos(np.radians(BEVEL_DEG)) * tan - np.sin(np.radians(BEVEL_DEG)))
    assert abs(off[last]) == pytest.approx(expected, rel=0.15)


def test_in_the_gain_the_doubt_carries_how_well_gains_are_cut():
    with_gain, _ = values((GAIN,))
    inside, before = np.argmin(np.abs(with_gain.along_mm - 30.0)), np.argmin(with_gain.along_mm)
    ratio = with_gain.parts["thickness"][inside] / with_gain.parts["thickness"][before]
    assert ratio == pytest.approx(U_GAIN_MM / 0.2, rel=0.2)


def test_a_step_run_out_shows_no_edge_face():
    pose = standing((0.0, -300.0, 350.0))
    section = Section(THICKNESS_MM, np.radians(BEVEL_DEG), gains=(GAIN,))
    seen = corner_shift_mm(pose, section, np.array([-150.0, 160.0]), np.array([42.0, 42.0]), chamfer_end="face")
    assert seen[0] > 5.0
    assert seen[1] == pytest.approx(0.0, abs=1e-9)


def test_before_a_gain_the_plank_is_as_thick_as_told_and_the_lower_of_two_gains_rules():
    places = np.array([-200.0, 0.0, 400.0, 600.0])
    gains = [GainShape(100.0, 6.0, end_mm=0.0, toward=-1), GainShape(300.0, 6.0, end_mm=600.0)]
    assert step_mm(9.5, gains, places).tolist() == [0.0, 0.0, 4.0, 0.0]
    assert step_mm(9.5, gains, np.array([150.0]))[0] == 9.5


def test_moved_to_another_frame_a_gain_keeps_its_heights():
    """A photograph whose places fall along the plank, its card's middle at 900 mm of the tape."""
    along = np.array([-300.0, -50.0, 0.0, 120.0])
    on_plank = 900.0 - along
    there = GAIN.moved(900.0, -1)
    assert step_mm(9.5, [there], along) == pytest.approx(step_mm(9.5, [GAIN], on_plank))
