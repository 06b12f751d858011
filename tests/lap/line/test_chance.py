"""The chance of a line, place by place: what a stretch of grain, a rival and a gap in the pencil do to it."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.line.chance import BRIDGED_BLOCKS, local_chance
from fitcheck.lap.line.speckle import Speckle

BLOCKS = 80
SURE = 0.9


def chance(*, evidence=1.8, rival=0.6, speckle=2.0, local=None, margin=None, two_sided=0.8):
    """The chance (80,) of a path as clear as a pencil line, but for what is told."""
    local = np.full(BLOCKS, speckle) if local is None else local
    margin = np.full(BLOCKS, 30.0) if margin is None else margin
    return local_chance(np.full(BLOCKS, evidence), rival, Speckle(speckle, local), margin, two_sided)


def along(value: float, part: slice, other: float) -> np.ndarray:
    values = np.full(BLOCKS, value)
    values[part] = other
    return values


def test_a_clear_line_is_sure_and_grain_is_not():
    assert chance().min() > SURE
    assert chance(speckle=1.0).max() < SURE
    assert chance(evidence=0.7, speckle=1.2).max() < SURE


@pytest.mark.parametrize("end", [slice(0, 25), slice(55, 80)])
def test_an_end_as_smooth_as_grain_is_doubted_however_sure_the_rest(end):
    told = chance(speckle=3.0, local=along(3.0, end, 0.95))
    assert (told[end] < SURE).all()
    assert np.delete(told, np.r_[end]).min() > SURE


def test_the_foot_of_a_step_is_no_line():
    assert chance(two_sided=0.3).min() > SURE
    assert chance(two_sided=0.05).max() < SURE


def test_a_place_with_a_rival_is_doubted():
    told = chance(margin=along(30.0, slice(30, 40), 2.0))
    assert (told[30:40] < SURE).all()


def test_a_line_whose_path_is_rivalled_along_half_of_it_is_none():
    assert chance(margin=np.full(BLOCKS, 9.0)).max() < SURE


def test_a_fair_line_runs_on_between_two_sure_stretches_but_not_for_ever():
    short = slice(30, 30 + BRIDGED_BLOCKS - 2)
    assert chance(local=along(2.0, short, 0.9)).min() >= 0.9
    wide = slice(20, 22 + BRIDGED_BLOCKS)
    assert (chance(local=along(2.0, wide, 0.9))[wide] < SURE).all()
    # Where another path runs as well it may have changed to that one.
    assert (chance(local=along(2.0, short, 0.9), margin=along(30.0, slice(40, 44), 4.0))[short] < SURE).all()


def test_a_long_clear_stretch_may_be_measured_where_the_rest_is_too_faint():
    evidence = along(0.4, slice(0, 36), 1.8)
    local = along(1.0, slice(0, 36), 1.6)
    margin = along(20.0, slice(36, 40), 3.0)
    told = local_chance(evidence, 0.6, Speckle(1.2, local), margin, 0.8)
    assert told[:36].min() > SURE
    assert told[40:].max() < SURE
