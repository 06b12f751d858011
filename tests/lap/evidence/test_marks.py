"""Edge and line from made evidence of one look and of two: what is drawn is found, and what is not seen is not."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.lap.evidence.marks import find_marks
from fitcheck.lap.evidence.pointed import Pointed
from tests.lap.evidence.made_odds import made_look

U_WIDTH_MM = 0.3


def test_edge_and_line_are_found_where_they_are_drawn():
    found = find_marks([made_look()], u_width_mm=U_WIDTH_MM)
    assert np.abs(found.edge.down_mm - 3.0).max() < 0.1
    assert np.abs(found.line.down_mm - 7.0).max() < 0.1
    assert np.median(found.edge.chance) > 0.95
    assert np.median(found.line.chance) > 0.95


@pytest.mark.parametrize("wider_mm", [-0.4, 0.0, 0.5])
def test_the_corners_own_distance_is_found(wider_mm):
    look = made_look(width_mm=3.0 + wider_mm, told_width_mm=3.0, edge_worth=4.0)
    found = find_marks([look], u_width_mm=U_WIDTH_MM)
    assert found.wider_mm == pytest.approx(wider_mm, abs=0.12)
    assert found.u_wider_mm < U_WIDTH_MM
    assert np.median(found.edge.down_mm) == pytest.approx(3.0, abs=0.1)


def test_where_nothing_tells_the_distance_of_the_corners_keeps_its_uncertainty():
    found = find_marks([made_look(edge_worth=0.0)], u_width_mm=U_WIDTH_MM)
    assert found.wider_mm == pytest.approx(0.0, abs=0.02)
    assert found.u_wider_mm == pytest.approx(U_WIDTH_MM, rel=0.15)
    assert found.edge.chance.max() < 0.6


def test_two_looks_that_agree_are_surer_than_either():
    looks = [made_look(edge_worth=0.6, line_worth=9.0, noise=0.5, seed=seed) for seed in (1, 2)]
    alone = [find_marks([one], u_width_mm=U_WIDTH_MM) for one in looks]
    both = find_marks(looks, u_width_mm=U_WIDTH_MM)
    for mark in ("edge", "line"):
        chance = np.median(getattr(both, mark).chance)
        assert chance > max(np.median(getattr(one, mark).chance) for one in alone)
    assert np.median(both.edge.u_mm) < min(np.median(one.edge.u_mm) for one in alone)


def test_a_streak_in_one_look_is_no_line_where_the_other_sees_none_there():
    """Seen from another height what stands above the strake lies elsewhere; the line alone is where both have it."""
    looks = [made_look(lines_mm=(7.0, 13.0)), made_look(lines_mm=(7.0, 10.0))]
    found = find_marks(looks, u_width_mm=U_WIDTH_MM)
    assert np.abs(found.line.down_mm - 7.0).max() < 0.1
    assert np.median(found.line.chance) > 0.95
    alone = find_marks(looks[:1], u_width_mm=U_WIDTH_MM)
    assert np.median(alone.line.chance) < 0.7


def test_a_line_that_the_plank_hides_from_one_look_is_measured_by_the_other():
    """From the sheer side the outer corner lies 2 mm below the inner one and covers a line 1 mm below the edge."""
    sheer = made_look(width_mm=-2.0, hidden=True, lines_mm=())
    keel = made_look(lines_mm=(4.0,))
    hidden = find_marks([sheer], u_width_mm=U_WIDTH_MM)
    assert np.median(hidden.line.absent) > 0.5
    for looks in ([sheer, keel], [keel, sheer]):
        found = find_marks(looks, u_width_mm=U_WIDTH_MM)
        assert np.median(found.edge.down_mm) == pytest.approx(3.0, abs=0.1)
        assert np.median(found.line.down_mm) == pytest.approx(4.0, abs=0.1)
        assert np.median(found.line.chance) > 0.9


def test_two_looks_from_the_sheer_side_alone_still_give_the_edge():
    """Neither sees the inner corner: it is told from the outer one."""
    looks = [made_look(width_mm=width, hidden=True) for width in (-1.0, -2.0)]
    found = find_marks(looks, u_width_mm=U_WIDTH_MM)
    assert np.median(found.edge.down_mm) == pytest.approx(3.0, abs=0.15)


def test_without_a_line_none_is_told():
    found = find_marks([made_look(lines_mm=())], u_width_mm=U_WIDTH_MM)
    assert np.median(found.line.absent) > 0.95
    assert np.median(found.line.chance) < 0.05


def test_above_the_edge_is_no_line():
    found = find_marks([made_look(lines_mm=(-5.0,))], u_width_mm=U_WIDTH_MM)
    assert np.median(found.line.absent) > 0.95


@pytest.mark.parametrize("pointed_mm", [7.0, 13.0])
def test_a_place_pointed_at_raises_the_right_one_of_two_lines(pointed_mm):
    look = made_look(lines_mm=(7.0, 13.0))
    unaided = find_marks([look], u_width_mm=U_WIDTH_MM)
    assert np.median(unaided.line.chance) < 0.7
    finger = Pointed(np.zeros(1), np.array([pointed_mm + 0.6]), 1.0)
    found = find_marks([look], u_width_mm=U_WIDTH_MM, line_at=finger)
    assert np.median(found.line.down_mm) == pytest.approx(pointed_mm, abs=0.1)
    assert np.median(found.line.chance) > 0.85


def test_a_finger_far_from_any_line_moves_none():
    finger = Pointed(np.zeros(1), np.array([12.0]), 1.0)
    found = find_marks([made_look()], u_width_mm=U_WIDTH_MM, line_at=finger)
    away = np.abs(found.along_mm) > 30.0
    assert np.abs(found.line.down_mm[away] - 7.0).max() < 0.15


def test_a_witness_line_is_looked_for_about_its_distance():
    found = find_marks([made_look(lines_mm=(5.0, 21.0))], u_width_mm=U_WIDTH_MM, witness_mm=18.0)
    assert np.median(found.line.down_mm) == pytest.approx(21.0, abs=0.1)
    assert np.median(found.line.chance) > 0.95


@pytest.mark.parametrize("other_mm", [8.8, 10.0])
def test_two_lines_as_likely_as_each_other_are_no_one_place_between_them(other_mm):
    found = find_marks([made_look(lines_mm=(7.0, other_mm))], u_width_mm=U_WIDTH_MM)
    assert np.median(found.line.chance) < 0.7
