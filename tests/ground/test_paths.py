"""Dynamic programming against every path there is, on fields small enough to walk them all."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from fitcheck.ground.paths import best_path
from fitcheck.ground.trellis import search

SEEDS = range(12)


def fields(rows: int, columns: int):
    return [np.random.default_rng(seed).normal(size=(rows, columns)) for seed in SEEDS]


def every_path(gain: np.ndarray, reach: int) -> np.ndarray:
    """All paths (P, C) moving at most ``reach`` rows a column."""
    rows, columns = gain.shape
    paths = np.array(list(itertools.product(range(rows), repeat=columns)))
    return paths[(np.abs(np.diff(paths, axis=1)) <= reach).all(axis=1)]


def evidence(gain: np.ndarray, paths: np.ndarray) -> np.ndarray:
    return gain[paths, np.arange(gain.shape[1])].sum(axis=1)


@pytest.mark.parametrize("reach", [1, 2])
@pytest.mark.parametrize("bend_cost", [0.0, 0.3, 2.0])
def test_the_best_path_is_the_best_of_all(reach, bend_cost):
    for gain in fields(5, 6):
        paths = every_path(gain, reach)
        totals = evidence(gain, paths) - bend_cost * np.abs(np.diff(paths, axis=1)).sum(axis=1)
        rows, mean = best_path(gain, reach=reach, bend_cost=bend_cost)
        assert rows.tolist() == paths[np.argmax(totals)].tolist()
        assert mean == pytest.approx(totals.max() / gain.shape[1])


def fair_totals(gain: np.ndarray, steepest: int, bend_cost: float) -> tuple[np.ndarray, np.ndarray]:
    """All fair paths, whose slope changes by one row a column at most, and their totals: each change costs."""
    paths = every_path(gain, steepest)
    turns = np.abs(np.diff(paths, n=2, axis=1))
    fair = (turns <= 1).all(axis=1)
    return paths[fair], evidence(gain, paths[fair]) - bend_cost * turns[fair].sum(axis=1)


@pytest.mark.parametrize("steepest", [1, 2])
@pytest.mark.parametrize("bend_cost", [0.0, 0.4, 1.5])
def test_the_trellis_finds_the_best_fair_path_and_the_best_through_every_cell(steepest, bend_cost):
    for gain in fields(5, 6):
        paths, totals = fair_totals(gain, steepest, bend_cost)
        found = search(gain, steepest=steepest, bend_cost=bend_cost)
        assert found.rows.tolist() == paths[np.argmax(totals)].tolist()
        assert found.total == pytest.approx(totals.max())
        for column, row in itertools.product(range(6), range(5)):
            through = totals[paths[:, column] == row]
            assert found.through[row, column] == pytest.approx(through.max() if len(through) else -np.inf)


@pytest.mark.parametrize("away_rows", [1, 2])
def test_the_margin_is_the_lead_over_the_best_path_that_passes_elsewhere(away_rows):
    for gain in fields(6, 5):
        paths, totals = fair_totals(gain, 2, 0.4)
        found = search(gain, steepest=2, bend_cost=0.4)
        for column, margin in enumerate(found.margin(away_rows)):
            elsewhere = totals[np.abs(paths[:, column] - found.rows[column]) >= away_rows]
            assert margin == pytest.approx(totals.max() - elsewhere.max())


def test_a_field_upside_down_or_back_to_front_gives_the_same_path_turned():
    for gain in fields(7, 8):
        rows = search(gain, steepest=2, bend_cost=0.3).rows
        assert search(gain[::-1], steepest=2, bend_cost=0.3).rows.tolist() == (6 - rows).tolist()
        assert search(gain[:, ::-1], steepest=2, bend_cost=0.3).rows.tolist() == rows[::-1].tolist()
        plain = best_path(gain)[0]
        assert best_path(gain[::-1])[0].tolist() == (6 - plain).tolist()
        assert best_path(gain[:, ::-1])[0].tolist() == plain[::-1].tolist()
