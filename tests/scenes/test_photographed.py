"""Surfaces from photographed boards: what lies in the picture is the photograph, and the line lies on it as struck."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.scenes import draw_scene
from tests.scenes.lap import Lap
from tests.scenes.photographed import FOLDER, STEP_ACROSS_MM, STEP_ALONG_MM, photographed, photographed_woods
from tests.scenes.picture import light_of
from tests.scenes.stands_out import line_stands_out
from tests.scenes.test_geometry import BARE
from tests.scenes.truth import truth_of
from tests.scenes.view import view_of

MARKED = replace(
    BARE, strake_paint=None, strake_wood="spruce_board_10", line_drawn=True, line_contrast=0.8, line_tooth=0.0,
    line_skips=0.0, elevation_deg=0.0, bevel_deg=4.0, past_mm=-4.0, past_wander_mm=0.0,
)  # fmt: skip


def test_every_board_has_its_picture_and_its_licence() -> None:
    pictures = {path.stem for path in FOLDER.glob("*.jpg")}
    assert set(photographed_woods()) == pictures
    told = (FOLDER / "README.md").read_text()
    assert "CC BY 4.0" in told
    assert "10.5281/zenodo.4694695" in told


def test_woods_left_out_are_the_other_ones() -> None:
    judged, tuned = set(photographed_woods(left_out=True)), set(photographed_woods(left_out=False))
    assert len(judged) >= 6
    assert not judged & tuned
    assert judged | tuned == set(photographed_woods())
    drawn = [draw_scene(np.random.default_rng(k), woods=sorted(tuned)) for k in range(40)]
    assert {scene.strake_wood for scene in drawn} | {scene.plank_wood for scene in drawn} <= tuned


def test_a_board_is_its_photograph() -> None:
    """Every colour of the laid board is one of the picture's: channels keep their ratios and their spread."""
    laid = photographed(3, "spruce_board_10", 0.0, (-200.0, 200.0), (-100.0, 40.0)).shade
    assert laid.shape == (int(140.0 / STEP_ACROSS_MM), int(400.0 / STEP_ALONG_MM), 3)
    picture = cv2.imread(str(FOLDER / "spruce_board_10.jpg")).astype(np.float64) / 255.0
    light = np.where(picture <= 0.04045, picture / 12.92, ((picture + 0.055) / 1.055) ** 2.4)
    ratio = [np.median(one[..., 0] / one[..., 2]) for one in (light, laid)]
    assert ratio[1] == pytest.approx(ratio[0], rel=0.05)
    spread = [np.std(np.log(one[..., 1])) for one in (light, laid)]
    assert spread[1] == pytest.approx(spread[0], rel=0.35)


@pytest.mark.parametrize(
    ("colour", "channel", "darker"), [("graphite", 1, True), ("blue", 2, True), ("light", 0, False)]
)
def test_a_line_has_the_colour_of_its_lead(colour: str, channel: int, darker: bool) -> None:
    light, _ = light_of(replace(MARKED, line_colour=colour))
    bare, _ = light_of(replace(MARKED, line_drawn=False))
    lap = Lap(MARKED)
    samples = truth_of(lap, view_of(MARKED, lap.hull))["samples"]
    column, row = np.round(samples[len(samples) // 2]["line_px"]).astype(int)
    change = (light - bare)[row, column - 60 : column + 60, channel]
    assert (change.mean() < 0.0) == darker
    assert abs(change.mean()) > 0.02


def test_hard_grain_takes_less_lead() -> None:
    ringed = replace(MARKED, strake_wood="spruce_board_15")
    bare = light_of(replace(ringed, line_drawn=False))[0]
    even, less = (bare - light_of(replace(ringed, line_hard=hard))[0] for hard in (0.0, 0.9))
    on = even.sum(axis=2) > 0.02
    taken, shade = (less / np.where(even, even, 1.0))[on][:, 1], bare[on][:, 1]
    dark, pale = np.quantile(shade, [0.2, 0.8])
    assert np.median(taken[shade < dark]) < 0.8
    assert np.median(taken[shade > pale]) > 0.95


def test_a_line_struck_twice_or_smeared_leaves_more() -> None:
    bare, _ = light_of(replace(MARKED, line_drawn=False))
    once = np.abs(light_of(MARKED)[0] - bare).sum()
    assert np.abs(light_of(replace(MARKED, line_double=0.5))[0] - bare).sum() > 1.1 * once
    assert np.abs(light_of(replace(MARKED, line_smear=0.2))[0] - bare).sum() > 1.1 * once


def test_a_line_stands_out_where_it_is_strong_and_nowhere_where_there_is_none() -> None:
    """On an even field a dark stripe outdoes all beside it; without it, chance alone says so one time in many."""
    rng = np.random.default_rng(2)
    field = rng.normal(120.0, 3.0, (300, 1200, 3))
    samples = [{"along_mm": x / 4.0, "line_px": [float(x), 150.0], "line_seen": True} for x in range(20, 1180, 20)]
    truth = {"samples": samples, "witness_mm": 0.0, "clamps_mm": []}
    assert line_stands_out(np.clip(field, 0, 255).astype(np.uint8), truth) < 0.3
    field[149:152] -= 25.0
    assert line_stands_out(np.clip(field, 0, 255).astype(np.uint8), truth) == 1.0
    hidden = {**truth, "samples": [{**s, "line_seen": False} for s in samples]}
    assert line_stands_out(np.clip(field, 0, 255).astype(np.uint8), hidden) == 0.0
