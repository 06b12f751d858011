"""The stated uncertainty holds on made pictures: from 91 to 99.5 places in 100 lie inside it, where it states 95.

The lower end is the band of so few photographs, whose places share their errors. The upper end says that it is at most
1.43 times as wide as it should be (of a normal distribution 99.5 % lie within 2.81 standard deviations, 95 % within
1.96); 98 in 100, which the open lap is held to, would be 1.19 times. It is left wider here because these draws are
easier than the scenes of every kind that the uncertainty is set on (tests/lap/coverage.md).

The scenes are independent draws under the conditions the README asks for: the camera on the keel side, soft light, a
dark line on ordinary wood, a bank card, a flat hull. Bevel and thickness are told as gauges read them, each off by its
own stated doubt. The draws were first looked at when thresholds were fixed (docs/decisions.md, 20).
"""

import os
from pathlib import Path

import numpy as np

from tests.in_processes import in_processes
from tests.lap.scored import told_settings
from tests.scenes import draw_scene, render
from tests.scenes.cameras import CAMERAS

#: The test run takes the first scenes, enough photographs for the band; FITCHECK_COVERAGE=whole takes them all.
SCENES = 76 if os.environ.get("FITCHECK_COVERAGE") == "whole" else 44
SEED, FEWEST_MEASURED = 71300254, SCENES // 2
LEAST_INSIDE, MOST_INSIDE = 0.91, 0.995
STYLES = ("white", "blue", "printed")


def scene(number):
    """A draw under the README's conditions."""
    rng = np.random.default_rng([SEED, number])
    return draw_scene(
        rng,
        kind="plain",
        camera=CAMERAS["dunlin" if number % 2 else "sedge"],
        distance_mm=float(rng.uniform(380, 520)),
        elevation_deg=float(rng.uniform(-16, -2)),
        light_share=float(rng.uniform(0.2, 0.45)),
        penumbra_deg=float(rng.uniform(3, 9)),
        light_from_deg=float(rng.uniform(120, 240)),
        grain=float(rng.uniform(0.45, 0.8)),
        line_contrast=float(rng.uniform(0.4, 0.6)),
        line_width_mm=float(rng.uniform(0.4, 0.8)),
        line_skips=float(rng.uniform(0, 0.15)),
        line_tooth=float(rng.uniform(0.4, 0.7)),
        old_line_mm=None,
        saw_marks=0.0,
        rivets_mm=(),
        past_mm=float(rng.uniform(-4, -1.8)),
        past_wander_mm=float(rng.uniform(0.3, 1.0)),
        bevel_deg=float(round(rng.uniform(3, 9), 1)),
        reference="id1",
        reference_style=STYLES[number % 3],
        radius_mm=float("inf"),
        twist_deg_per_m=0.0,
        strake_paint=None,
        noise_dn=float(rng.uniform(1.2, 3.5)),
        blur_px=float(rng.uniform(0.5, 0.9)),
        clamps_mm=(),
        keel_up=False,
    )


def inside(number):
    """How many places of one scene were measured, and how many of them lie within their stated doubt."""
    from fitcheck.calibration.camera import Camera
    from fitcheck.one_photo.edge import measure_loaded
    from fitcheck.picture.photo import Photo

    made = render(scene(number))
    truth = made.truth
    size = tuple(truth["size"])
    camera = Camera(np.array(made.camera.matrix), np.array(made.camera.distortion), size)
    told = told_settings(truth, np.random.default_rng([SEED, number, 1]))
    measurement = measure_loaded(Photo(made.pixels, Path("made.jpg"), "0", 1, size), camera, told)
    at = np.array([sample["along_mm"] for sample in truth["samples"]])
    past = np.array([sample["past_line_mm"] for sample in truth["samples"]])
    found = [s for s in measurement.samples if s.past_line_mm is not None and at[0] <= s.along_mm <= at[-1]]
    within = [abs(s.past_line_mm - np.interp(s.along_mm, at, past)) <= s.u95_mm for s in found]
    return len(within), sum(within)


def test_errors_lie_within_the_stated_doubt():
    counts = np.array(in_processes(inside, range(SCENES)))
    measured = counts[:, 0] > 0
    coverage = counts[:, 1].sum() / counts[:, 0].sum()
    print(f"{coverage:.3f} of {counts[:, 0].sum()} places, {measured.sum()} of {SCENES} scenes")
    assert measured.sum() >= FEWEST_MEASURED
    assert LEAST_INSIDE <= coverage <= MOST_INSIDE, f"{coverage:.3f} over {measured.sum()} scenes"
