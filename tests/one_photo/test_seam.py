"""A seam's width in made photographs: drawn in mm, seen through a distorting lens, nothing shared with the program."""

from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.contract.hints import Hints
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import WrongCall
from fitcheck.one_photo.seam import measure_seam_loaded
from fitcheck.picture.photo import Photo
from tests.reference.flat_scene import CAMERA, Drawing, grain, photograph, view

PER_MM = 10.0
LENGTH_MM = 160.0


def width_at(x):
    """Closed on the left, opening from the middle to 1.2 mm at the right end."""
    return np.clip(np.asarray(x, float) / (LENGTH_MM / 2.0), 0.0, 1.0) * 1.2


def seen(*, closed=False, tilt_deg=12.0):
    """A photograph of a seam 50 mm above an ID-1 card, and the pixels of the seam's ends."""
    light = grain((1500, 2000), PER_MM, light=0.30, depth=0.02, seed=4)
    light[:250] = grain((250, 2000), PER_MM, light=0.22, depth=0.02, seed=8)
    x = (np.arange(2000) - 999.5) / PER_MM
    half = 0.0 * x if closed else 5.0 * width_at(x)
    row = np.arange(1500)[:, None]
    inside = np.clip(half - np.abs(row - 249.5) + 0.5, 0.0, 1.0)
    light = light * (1 - inside) + 0.02 * inside
    high, wide = round(53.98 * PER_MM / 2), round(85.60 * PER_MM / 2)
    cv2.rectangle(light, (1000 - wide, 750 - high), (1000 + wide - 1, 750 + high - 1), 0.7, -1)
    look = view(away_mm=240.0, tilt_deg=tilt_deg, turn_deg=3.0)
    pixels = photograph(Drawing(light, PER_MM), look)
    ends = look.px_of(np.array([[-LENGTH_MM / 2, 50.0], [LENGTH_MM / 2, 50.0]]), CAMERA)
    pixels = cv2.cvtColor(pixels, cv2.COLOR_GRAY2BGR) if pixels.ndim == 2 else pixels
    return pixels, tuple((float(u), float(v)) for u, v in ends)


def measured(**how):
    pixels, ends = seen(**how)
    photo = Photo(pixels, Path("made.png"), "0" * 64, 1, CAMERA.size_px)
    return measure_seam_loaded(photo, CAMERA, Settings(reference="id1", thickness_mm=9.5, hints=Hints(edge_at_px=ends)))


@pytest.mark.parametrize("tilt_deg", [0.0, 25.0])
def test_the_width_is_right_where_the_seam_stands_open(tilt_deg):
    answer = measured(tilt_deg=tilt_deg)
    assert answer, answer.reasons
    along = np.array([one.along_mm for one in answer.samples])
    gap = np.array([one.gap_mm for one in answer.samples])
    u95 = np.array([one.gap_u95_mm for one in answer.samples])
    true = width_at(along - LENGTH_MM / 2)
    wide = true > 0.2
    assert np.percentile(np.abs(gap - true)[wide], 95) < 0.15
    assert (np.abs(gap - true) <= u95).mean() > 0.9
    assert not any(one.state == "open" for one, width in zip(answer.samples, true, strict=True) if width < 0.02)
    assert all(one.state == "open" for one, width in zip(answer.samples, true, strict=True) if width > 0.6)


def test_wood_comes_off_where_the_seam_bears_and_never_where_it_is_open():
    answer = measured()
    opened = {round(one.place_mm(), 1) for one in answer.samples if one.state != "closed"}
    assert answer.bevel["cuts"]
    assert not opened & {place for place, _ in answer.bevel["cuts"]}
    assert max(depth for _, depth in answer.bevel["cuts"]) < 1.2


def test_a_closed_seam_asks_for_nothing():
    answer = measured(closed=True)
    assert not any(one.state == "open" for one in answer.samples)
    assert answer.bevel is None


def test_a_seam_not_pointed_at_is_a_wrong_call():
    pixels, _ = seen(closed=True)
    photo = Photo(pixels, Path("made.png"), "0" * 64, 1, CAMERA.size_px)
    with pytest.raises(WrongCall, match="edge-at"):
        measure_seam_loaded(photo, CAMERA, Settings(reference="id1", thickness_mm=9.5))
