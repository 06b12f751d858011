"""Photographs of another, invented plank, which the tests swap in: ``python -m tests.plank.other_plank`` makes them.

Its edge lies far past its line, so that a cut taken from it would spoil the plank that it is swapped into. Its cards
lie as far apart as two of that plank's do, which is the hardest to tell. It was made with the same camera.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from fitcheck.calibration.camera import load_camera
from tests.samples import TEAL
from tests.scenes.cameras import Camera
from tests.scenes.draw import draw_plank
from tests.scenes.picture import render
from tests.scenes.scene import Scene

FOLDER = Path(__file__).with_name("other")
#: How far apart the two cards of a made photograph lie: the two distances of the sample plank's photographs.
APART_MM = (289.0, 322.0)


def made_camera() -> Camera:
    """The sample photographs' camera, as the picture maker takes one."""
    known = load_camera(TEAL)
    (fx, _, cx), (_, fy, cy), _ = known.matrix.tolist()
    k1, k2, p1, p2, k3 = (float(one) for one in known.distortion)
    return Camera("teal", known.size_px, (fx, fy), (cx, cy), (k1, k2, p1, p2, k3), "Saltmarsh", "Teal 3", 4.1, 28)


def scenes() -> list[Scene]:
    """One for each of APART_MM, its cards numbered 0 and 1."""
    fixed = {
        "camera": made_camera(),
        "thickness_mm": 9.5,
        "lap_mm": 25.4,
        "bevel_deg": 6.0,
        "past_mm": 2.5,
        "past_wander_mm": 0.8,
        "elevation_deg": -8.0,
        "distance_mm": 480.0,
        "line_contrast": 0.5,
        "line_skips": 0.05,
        "strake_paint": None,
        "saw_marks": 0.0,
        "rivets_mm": (),
        "keel_up": False,
        "noise_dn": 2.0,
        "exposure": 0.3,
        "jpeg_quality": 80,
    }
    first = draw_plank(np.random.default_rng(20291), photos=1, **fixed)[0]
    return [
        replace(first, stations=((0, 0.0), (1, apart)), plank_at_mm=apart / 2.0, clamps_mm=()) for apart in APART_MM
    ]


def path_of(apart_mm: float) -> Path:
    """Where the photograph lies whose cards are so far apart."""
    return FOLDER / f"invented-{apart_mm:.0f}.jpg"


def main() -> None:
    """Make both."""
    for apart, scene in zip(APART_MM, scenes(), strict=True):
        path_of(apart).write_bytes(render(scene).file)


if __name__ == "__main__":
    main()
