"""A strip cut from a picture whose colour is its place reads back its own coordinates."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.strip import cut_strip
from tests.lap.made_pose import CAMERA, seen_px, standing

WIDTH, HEIGHT = CAMERA.size_px
STANDS = [(70.0, -90.0, 560.0), (-120.0, 160.0, 520.0)]


def ramp() -> np.ndarray:
    """Blue tells u, green tells v, both linear over the whole picture; red is even."""
    u, v = np.meshgrid(np.arange(WIDTH), np.arange(HEIGHT))
    return np.dstack([10.0 + 230.0 * u / WIDTH, 10.0 + 230.0 * v / HEIGHT, np.full(u.shape, 77.0)]).astype(np.float32)


def strip_of(pixels, pose, *, shrink=1, covers=()):
    along = np.arange(-150.0, 150.0, 0.5)
    base = 30.0 + 0.05 * along + 2.0 * np.sin(along / 60.0)
    down = np.arange(-15.0, 18.0, 0.1)
    return cut_strip(pixels, pose, along, base, down, shrink=shrink, covers=covers)


@pytest.mark.parametrize("stand_mm", STANDS)
@pytest.mark.parametrize("roll_deg", [0.0, 4.0])
def test_every_cell_reads_the_place_it_is_cut_from(stand_mm, roll_deg):
    pose = standing(stand_mm, roll_deg=roll_deg)
    strip = strip_of(ramp(), pose)
    rows, columns = np.meshgrid(np.arange(0, len(strip.down_mm), 37), np.arange(0, len(strip.along_mm), 29))
    x = strip.along_mm[columns].ravel()
    y = strip.y_mm(x, strip.down_mm[rows].ravel())
    truth = seen_px(pose, np.column_stack([x, y, np.zeros(len(x))]))
    told = strip.values[rows.ravel(), columns.ravel()]
    inside = strip.seen[rows.ravel(), columns.ravel()]
    assert inside.mean() > 0.9
    read = np.column_stack([(told[:, 0] - 10.0) * WIDTH, (told[:, 1] - 10.0) * HEIGHT]) / 230.0
    # OpenCV's cubic (a = -0.75) bends a ramp by up to 0.05 px between pixels, up and down alike; the nodes add 0.01.
    assert np.abs(read - truth)[inside].max() < 0.06
    assert np.abs((read - truth)[inside].mean(axis=0)).max() < 0.01
    assert told[inside, 2] == pytest.approx(77.0, abs=1e-3)


def test_a_reduced_picture_gives_the_same_strip():
    import cv2

    pose = standing(STANDS[0])
    full = strip_of(ramp(), pose)
    small = strip_of(cv2.resize(ramp(), None, fx=1 / 3, fy=1 / 3, interpolation=cv2.INTER_AREA), pose, shrink=3)
    both = full.seen & small.seen
    assert np.abs(full.values - small.values)[both].max() < 0.05


def test_what_lies_outside_the_picture_or_under_a_card_is_not_seen():
    pose = standing((0.0, 0.0, 300.0), (0.0, 30.0, 0.0))
    strip = strip_of(ramp(), pose)
    x, y = np.meshgrid(strip.along_mm, strip.down_mm)
    px = seen_px(pose, np.column_stack([x.ravel(), strip.y_mm(x.ravel(), y.ravel()), np.zeros(x.size)]))
    within = ((px > 5) & (px < [WIDTH - 6, HEIGHT - 6])).all(axis=1).reshape(x.shape)
    without = ((px < 0) | (px > [WIDTH - 1, HEIGHT - 1])).any(axis=1).reshape(x.shape)
    assert without.any(), "the strip must run out of this picture, or nothing is tested"
    assert strip.seen[within].all()
    assert not strip.seen[without].any()
    card = seen_px(pose, np.array([[-40.0, 20.0, 0], [40.0, 20.0, 0], [40.0, 35.0, 0], [-40.0, 35.0, 0]]))
    covered = strip_of(ramp(), pose, covers=(card,))
    under = (np.abs(x) < 39) & (strip.y_mm(x, y) > 21) & (strip.y_mm(x, y) < 34)
    beside = np.abs(x) > 46
    assert not covered.seen[under].any()
    assert (covered.seen == strip.seen)[beside].all()


def test_rows_and_heights_are_inverse():
    strip = strip_of(ramp(), standing(STANDS[0]))
    assert strip.rows(strip.down_mm) == pytest.approx(np.arange(len(strip.down_mm)), abs=1e-6)
    assert strip.row_mm == pytest.approx(0.1)
    assert strip.column_mm == pytest.approx(0.5)
