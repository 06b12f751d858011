"""Rules of many looks and divisions, made from how rules are divided, and two photographs of known geometry."""

from __future__ import annotations

import json
import os
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.reference.pose import FacePose, solve_pose
from fitcheck.reference.rule.rule import find_rule, unit_of
from fitcheck.reference.rule.rule_scale import scale_middle
from fitcheck.reference.sighting import Sighting
from tests.reference.flat_scene import CAMERA, View, photograph, view
from tests.reference.rule.rule_scene import BLACK, STEEL, WHITE, YELLOW, Look, draw_rule

PHOTOS = os.environ.get("FITCHECK_PHOTOS")
LAID = view(away_mm=190, tilt_deg=-9, toward_deg=3, turn_deg=2, at=(3, 5))
INCH_MM = 25.4


@lru_cache(maxsize=1)
def plain() -> np.ndarray:
    return photograph(draw_rule("mm", 150), LAID)


def true_scale(pose: FacePose, seen: View) -> float:
    """Length of 120 mm on the rule as the pose measures it, over 120 mm."""
    ends = pose.face_from_px(seen.px_of(np.array([(-60.0, 0.0), (60.0, 0.0)]), CAMERA), height_mm=1.0)
    return float(np.linalg.norm(ends[1] - ends[0]) / 120.0)


def turn_between(pose: FacePose, seen: View) -> np.ndarray:
    """Turn (3,) in radians from the true face to the measured one, about its own axes; either way round along x."""
    way = np.sign(seen.rotation[:, 0] @ pose.rotation[:, 0])
    return cv2.Rodrigues(pose.rotation.T @ seen.rotation @ np.diag([way, way, 1.0]))[0].ravel()


def middle_mm(pose: FacePose, seen: View) -> float:
    """Where the true middle of the scale lies along the measured x axis."""
    return float(pose.face_from_px(seen.px_of(np.zeros((1, 2)), CAMERA), height_mm=1.0)[0, 0])


@pytest.mark.parametrize(
    ("kind", "parts", "length_mm", "look", "tilt_deg", "turn_deg", "away_mm"),
    [
        ("rule-mm", "mm", 150.0, WHITE, -9, 2, 190),
        ("rule-mm", "mm", 150.0, STEEL, 14, -6, 190),
        ("rule-mm", "mm", 150.0, YELLOW, -20, 181, 200),
        ("rule-mm", "mm", 150.0, BLACK, 8, 2, 190),
        ("rule-mm", "mm", 100.0, WHITE, 6, 88, 190),
        ("rule-mm", "mm", 150.0, WHITE, 5, 3, 330),
        ("rule-mm", "half-mm", 100.0, WHITE, -9, 2, 150),
        ("rule-in", "1/16", 6 * INCH_MM, WHITE, -9, 2, 190),
        ("rule-in", "1/32", 6 * INCH_MM, STEEL, 12, 185, 190),
    ],
)
def test_rules_of_many_looks(
    kind: str, parts: str, length_mm: float, look: Look, tilt_deg: float, turn_deg: float, away_mm: float
) -> None:
    """Steel, white, yellow and black; millimetres, halves, parts of an inch; any way up; from 6 px to 3 px a mark."""
    seen = view(away_mm=away_mm, tilt_deg=tilt_deg, toward_deg=3, turn_deg=turn_deg, at=(3, 5))
    sighting = find_rule(photograph(draw_rule(parts, length_mm, look=look), seen), CAMERA, kind)
    pose = solve_pose(sighting, CAMERA)
    assert sighting.flags == ()
    assert true_scale(pose, seen) == pytest.approx(1.0, abs=3e-4)
    assert middle_mm(pose, seen) == pytest.approx(0.0, abs=0.03)
    tilt = np.hypot(*turn_between(pose, seen)[:2])
    assert tilt < 3.0 * np.sqrt(pose.covariance[0, 0])
    assert np.degrees(tilt) < (0.25 if away_mm < 300 else 0.6)


