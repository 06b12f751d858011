"""Draws and files: the same seed gives the same picture, every kind can be drawn, what is written reads back."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.scenes import CLASSES, draw_scene, render, save
from tests.scenes.draw import draw_plank
from tests.scenes.lap import Lap
from tests.scenes.make import drawn
from tests.scenes.test_geometry import BARE

SOON: dict[str, Any] = {"camera": BARE.camera, "board_mm": (-200.0, 200.0)}


def test_the_same_seed_gives_the_same_file() -> None:
    scene = draw_scene(np.random.default_rng(4), kind="plain", **SOON)
    again = draw_scene(np.random.default_rng(4), kind="plain", **SOON)
    assert scene == again
    assert render(scene).file == render(again).file
    assert render(replace(scene, seed=scene.seed + 1)).file != render(scene).file


@pytest.mark.parametrize("kind", sorted(CLASSES))
def test_every_kind_can_be_drawn(kind: str) -> None:
    """Five draws of each kind keep to the ranges asked of made scenes, and have a lap in the frame to measure."""
    for name, scene in drawn(5, 1, kind):
        assert name[0] in "dep"
        assert 0.0 <= scene.bevel_deg <= 12.0
        assert 6.0 <= scene.thickness_mm <= 15.0
        assert -76.0 <= scene.elevation_deg <= 25.0
    views = draw_plank(np.random.default_rng(1), photos=3)
    x = np.array([50.0])
    one, two = (Lap(view) for view in views[:2])
    apart = views[1].plank_at_mm - views[0].plank_at_mm
    assert one.past(x + apart)[0] == pytest.approx(two.past(x)[0])


def test_what_is_saved_reads_back(tmp_path: Path) -> None:
    made = render(replace(BARE, line_drawn=True))
    photo = save(made, tmp_path, "d001")
    with Image.open(photo) as picture:
        assert picture.size == BARE.camera.size_px
        exif = picture.getexif()
        assert (exif[271], exif[272]) == (BARE.camera.make, BARE.camera.model)
        assert exif.get_ifd(0x8769)[37386] == pytest.approx(BARE.camera.focal_mm)
    truth = json.loads((tmp_path / "d001.json").read_text())
    assert truth["name"] == "d001"
    assert truth["samples"] == made.truth["samples"]
    camera = json.loads((tmp_path / "cameras" / "wren.json").read_text())
    assert camera["size_px"] == [800, 600]
    np.testing.assert_allclose(camera["camera_matrix"], BARE.camera.matrix)
