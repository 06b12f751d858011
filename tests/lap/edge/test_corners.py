"""Which corner is which in the edge's profile, on made strips: the path may have followed either one.

What is checked against is the drawing itself: steps of known place. That an edge face is of one wood with its plank
and hardly ever just as light as the plank's face is a fact of the trade (common practice, no source). The curve by
which light is stored is that of IEC 61966-2-1.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.lap.edge.common_profile import align
from fitcheck.lap.edge.edge_path import EdgePath, edge_path, edge_worth, log_tone, values_of
from fitcheck.lap.edge.on_strake import find_pencil, find_shadow, step_shape
from fitcheck.lap.edge.relative_light import relative_light
from fitcheck.lap.edge.square_corners import place_corners
from fitcheck.lap.edge.transitions import Pairs, colour_lag, misfits
from fitcheck.lap.square_on.square_look import LEAST_CHANCE
from tests.lap.made_strip import Lap

PX_MM = 0.25
PALE_PLANK = Lap(
    face=(0.40, 0.52, 0.62), edge_face=(0.33, 0.43, 0.51), strake=(0.07, 0.11, 0.30), width_mm=3.0, line_mm=2.6
)
LIKE_WOODS = Lap(strake=(0.15, 0.24, 0.34), width_mm=3.0)


def corners_from(lap: Lap, follows: str, u_width_mm: float = 0.25):
    """The corners where the rough path followed the ``follows`` corner, their place told from the inner corner."""
    strip = lap.strip()
    tone = log_tone(strip.values)
    shift = np.full(len(strip.along_mm), lap.width_mm)
    path = edge_path(strip, edge_worth(strip, tone, shift))
    down = np.full(len(path.along_mm), lap.edge_mm - (lap.width_mm if follows == "outer" else 0.0))
    path = EdgePath(path.along_mm, down, path.outer_gain, path.inner_gain, path.gain)
    aligned = align(strip, tone, path, lap.width_mm, np.zeros(len(shift)))
    corners = place_corners(aligned, lap.width_mm, u_width_mm, PX_MM)
    return corners, float(np.median(aligned.down_mm[3:-3])) + corners.strake_mm - lap.edge_mm


@pytest.mark.parametrize("follows", ["outer", "inner"])
@pytest.mark.parametrize("lap", [PALE_PLANK, LIKE_WOODS, Lap(width_mm=2.0, line_mm=3.0)])
def test_either_corner_leads_to_the_same_edge(lap, follows):
    corners, error = corners_from(lap, follows)
    assert abs(error) < 0.12
    assert corners.chance > LEAST_CHANCE


def test_a_pencil_line_an_edge_width_below_is_no_inner_corner():
    corners, error = corners_from(replace(PALE_PLANK, line_mm=3.0, line_dark=0.7), "inner")
    assert abs(error) < 0.12
    assert corners.chance > LEAST_CHANCE


def test_a_hidden_inner_corner_lies_beyond_the_one_step_seen():
    """Seen from a little too far on the sheer side the width is negative: the corner is inferred, its doubt the
    geometry's."""
    lap = Lap(edge_face=(0.13, 0.20, 0.30), width_mm=0.01)
    strip = lap.strip()
    tone = log_tone(strip.values)
    nothing = np.zeros(len(strip.along_mm))
    aligned = align(strip, tone, edge_path(strip, edge_worth(strip, tone, nothing)), 0.0, nothing)
    corners = place_corners(aligned, -0.4, 0.1, PX_MM)
    step = float(np.median(aligned.down_mm)) + corners.face_mm
    assert abs(step) < 0.08
    assert corners.strake_mm - corners.face_mm == pytest.approx(-0.4, abs=0.1)
    assert corners.u_strake_mm > 0.08


def test_bare_wood_gives_no_sure_reading_of_its_own():
    """Without any step the reading rests on nothing but the rough path; grain must not make it surer than that."""
    wood = (0.20, 0.32, 0.45)
    surest = [
        corners_from(Lap(face=wood, edge_face=wood, strake=wood, grain=0.15, seed=seed, width_mm=3.0), "outer")[0]
        for seed in range(4)
    ]
    assert np.mean([one.u_strake_mm for one in surest]) > 0.2


def test_tone_and_levels_are_one_another():
    levels = np.random.default_rng(3).uniform(0.0, 255.0, (50, 3))
    np.testing.assert_allclose(values_of(log_tone(levels)), levels, rtol=2e-4, atol=2e-3)


def test_light_relative_to_the_face_is_one_on_it_and_has_no_colour_there():
    profile = log_tone(np.vstack([np.full((20, 3), (90.0, 120.0, 150.0)), np.full((20, 3), (45.0, 60.0, 75.0))]))
    light = relative_light(profile, np.arange(40) < 20)
    np.testing.assert_allclose(light[:20], [[1.0, 0.0, 0.0, 0.0, 0.0]] * 20, atol=1e-4)
    np.testing.assert_allclose(light[20:, 0], 0.5**2.2, rtol=1e-3)
    np.testing.assert_allclose(light[20:, 3:], 0.0, atol=1e-4)


@pytest.mark.parametrize("ratio", [0.25, 1.0, 4.0])
def test_a_ratio_of_colours_changes_toward_the_darker_side(ratio):
    """By mixing: a step of light by ``ratio`` and of colour at one place, blurred together."""
    y, blur = np.arange(-6.0, 6.0, 0.02), 0.4
    mix = step_shape(y, blur)
    red, green = (1.0 - mix) * 1.0 + mix * ratio * 1.3, (1.0 - mix) + mix * ratio
    seen = float(np.interp(0.5 * np.log(1.3), np.log(red / green), y))
    lag = float(colour_lag(y, np.where(y < 0, 1.0, ratio), np.zeros((1, 1)), blur)[0, 0])
    assert lag == pytest.approx(seen, abs=0.06)


def test_the_two_transitions_drawn_leave_no_misfit():
    y, blur = np.arange(-5.0, 6.0, 0.1), 0.2
    level = 10.0 - 4.0 * step_shape(y - 0.1, np.hypot(blur, 0.12)) + 2.0 * step_shape(y - 2.1, blur)
    widths, outers = np.arange(1.0, 3.05, 0.1)[:, None], np.arange(-0.9, 1.0, 0.1)[None, :]
    pairs = Pairs(widths, outers, np.zeros((len(widths), outers.shape[1])))
    left = misfits(y, level, pairs, blur, [], None)
    width, outer = np.unravel_index(int(np.argmin(left)), left.shape)
    assert widths[width, 0] == pytest.approx(2.0)
    assert outers[0, outer] == pytest.approx(0.1)
    assert left.min() < 1e-3


def test_pencil_and_shadow_are_found_where_they_are_drawn_and_not_elsewhere():
    y = np.arange(-4.0, 8.0, 0.1)
    wood = np.full(len(y), 0.9)
    pencil = wood - 0.3 * np.exp(-0.5 * ((y - 4.0) / 0.25) ** 2)
    shadow = wood - 0.3 * (step_shape(y - 1.0, 0.2) - step_shape(y - 5.0, 0.3))
    found = find_pencil(y, pencil, 0.02)
    assert found is not None
    assert found.at_mm == pytest.approx(4.0, abs=0.1)
    ends = find_shadow(y, shadow, PX_MM)
    assert ends is not None
    assert (ends.at_mm, ends.depth) == (pytest.approx(5.0, abs=0.15), pytest.approx(1.0 / 3.0, abs=0.05))
    assert find_pencil(y, wood, 0.02) is None
    assert find_shadow(y, wood, PX_MM) is None
