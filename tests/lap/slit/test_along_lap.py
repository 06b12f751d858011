"""The course of the gap along the lap, against all courses weighed one by one."""

from itertools import pairwise, product

import numpy as np
import pytest

from fitcheck.lap.slit.along_lap import _beforehand, _steps, along_lap

WIDTHS = np.arange(4) * 0.5
BLOCK_PX = 20.0


def one_by_one(likelihood):
    """The chance of each width at each block, and the evidence, from every course that there is."""
    first, step = _beforehand(WIDTHS), _steps(WIDTHS, BLOCK_PX)
    count = likelihood.shape[1]
    chance = np.zeros(likelihood.shape)
    for course in product(range(len(WIDTHS)), repeat=count):
        weight = first[course[0]] * np.prod([step[a, b] for a, b in pairwise(course)])
        weight *= np.exp(sum(likelihood[width, block] for block, width in enumerate(course)))
        for block, width in enumerate(course):
            chance[width, block] += weight
    total = chance[:, 0].sum()
    return chance / total, float(np.log(total))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_course_counts_as_likely_as_it_is(seed):
    likelihood = np.random.default_rng(seed).normal(0.0, 2.0, (len(WIDTHS), 5))
    found, (chance, evidence) = along_lap(likelihood, WIDTHS, BLOCK_PX), one_by_one(likelihood)
    assert found.chance == pytest.approx(chance, abs=1e-9)
    assert found.evidence == pytest.approx(evidence, abs=1e-9)


def test_steps_are_chances():
    assert _steps(WIDTHS, BLOCK_PX).sum(axis=1) == pytest.approx(np.ones(len(WIDTHS)))


def says(width_px, widths, sure=6.0):
    """What a block says that was seen this wide: within a third of a pixel, but no surer than ``sure``."""
    return np.maximum(-0.5 * ((widths - width_px) / 0.3) ** 2, -sure)


def test_a_dark_in_one_block_is_grain_and_one_that_swells_and_goes_is_a_gap():
    widths = np.arange(0.0, 6.01, 0.1)
    alone = np.zeros(160)
    alone[80] = 3.0
    swelling = 3.0 * np.maximum(np.sin(np.linspace(-np.pi, 2 * np.pi, 160)), 0.0)
    for course, expected in ((alone, np.zeros(160)), (swelling, swelling)):
        chance = along_lap(np.column_stack([says(one, widths) for one in course]), widths, 8.0).chance
        assert widths @ chance == pytest.approx(expected, abs=0.35)


def test_blocks_that_say_nothing_take_their_neighbours_width_and_are_less_sure():
    widths = np.arange(0.0, 6.01, 0.1)
    likelihood = np.column_stack([says(2.0, widths)] * 61)
    likelihood[:, 20:41] = 0.0
    chance = along_lap(likelihood, widths, 8.0).chance
    mean = widths @ chance
    spread = np.sqrt(widths**2 @ chance - mean**2)
    assert mean[30] == pytest.approx(2.0, abs=0.3)
    assert spread[30] > 2.0 * spread[5]
