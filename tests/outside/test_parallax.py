"""Plain geometry of a leaning plank, recomputed: parallax with and without bevel, sag, scale of a nearer card.

Sources: plane trigonometry; the parallax t(cos b tan θ − sin b), and the figures 1.11, 2.24, 4.62 and 3.27 mm for a
half-inch plank, 3.75 mm of sag and 1.9 % of scale were worked out by hand apart from this program.
"""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.section import Section, corner_shift_mm, past_of_corner
from fitcheck.reference import pose as pose_module
from tests.lap.made_pose import corner_mm, seen_px, standing

HALF_INCH_MM = 12.7
LINE_Y_MM = 40.0


def stand_over(outer: np.ndarray, elevation_deg: float, away_mm: float = 500.0) -> tuple[float, float, float]:
    """Where the camera stands to see the outer corner (x, y, z) from this far off square, + on the sheer side."""
    return (outer[0], outer[1] + away_mm * np.tan(np.radians(elevation_deg)), outer[2] + away_mm)


@pytest.mark.parametrize(
    ("elevation_deg", "bevel_deg", "hides_mm"),
    [(5.0, 0.0, 1.11), (10.0, 0.0, 2.24), (20.0, 0.0, 4.62), (20.0, 6.0, 3.27)],
)
def test_the_outer_corner_hides_so_much_from_the_sheer_side(elevation_deg, bevel_deg, hides_mm):
    at = np.zeros(1)
    inner, outer = corner_mm(at, at + LINE_Y_MM, at, bevel_deg, HALF_INCH_MM)
    pose = standing(stand_over(outer[0], elevation_deg))
    section = Section(HALF_INCH_MM, np.radians(bevel_deg), chamfer_mm=0.0)
    shift = corner_shift_mm(pose, section, at, at + LINE_Y_MM, chamfer_end="face")
    assert -shift[0] == pytest.approx(hides_mm, abs=0.005)
    # And what the camera sees: the outer corner's pixel lies on the face that far toward the keel.
    apparent = pose.face_from_px(seen_px(pose, outer))[0, 1]
    assert inner[0, 1] - apparent == pytest.approx(hides_mm, abs=0.005)


@pytest.mark.parametrize("bevel_deg", [0.0, 2.0, 6.0, 12.0])
def test_the_inner_corner_is_in_sight_up_to_the_bevel(bevel_deg):
    at = np.zeros(1)
    _, outer = corner_mm(at, at + LINE_Y_MM, at, bevel_deg, HALF_INCH_MM)
    section = Section(HALF_INCH_MM, np.radians(bevel_deg), chamfer_mm=0.0)
    for off_deg, in_sight in ((-0.5, True), (0.5, False)):
        pose = standing(stand_over(outer[0], bevel_deg + off_deg))
        shift = corner_shift_mm(pose, section, at, at + LINE_Y_MM, chamfer_end="face")
        assert (shift[0] > 0) == in_sight


@pytest.mark.parametrize("corner", ["inner", "outer"])
@pytest.mark.parametrize("bevel_deg", [0.0, 6.0, 12.0])
@pytest.mark.parametrize("stand_mm", [(60.0, -140.0, 480.0), (-110.0, 230.0, 450.0)])
def test_a_corner_seen_gives_back_how_far_past_or_short_it_is(corner, bevel_deg, stand_mm):
    """From the keel side and from the sheer side, off to one side, over a line that wanders."""
    along = np.linspace(-180.0, 180.0, 37)
    past = np.linspace(-4.5, 2.5, 37)
    line_y = lambda x: LINE_Y_MM + 0.02 * x + 1.5 * np.sin(x / 70.0)  # noqa: E731
    inner, outer = corner_mm(along, line_y(along), past, bevel_deg, HALF_INCH_MM)
    points, rise = (inner, 0.0) if corner == "inner" else (outer, HALF_INCH_MM)
    pose = standing(stand_mm)
    toward = pose.directions(seen_px(pose, points))
    found_along, found_past = past_of_corner(
        pose.camera_face_mm, toward, line_y, Section(HALF_INCH_MM, np.radians(bevel_deg)), rise
    )
    assert found_along == pytest.approx(along, abs=0.01)
    assert found_past == pytest.approx(past, abs=0.001)


@pytest.mark.parametrize(("chord_mm", "radius_mm", "sag_mm"), [(300.0, 3000.0, 3.75), (600.0, 3000.0, 15.0)])
def test_sag_of_a_curved_hull(chord_mm, radius_mm, sag_mm, monkeypatch):
    """c²/8R; the pose allows for that much at half a chord from the card."""
    monkeypatch.setattr(pose_module, "CURVE_RADIUS_MM", radius_mm)
    sag, _ = standing((0.0, 0.0, 500.0)).departs(np.array([chord_mm / 2.0]))
    assert sag[0] == pytest.approx(sag_mm, abs=0.005)


def test_a_card_on_the_planks_face_is_that_much_too_large():
    """9.5 mm nearer at 500 mm: 1.9 % of scale."""
    pose = standing((0.0, 0.0, 500.0), (0.0, 0.0, 0.0))
    seen = seen_px(pose, np.array([[-40.0, 0.0, 9.5], [40.0, 0.0, 9.5]]))
    assert np.ptp(pose.face_from_px(seen)[:, 0]) / 80.0 - 1.0 == pytest.approx(0.019, abs=0.0005)
    assert np.ptp(pose.face_from_px(seen, height_mm=9.5)[:, 0]) == pytest.approx(80.0, abs=1e-6)
