"""The line on made strips: its middle, its chance, its rivals, and what the builder points at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d
from scipy.special import ndtr

from fitcheck.lap.line.line import find_line
from tests.lap.made_strip import Lap

PX_MM = 0.25
PLACES = np.arange(-180.0, 181.0, 5.0)


def found(lap: Lap, *, expected_mm: float = 0.0, anchors=()):
    strip = lap.strip()
    lightness = np.ascontiguousarray(np.log(strip.values + 8.0).mean(axis=2))
    line = find_line(
        strip,
        lightness,
        lap.edge_at(strip.along_mm),
        PLACES,
        expected_mm=expected_mm,
        face_above_mm=lap.width_mm,
        px_mm=PX_MM,
        anchors=list(anchors),
    )
    return line, line.down_mm - lap.edge_at(PLACES)


@pytest.mark.parametrize("line_mm", [1.5, 2.77, 5.0])
@pytest.mark.parametrize("width_mm", [0.3, 0.5, 0.9])
def test_the_middle_of_a_line_is_found_without_bias(line_mm, width_mm):
    lap = Lap(line_mm=line_mm, line_width_mm=width_mm, noise=2.0)
    line, off = found(lap)
    error = (off - line_mm)[3:-3]
    assert abs(error.mean()) < 0.02
    assert np.abs(error).max() < 0.08
    assert line.chance.min() > 0.9
    assert np.abs(error).max() < 3.0 * line.u_mm.max()


@pytest.mark.parametrize("knuckle", [-0.15, 0.15])
def test_unlike_sides_hardly_move_it(knuckle):
    """The lap line lies on the knuckle: a bevel of 6° in raking light makes one side some 15 % lighter."""
    line, off = found(Lap(line_mm=4.0, line_width_mm=0.5, noise=1.5, knuckle=knuckle))
    error = (off - 4.0)[3:-3]
    assert abs(error.mean()) < 0.05
    assert abs(error.mean()) < np.median(line.u_mm)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("grain", [0.05, 0.2])
def test_bare_wood_is_no_line(grain, seed):
    line, _ = found(Lap(grain=grain, seed=seed))
    assert (line.chance >= 0.9).mean() < 0.1


def test_a_witness_line_is_looked_for_where_it_was_struck():
    """Two lines: the lap line at 3 mm, a witness line at 20 + 3."""
    lap = Lap(line_mm=3.0)
    strip = lap.strip()
    struck = Lap(line_mm=14.0, seed=9).strip()
    strip.values[strip.down_mm > 8.0] = struck.values[strip.down_mm > 8.0]
    lightness = np.ascontiguousarray(np.log(strip.values + 8.0).mean(axis=2))
    edge = lap.edge_at(strip.along_mm)
    options = {"face_above_mm": 2.5, "px_mm": PX_MM, "anchors": []}
    witness = find_line(strip, lightness, edge, PLACES, expected_mm=11.0, **options)
    assert np.median(witness.down_mm - lap.edge_at(PLACES)) == pytest.approx(14.0, abs=0.05)
    lap_line = find_line(strip, lightness, edge, PLACES, expected_mm=0.0, **options)
    assert np.median(lap_line.down_mm - lap.edge_at(PLACES)) == pytest.approx(3.0, abs=0.05)


def test_a_faint_line_is_followed_where_it_is_pointed_at():
    lap = Lap(line_mm=4.0, line_dark=0.06, line_flicker=0.0, grain=0.15, seed=3)
    unaided, _ = found(lap)
    aided, off = found(lap, anchors=[(0.0, 4.0), (60.0, 4.0)])
    between = (PLACES >= 0.0) & (PLACES <= 60.0)
    assert (unaided.chance < 0.9).all()
    assert (aided.chance[between] > 0.9).all()
    assert np.abs(off[between] - 4.0).max() < 1.0
    # A finger is good to a third of a millimetre, and that is said.
    assert aided.u_mm[between].min() >= 0.35
    assert (aided.chance[np.abs(PLACES) > 120.0] < 0.9).all()


def test_two_lines_alike_are_no_sure_line():
    lap = Lap(line_mm=3.0)
    strip = lap.strip()
    other = Lap(line_mm=8.0, seed=4).strip()
    strip.values[strip.down_mm > 5.5] = other.values[strip.down_mm > 5.5]
    lightness = np.ascontiguousarray(np.log(strip.values + 8.0).mean(axis=2))
    options = {"expected_mm": 0.0, "face_above_mm": 2.5, "px_mm": PX_MM, "anchors": []}
    line = find_line(strip, lightness, lap.edge_at(strip.along_mm), PLACES, **options)
    wrong = np.abs(line.down_mm - lap.edge_at(PLACES) - 3.0) > 1.0
    assert not (wrong & (line.chance >= 0.9)).any()


def with_shadow(lap: Lap, end_mm: float, *, ragged_mm: float, seed: int):
    """The lap's strip with a shadow on the strake from the edge to a ragged end."""
    strip = lap.strip()
    rng = np.random.default_rng(seed)
    ragged = gaussian_filter1d(rng.normal(size=len(strip.along_mm)), 2.0)
    end = lap.edge_at(strip.along_mm) + end_mm + ragged_mm * ragged / ragged.std()
    light = 0.45 + 0.55 * ndtr((strip.down_mm[:, None] - end[None, :]) / 0.2)
    below = strip.down_mm[:, None] > lap.edge_at(strip.along_mm)[None, :]
    return replace(strip, values=np.where(below[..., None], strip.values * light[..., None], strip.values))


@pytest.mark.parametrize("seed", range(4))
def test_the_ragged_end_of_a_shadow_is_no_line(seed):
    """It runs along the edge as a line does, and flickers; but it is darker than the wood on one side only."""
    lap = Lap(grain=0.05, seed=seed)
    line = find_in(with_shadow(lap, 8.0, ragged_mm=0.15, seed=seed), lap)
    assert (line.chance >= 0.9).mean() < 0.1
    drawn = Lap(grain=0.05, seed=seed, line_mm=3.5, line_dark=0.3)
    line = find_in(with_shadow(drawn, 8.0, ragged_mm=0.15, seed=seed), drawn)
    off = line.down_mm - drawn.edge_at(PLACES)
    assert np.median(np.abs(off - 3.5)) < 0.1


def find_in(strip, lap: Lap):
    lightness = np.ascontiguousarray(np.log(strip.values + 8.0).mean(axis=2)).astype(np.float32)
    options = {"expected_mm": 0.0, "face_above_mm": 2.5, "px_mm": PX_MM, "anchors": []}
    return find_line(strip, lightness, lap.edge_at(strip.along_mm), PLACES, **options)
