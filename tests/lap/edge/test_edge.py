"""Edge and corners on made strips: steps of known place, blurred and noisy, in the plainest light."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.edge.common_profile import align
from fitcheck.lap.edge.covered import covered
from fitcheck.lap.edge.edge_path import edge_path, edge_worth, log_tone
from fitcheck.lap.edge.square_corners import place_corners
from tests.lap.made_strip import Lap

PX_MM = 0.25


def found(lap: Lap, strip=None):
    """Edge between edge face and strake at the windows, the windows' places, and the two beds of its doubt."""
    strip = lap.strip() if strip is None else strip
    tone = log_tone(strip.values)
    shift = np.full(len(strip.along_mm), lap.width_mm)
    path = edge_path(strip, edge_worth(strip, tone, shift))
    aligned = align(strip, tone, path, lap.width_mm, np.zeros(len(strip.along_mm)))
    corners = place_corners(aligned, lap.width_mm, 0.3, PX_MM)
    return aligned, corners, aligned.down_mm + corners.strake_mm


@pytest.mark.parametrize("blur_mm", [0.12, 0.25])
@pytest.mark.parametrize("width_mm", [1.6, 3.0, 5.0])
@pytest.mark.parametrize("edge_mm", [-1.3, 0.42])
def test_a_step_lies_where_it_was_drawn(blur_mm, width_mm, edge_mm):
    lap = Lap(edge_mm=edge_mm, width_mm=width_mm, blur_mm=blur_mm)
    aligned, corners, edge = found(lap)
    inner = slice(3, -3)
    error = (edge - lap.edge_at(aligned.along_mm))[inner]
    assert abs(error.mean()) < 0.05
    assert np.std(error) < 0.03
    assert abs(error.mean()) < 2.0 * corners.u_strake_mm


@pytest.mark.parametrize("wander_mm", [0.8, 2.0])
def test_a_wandering_edge_is_followed(wander_mm):
    lap = Lap(wander_mm=wander_mm, grain=0.05)
    aligned, _, edge = found(lap)
    error = (edge - lap.edge_at(aligned.along_mm))[3:-3]
    error -= error.mean()
    assert np.sqrt((error**2).mean()) < 0.06
    assert np.abs(error).max() < 4.0 * np.hypot(aligned.u_mm[3:-3].max(), 0.03)


def test_noise_widens_the_doubt():
    quiet, loud = found(Lap(noise=1.0))[0], found(Lap(noise=8.0, grain=0.12))[0]
    assert np.median(loud.u_mm) > 1.5 * np.median(quiet.u_mm)


def test_a_clamp_is_covered_and_the_wood_beside_it_is_not():
    strip = Lap(wander_mm=0.5).strip()
    jaw = (strip.along_mm > 30.0) & (strip.along_mm < 62.0)
    strip.values[:, jaw] = (60.0, 70.0, 190.0)
    aligned, _, _ = found(Lap(wander_mm=0.5), strip)
    hidden = covered(aligned)
    under = (aligned.along_mm > 32.0) & (aligned.along_mm < 60.0)
    clear = (aligned.along_mm < 10.0) | (aligned.along_mm > 82.0)
    assert hidden[under].all()
    assert not hidden[clear].any()


def test_out_of_sight_is_covered():
    strip = Lap().strip()
    strip.seen[:, :150] = False
    aligned, _, _ = found(Lap(), strip)
    hidden = covered(aligned)
    assert hidden[aligned.along_mm < strip.along_mm[150] - 8.0].all()
    assert not hidden[aligned.along_mm > strip.along_mm[150] + 15.0].any()
