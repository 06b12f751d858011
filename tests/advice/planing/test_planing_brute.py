"""The linear programmes against the best of every possibility tried, on cases small enough to try them all."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from fitcheck.advice.planing.fair_cut import BEND_WEIGHT, LEFT_WEIGHT, _basis, _cut_on, fair_cut
from fitcheck.advice.planing.measured_edge import Edge
from fitcheck.advice.planing.slide_and_swing import MOVE_WEIGHT, SHORT_WEIGHT, best_move

LIMIT = 0.8


def edge_with(past, u95):
    at = np.arange(len(past)) * 400.0
    return Edge(
        at, np.array(past, float), np.full(len(past), u95), ("on",) * len(past), LIMIT, np.zeros(len(past), bool)
    )


def worth(edge, slide, swing, about, shallowest):
    """What the programme minimises, worked straight from its words, for every slide (N,) with every swing (M,)."""
    slide, swing = np.atleast_1d(slide), np.atleast_1d(swing)
    moved = edge.past_mm + slide[:, None, None] + swing[:, None] * (edge.at_mm - about) / 1000
    band = np.maximum(edge.u95_mm, LIMIT - edge.u95_mm)
    wood, short = np.maximum(0, moved - band), np.maximum(0, -moved - band)
    reach = np.abs(edge.at_mm - about).max() / 1000
    most = wood.max(axis=-1) if shallowest else wood.mean(axis=-1)
    moving = np.add.outer(abs(slide), abs(swing) * reach)
    return SHORT_WEIGHT * short.mean(axis=-1) + most + MOVE_WEIGHT * moving


@pytest.mark.parametrize("shallowest", [False, True])
@pytest.mark.parametrize(
    "past",
    [
        (2.1, 1.4, 0.9, 2.5),
        (-2.0, -1.1, 0.3, 1.9),
        (3.0, -3.0, 3.0, -3.0),
        (-1.9, 0.4, 0.1, -2.2, 1.0),
        (0.7, 2.9, 2.9, 0.7, -1.1),
    ],
)
def test_the_move_is_the_best_of_a_fine_grid(past, shallowest):
    edge, about = edge_with(past, 0.2), 600.0
    move = best_move(
        edge,
        may_slide_mm=2.0,
        may_swing_mm_per_m=3.0,
        about_mm=about,
        prefer="shallowest" if shallowest else "least-wood",
    )
    best = worth(edge, np.linspace(-2, 2, 401), np.linspace(-3, 3, 601), about, shallowest).min()
    found = worth(edge, move.slide_mm, move.swing_mm_per_m, about, shallowest).item()
    # No grid point beats it, beyond what rounding the move to 1e-4 mm costs where shortness weighs a thousandfold.
    assert found <= best + SHORT_WEIGHT * 2e-4


def test_of_equal_moves_the_smallest_is_kept():
    # All 2.0 past ± 0.2: any slide toward the sheer from 1.4 to 2.6 needs no cut and leaves nothing short.
    move = best_move(
        edge_with((2.0, 2.0, 2.0), 0.2), may_slide_mm=9.0, may_swing_mm_per_m=9.0, about_mm=400.0, prefer="least-wood"
    )
    assert (move.slide_mm, move.swing_mm_per_m) == (pytest.approx(-1.4, abs=1e-3), 0.0)


@pytest.mark.parametrize(
    ("need", "most"),
    [
        ((0.0, 0.6, 1.2, 0.7, 0.0), (0.0, 1.0, 1.6, 1.1, 0.0)),
        ((0.2, 0.9, 0.3, 0.4, 0.1), (0.5, 1.0, 0.5, 0.9, 0.3)),
        ((0.8, 0.2, 0.8, 0.2, 0.8), (0.9, 0.3, 0.9, 0.3, 0.9)),
    ],
)
def test_the_cut_is_the_best_of_every_spline_of_a_grid(need, most):
    at = np.linspace(0, 120, 5)
    need, most = np.array(need), np.array(most)
    basis = _basis(at, 200.0).toarray()
    weights = np.array(list(itertools.product(np.linspace(-0.6, 2.4, 31), repeat=4)))
    depths = weights @ basis.T
    allowed = (depths >= -1e-9).all(axis=1) & (depths <= most + 1e-9).all(axis=1)

    def cost(depth, weight):
        left = np.maximum(0, need - depth).mean(axis=-1)
        bend = np.abs(np.diff(weight, n=2, axis=-1)).max(axis=-1)
        return depth.mean(axis=-1) + 1e-3 * depth.max(axis=-1) + LEFT_WEIGHT * left + BEND_WEIGHT * bend

    best = cost(depths[allowed], weights[allowed]).min()
    found = _cut_on(_basis(at, 200.0), need, most, shallowest=False)
    found_weights = np.linalg.lstsq(basis, found, rcond=None)[0]
    assert (found <= most + 1e-6).all()
    assert (found >= -1e-6).all()
    assert cost(found, found_weights) <= best + 1e-6


def test_shallowest_is_never_deeper_and_least_wood_never_takes_more():
    at = np.arange(0, 600, 5.0)
    need = 0.8 + 0.5 * np.sin(at / 60)
    most = need + 0.4
    least = fair_cut(at, need, most)
    shallow = fair_cut(at, need, most, prefer="shallowest")
    assert shallow.max() <= least.max() + 1e-6
    assert least.mean() <= shallow.mean() + 0.02
