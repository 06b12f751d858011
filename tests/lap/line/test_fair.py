"""A line struck along a batten runs fair (common practice, no source): where it is faint, it is held to that."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.ground.trellis import search
from fitcheck.lap.line.chance import at_its_place
from fitcheck.lap.line.fair_line import BELIEVED, UNFAIR_CHANCE, held_fair
from fitcheck.lap.line.line import _at_edge
from fitcheck.lap.line.old_line import may_be_old
from fitcheck.lap.line.ridge import BEND_COST, BLOCK_MM, STEEPEST

RIVAL, CLEAR, FAINT = 0.5, 3.0, 0.2
ALONG_MM = np.arange(90) * BLOCK_MM


def wandering(along_mm):
    """A batten sprung over its marks: a millimetre either way in 40 cm."""
    return np.sin(2.0 * np.pi * along_mm / 400.0)


def held(faint: slice, off_mm: float, evidence: float = FAINT):
    """Chances of a line that is faint along a stretch, where the path runs so far off it."""
    strength, down = np.full(len(ALONG_MM), CLEAR), wandering(ALONG_MM)
    strength[faint] = evidence
    down[faint] += off_mm
    return held_fair(ALONG_MM, down, strength, RIVAL, np.ones(len(ALONG_MM)))


@pytest.mark.parametrize("blocks", [8, 14, 20])
def test_a_faint_stretch_that_runs_on_is_believed(blocks):
    assert (held(slice(40, 40 + blocks), 0.0) >= BELIEVED).all()


@pytest.mark.parametrize("off_mm", [-2.0, 2.0, 3.0])
def test_a_faint_stretch_beside_the_course_is_a_streak(off_mm):
    chance = held(slice(36, 54), off_mm)
    assert (chance[40:50] == UNFAIR_CHANCE).all()
    assert (chance[:30] >= BELIEVED).all()
    assert (chance[60:] >= BELIEVED).all()


def test_a_clear_stretch_goes_where_it_will():
    """Only what is too faint to tell from wood is judged by its course."""
    assert (held(slice(36, 54), 2.0, evidence=CLEAR) >= BELIEVED).all()


def test_a_line_is_not_carried_far_beyond_its_clear_end():
    assert (held(slice(78, 90), 0.0) >= BELIEVED).all()
    assert (held(slice(60, 90), 0.0)[70:] == UNFAIR_CHANCE).all()


def test_nothing_believed_stays_so():
    doubtful = np.full(len(ALONG_MM), 0.3)
    assert held_fair(ALONG_MM, wandering(ALONG_MM), doubtful * 0.0, RIVAL, doubtful) == pytest.approx(doubtful)


def test_a_witness_line_is_far_off_only_beyond_its_own_distance():
    chance = at_its_place(np.full(3, 0.99), np.array([20.0, 24.0, 31.0]), 20.0, 1.5)
    assert chance[0] == pytest.approx(0.99)
    assert chance[1] == pytest.approx(0.99)
    assert chance[2] < 0.01


def test_a_dark_that_keeps_close_to_the_edge_is_its_crease():
    off = np.linspace(0.85, 1.05, 50)
    assert _at_edge(off, 0.8, off).all()
    assert not _at_edge(off + np.linspace(0.0, 1.5, 50), 0.8, off + np.linspace(0.0, 1.5, 50)).any()


def test_a_second_line_nearer_the_edge_makes_the_further_one_doubtful():
    gain = np.full((160, 60), -0.5)
    gain[130] = CLEAR
    alone = search(gain, steepest=STEEPEST, bend_cost=BEND_COST)
    assert not may_be_old(gain, alone, np.full(60, 7.8))
    gain[40, 10:40] = 2.6
    both = search(gain, steepest=STEEPEST, bend_cost=BEND_COST)
    assert may_be_old(gain, both, np.full(60, 7.8))