def test_every_mark_has_two_points_on_its_line() -> None:
    sighting = find_rule(plain(), CAMERA, "rule-mm")
    x = sighting.points_mm[:, 0].reshape(-1, 2)
    assert np.array_equal(x[:, 0], x[:, 1])
    assert np.array_equal(x[:, 0], np.arange(-74.0, 75.0))
    assert set(sighting.points_mm[:, 2]) == {1.0}
    assert sighting.u_scale == pytest.approx(np.hypot(0.15 / np.sqrt(3) / 148.0, 0.3 / 190.0), rel=0.02)
    along = sighting.points_mm[:, :2] * (np.sign(LAID.rotation[0, 0]), 1.0)
    assert np.abs(LAID.px_of(along, CAMERA) - sighting.points_px).max() < 0.3


def test_the_finest_inch_rule() -> None:
    """1/64 in: seen from near, only part of it is in the picture."""
    seen = view(away_mm=120, tilt_deg=-9, toward_deg=3, turn_deg=2, at=(3, 5))
    sighting = find_rule(photograph(draw_rule("1/64", 6 * INCH_MM, width_mm=25.0), seen), CAMERA, "rule-in")
    assert true_scale(solve_pose(sighting, CAMERA), seen) == pytest.approx(1.0, abs=3e-4)
    assert np.diff(np.unique(sighting.points_mm[:, 0])).min() == pytest.approx(INCH_MM / 64, abs=1e-9)
    assert sighting.flags == ("origin-from-what-is-seen",)


def test_cut_off_by_the_frame_it_still_serves() -> None:
    seen = view(away_mm=190, tilt_deg=-9, toward_deg=3, turn_deg=2, at=(75, 5))
    sighting = find_rule(photograph(draw_rule("mm", 150), seen), CAMERA, "rule-mm")
    assert "origin-from-what-is-seen" in sighting.flags
    assert true_scale(solve_pose(sighting, CAMERA), seen) == pytest.approx(1.0, abs=3e-4)
    assert abs(sighting.points_mm[0, 0] + sighting.points_mm[-1, 0]) < 1e-6


def test_under_a_clamp_the_count_goes_on() -> None:
    sighting = find_rule(photograph(draw_rule("mm", 150, covered_mm=(-10, 22)), LAID), CAMERA, "rule-mm")
    assert sighting.flags == ()
    assert middle_mm(solve_pose(sighting, CAMERA), LAID) == pytest.approx(0.0, abs=0.03)
    hidden = LAID.px_of(np.array([(-10.0, 8.0), (22.0, 8.0)]), CAMERA)[:, 0]
    inside = (sighting.points_px[:, 0] > hidden.min() + 3) & (sighting.points_px[:, 0] < hidden.max() - 3)
    assert not inside.any()


def test_a_clamp_is_not_the_end_of_the_scale() -> None:
    sighting = find_rule(photograph(draw_rule("mm", 150, covered_mm=(40, 100)), LAID), CAMERA, "rule-mm")
    assert "origin-from-what-is-seen" in sighting.flags


def test_bare_metal_beyond_the_scale_does_not_move_its_middle() -> None:
    seen = view(away_mm=190, tilt_deg=-9, turn_deg=-4)
    sighting = find_rule(photograph(draw_rule("mm", 150, margin_mm=6.0), seen), CAMERA, "rule-mm")
    assert sighting.flags == ()
    assert middle_mm(solve_pose(sighting, CAMERA), seen) == pytest.approx(0.0, abs=0.03)


def test_the_wrong_unit_is_caught() -> None:
    inches = photograph(draw_rule("1/16", 6 * INCH_MM), LAID)
    for picture, kind, there in ((inches, "rule-mm", "inches"), (plain(), "rule-in", "millimetres")):
        with pytest.raises(Refused) as refused:
            find_rule(picture, CAMERA, kind)
        assert refused.value.reason.code == "reference-unit"
        assert f"divided in {there}" in refused.value.reason.text
    assert unit_of(inches, CAMERA) == "rule-in"
    assert unit_of(plain(), CAMERA) == "rule-mm"


def test_of_two_graduated_edges_the_one_told_is_read() -> None:
    both = photograph(draw_rule("mm", 6 * INCH_MM, far_parts="1/32"), LAID)
    for kind, pitch_mm in (("rule-mm", 1.0), ("rule-in", INCH_MM / 32)):
        sighting = find_rule(both, CAMERA, kind)
        assert np.diff(np.unique(sighting.points_mm[:, 0])).min() == pytest.approx(pitch_mm, abs=1e-9)
        assert true_scale(solve_pose(sighting, CAMERA), LAID) == pytest.approx(1.0, abs=3e-4)


