"""Cut the strips to train on: ``python -m tests.training.make_strips --scenes FOLDER --out FOLDER``.

They are cut by the measure's own functions, so that what is trained on is what is met in use. The course of the lap is
the true one, off by a little. Photographs whose strips are there already are passed over.
"""

from __future__ import annotations

import argparse
import json
import zlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.calibration.camera import load_camera
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Refused
from fitcheck.lap.course.boundaries import lap_direction, small_strip
from fitcheck.lap.course.course_evidence import FINE_COLUMNS, course_columns
from fitcheck.lap.course.find_course import COARSE_MM, Course, pixel_mm
from fitcheck.lap.evidence.odds import by_steps
from fitcheck.lap.square_on.scored_look import strip_along, strip_columns
from fitcheck.reference.pose import FacePose
from tests.training.scene_facts import load_facts
from tests.training.strips import CourseStrip, LapStrip, Strips
from tests.training.true_lap import TrueLap, at, card_outline, known_pose, true_lap

#: So far to either side of the card a lap is cut; a shorter one is not used.
REACH_MM, SHORTEST_MM = 330.0, 120.0
#: The course is found to about this, down the strip.
U_COURSE_MM = 0.3
#: A clamp's foot hides the wood, or throws its shadow on it, this far from its middle.
CLAMP_MM = 30.0


def strips_of(photo: Path) -> Strips:
    """Both strips of a made photograph. Raises :class:`Refused` where the measure could not cut them either."""
    truth, facts = json.loads(photo.with_suffix(".json").read_text()), load_facts(photo)
    camera = load_camera(photo.parent / "cameras" / f"{truth['camera']}.json")
    rng = np.random.default_rng(zlib.crc32(photo.stem.encode()))
    pixels = cv2.imread(str(photo), cv2.IMREAD_COLOR)
    outlines = (card_outline(truth),)
    pose = known_pose(truth, camera, rng)
    shrink = max(1, int(COARSE_MM / pixel_mm(pose)))
    small = cv2.resize(pixels, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    pose = pose.turned(lap_direction(small, pose, outlines, shrink))
    course = _course_strip(small, pose, outlines, shrink, truth)
    if not course.sheer_up:
        pose = pose.turned(0.0, flip=True)
    lap = _lap_strip(pixels, pose, outlines, truth, facts, rng)
    return Strips(photo.stem, (facts["strake_wood"], facts["plank_wood"]), course, lap)


def _course_strip(
    small: np.ndarray, pose: FacePose, outlines: tuple[np.ndarray, ...], shrink: int, truth: dict[str, Any]
) -> CourseStrip:
    strip = small_strip(small, pose, outlines, shrink)
    light, seen = course_columns(strip)
    x = by_steps(strip.along_mm, FINE_COLUMNS) / FINE_COLUMNS
    lap = true_lap(truth, pose)
    row = strip.rows(-at(lap.outer, x)).astype(np.float32)
    sheer_up = bool(np.mean(lap.inner[:, 1]) > 0.0)
    return CourseStrip(light.astype(np.float32), seen, row, _clamp_off(lap, x) > CLAMP_MM, sheer_up)


def _lap_strip(
    pixels: np.ndarray,
    pose: FacePose,
    outlines: tuple[np.ndarray, ...],
    truth: dict[str, Any],
    facts: dict[str, Any],
    rng: np.random.Generator,
) -> LapStrip | None:
    lap = true_lap(truth, pose)
    low, high = max(lap.outer[0, 0], -REACH_MM), min(lap.outer[-1, 0], REACH_MM)
    if high - low < SHORTEST_MM:
        return None
    x = np.arange(np.ceil(low), high)
    course = Course(pose, truth["keel"], x, at(lap.outer, x) + rng.normal(0.0, U_COURSE_MM))
    strip, px_mm = strip_along(pixels, course, outlines, _settings(truth))
    light, seen, along = strip_columns(strip)
    down = [strip.y_mm(along, 0.0) - at(mark, along) for mark in (lap.outer, lap.inner, lap.line)]
    drawn = facts["line_drawn"] or bool(truth["witness_mm"])
    line_seen = np.interp(along, lap.inner[:, 0], lap.line_seen) > 0.5
    return LapStrip(
        light, seen, strip.down_mm, along, *(one.astype(np.float32) for one in down), line_seen & drawn,
        _clamp_off(lap, along), 1.0 / px_mm, float(truth["witness_mm"]),
    )  # fmt: skip


def _settings(truth: dict[str, Any]) -> Settings:
    return Settings(
        reference=truth["reference"],
        thickness_mm=truth["thickness_mm"],
        bevel_deg=truth["bevel_deg"],
        witness_mm=truth["witness_mm"] or None,
    )


def _clamp_off(lap: TrueLap, x: np.ndarray) -> np.ndarray:
    """How far each place (C,) is from the middle of the nearest clamp; infinite where there is none."""
    return np.abs(x[:, None] - lap.clamps_x[None, :]).min(axis=1, initial=np.inf)


def main(arguments: Sequence[str] | None = None) -> None:
    """Cut what is not there yet; a photograph that cannot be cut is named and passed over."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenes", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args(arguments)
    given.out.mkdir(parents=True, exist_ok=True)
    for photo in sorted(given.scenes.glob("*.jpg")):
        path = given.out / f"{photo.stem}.npz"
        if path.exists():
            continue
        try:
            strips_of(photo).save(path)
        except Refused as refused:
            print(photo.stem, refused.reason.code, flush=True)


if __name__ == "__main__":
    main()
