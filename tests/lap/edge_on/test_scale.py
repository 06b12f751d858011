"""Pixels across the edge to millimetres normal to the lap, against points that OpenCV projects."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.edge_on.scale import USUAL_SLANT_DEG, scale_by_reference, scale_by_thickness
from fitcheck.lap.section import Section
from tests.lap.made_pose import corner_mm, seen_px, standing

BEVEL_DEG, THICKNESS_MM, LINE_Y_MM = 6.0, 12.7, 30.0
SECTION = Section(THICKNESS_MM, np.radians(BEVEL_DEG))
ALONG = np.linspace(-80.0, 80.0, 9)
#: Low on the keel side, looking up along the face: 65 degrees off square at the lap.
POSE = standing(
    (0.0, LINE_Y_MM - 400.0 * np.sin(np.radians(65.0)), 400.0 * np.cos(np.radians(65.0))), (0, LINE_Y_MM, 0)
)


def seen(height_mm: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Inner corners (N, 2), which way the keel lies there, and how far off a point ``height_mm`` above them is seen."""
    inner, above = corner_mm(ALONG, np.full(9, LINE_Y_MM), np.zeros(9), BEVEL_DEG, height_mm)
    inner_px, above_px = seen_px(POSE, inner), seen_px(POSE, above)
    run = np.gradient(inner_px, axis=0)
    keelward = np.column_stack([-run[:, 1], run[:, 0]]) / np.linalg.norm(run, axis=1)[:, None]
    return inner_px, keelward, -((above_px - inner_px) * keelward).sum(axis=1)


@pytest.mark.parametrize("height_mm", [0.5, 3.0, 7.0, THICKNESS_MM])
def test_a_height_by_the_reference_is_the_one_that_was_projected(height_mm):
    inner_px, keelward, height_px = seen(height_mm)
    scale = scale_by_reference(POSE, SECTION, inner_px, keelward)
    assert scale.height_px(height_mm) == pytest.approx(height_px, rel=0.005)
    assert scale.height_mm(height_px) == pytest.approx(np.full(9, height_mm), rel=0.01)
    assert scale.along_mm == pytest.approx(ALONG, abs=1e-3)
    assert scale.slant_deg == pytest.approx(65.0, abs=0.01)


def test_the_uncertainty_by_the_reference_is_that_of_its_turn_and_distance():
    """A turn of 0.005 about the lap changes the sine of the slant by its cotangent; the distance changes all of it."""
    inner_px, keelward, _ = seen(1.0)
    told = scale_by_reference(POSE, SECTION, inner_px, keelward).u_relative
    assert told == pytest.approx(np.hypot(0.005 / np.tan(np.radians(65.0)), 1.0 / np.linalg.norm(POSE.translation_mm)))


@pytest.mark.parametrize("keel", ["down", "up"])
def test_by_the_thickness_the_edge_face_is_the_thickness_less_half_its_chamfer(keel):
    inner_px, height_px = np.column_stack([np.linspace(0.0, 800.0, 9), np.full(9, 300.0)]), np.full(9, 126.0)
    scale = scale_by_thickness(height_px, SECTION, 0.2, inner_px, keel)
    assert scale.height_mm(height_px) == pytest.approx(np.full(9, THICKNESS_MM - SECTION.chamfer_mm / 2.0))
    assert scale.u_relative == pytest.approx(np.hypot(0.2, 0.1) / 12.6)
    # 10 px are a millimetre out of the lap, foreshortened by the sine of the slant; along the lap nothing is.
    steps = np.diff(scale.along_mm) * (1.0 if keel == "down" else -1.0)
    assert steps == pytest.approx(np.full(8, 100.0 / 10.0 * np.sin(np.radians(USUAL_SLANT_DEG))))
    assert scale.along_mm[4] == 0.0