def test_marks_too_fine_for_the_picture_are_refused() -> None:
    """2.3 px a mark under a blur of 1.5 px: nothing of a half-millimetre division is left."""
    seen = view(away_mm=255, tilt_deg=-9, turn_deg=2)
    with pytest.raises(Refused) as refused:
        find_rule(photograph(draw_rule("half-mm", 150), seen, blur_px=1.5, noise=4.0), CAMERA, "rule-mm")
    assert refused.value.reason.code == "reference-unclear"


def test_no_rule_is_refused() -> None:
    bare = photograph(draw_rule("mm", 0.0, width_mm=0.001, numerals=False), LAID)
    with pytest.raises(Refused) as refused:
        find_rule(bare, CAMERA, "rule-mm")
    assert refused.value.reason.code == "no-reference"
    assert unit_of(bare, CAMERA) is None
    with pytest.raises(WrongCall):
        find_rule(bare, CAMERA, "id1")


def test_the_stated_tilt_is_the_tilt_found_over_many_rules() -> None:
    """Eight rules, random tilt, noise and blur: rms of error over stated deviation between 0.3 and 1.8."""
    rng = np.random.default_rng(11)
    drawn = draw_rule("mm", 150)
    ratios = []
    for seed in range(8):
        seen = view(
            away_mm=rng.uniform(180, 260),
            tilt_deg=rng.uniform(-25, 25),
            toward_deg=rng.uniform(-12, 12),
            turn_deg=rng.uniform(-15, 15),
            at=(rng.uniform(-8, 8), rng.uniform(-20, 20)),
        )
        picture = photograph(drawn, seen, noise=rng.uniform(1, 5), blur_px=rng.uniform(0.6, 1.4), seed=seed)
        pose = solve_pose(find_rule(picture, CAMERA, "rule-mm"), CAMERA)
        ratios.append(turn_between(pose, seen)[0] / np.sqrt(pose.covariance[0, 0]))
    assert 0.3 < np.sqrt(np.mean(np.square(ratios))) < 1.8


@pytest.mark.skipif(PHOTOS is None, reason="FITCHECK_PHOTOS is not set")
@pytest.mark.parametrize("name", ["h03", "h06"])
def test_photographs_of_known_geometry(name: str) -> None:
    """The lap line of the truth, laid into the rule's frame: scale to 0.1 %, origin within 1 mm."""
    folder = Path(str(PHOTOS))
    known = json.loads((folder / "cameras.json").read_text())["heron"]
    (fx, fy), (cx, cy) = known["focal_px"], known["centre_px"]
    matrix = np.array([[fx, 0, cx], [0, fy, cy], [0, 0, 1]])
    camera = Camera(matrix, np.array(known["distortion"]), tuple(known["size_px"]))
    truth = json.loads((folder / "laps" / f"{name}.json").read_text())
    sighting: Sighting = find_rule(cv2.imread(str(folder / "laps" / f"{name}.jpg")), camera, truth["reference"])
    assert sighting.flags == ()
    pose = solve_pose(sighting, camera)
    along = np.array([sample["along_mm"] for sample in truth["samples"]])
    line = pose.face_from_px(np.array([sample["line_px"] for sample in truth["samples"]]))
    near = np.abs(along) < 250
    lap = np.arctan(np.polyfit(line[near, 0], line[near, 1], 1)[0])
    place = line @ (np.cos(lap), np.sin(lap))
    scale, _ = np.polyfit(along[near], place[near], 1)
    assert scale == pytest.approx(1.0, abs=1e-3)
    assert np.interp(0.0, along, place) == pytest.approx(0.0, abs=1.0)


def test_the_middle_needs_a_usual_length() -> None:
    from fitcheck.reference.rule.rule_pattern import Division

    inches = Division("in", INCH_MM / 16, (2, 4, 8, 16))
    six = 6 * INCH_MM
    assert scale_middle(inches, (INCH_MM / 16, six - INCH_MM / 16), (0.1, six - 0.1)) == (six / 2, True)
    assert scale_middle(inches, (0.0, 100.0), (-0.2, 104.0))[1] is False
