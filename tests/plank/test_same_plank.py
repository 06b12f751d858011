"""Photographs of another plank whose card has a number of this one: told where it can be, else said to rest on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.plank.joint.card_views import read_views
from fitcheck.plank.photo_groups import solve_runs
from fitcheck.plank.same_plank import Kinship, _alike, _odd_ones
from tests.plank.test_photographs import PHOTOS, SETTINGS, camera, paths

seen = pytest.mark.skipif(not (PHOTOS / "plank").is_dir(), reason="FITCHECK_PHOTOS names no photographs")


def curve(aside_mm: float = 0.0, askew: float = 0.0, span=(0.0, 400.0)) -> np.ndarray:
    s = np.arange(*span, 4.0)
    return np.column_stack([s, 40.0 + aside_mm + askew * (s - 200.0) + np.sin(s / 70.0)])


@pytest.mark.parametrize(
    ("other", "alike"),
    [
        (curve(0.3), True),
        (curve(3.0), False),
        (curve(0.0, np.tan(np.radians(1.5))), False),
        (curve(3.0, span=(380.0, 600.0)), None),
        (curve(3.0, span=(700.0, 900.0)), None),
        (np.empty((0, 2)), None),
    ],
)
def test_two_lines_beside_a_card(other, alike):
    """A card lies on another plank millimetres or degrees otherwise; common practice, no source."""
    assert _alike([curve(), other], 200.0, 1.0, 0.008).alike is alike


@pytest.mark.parametrize(
    ("pairs", "odd"),
    [
        # A row of six, its third a stranger that shares a card with the second and the fourth.
        ({(0, 1): True, (1, 2): False, (2, 3): None, (3, 4): True, (4, 5): True}, {2}),
        # The fourth agrees with it by chance: as much speaks for it as for the second, so neither is believed.
        ({(0, 1): True, (1, 2): False, (2, 3): True, (3, 4): True, (4, 5): True}, {1, 2}),
        ({(0, 1): True, (1, 2): False, (2, 3): False, (3, 4): True, (4, 5): True}, {2}),
        # At an end, and two by themselves.
        ({(0, 1): False, (1, 2): True, (2, 3): True}, {0}),
        ({(0, 1): False}, {0, 1}),
        ({(0, 1): None, (1, 2): True}, set()),
    ],
)
def test_a_stranger_is_not_believed_for_the_row_that_hangs_on_it(pairs, odd):
    kin = {pair: Kinship(alike, 3.0 if alike is False else 0.1) for pair, alike in pairs.items()}
    assert _odd_ones(kin, 6) == odd


def renumbered(view, numbers):
    """The view with other numbers on its cards, as if they were another plank's."""
    cards = tuple(replace(card, number=numbers[card.number]) for card in view.cards)
    return replace(view, cards=cards)


@seen
def test_a_photograph_of_another_plank_that_shares_one_number_is_told():
    """The stretch of cards 7 and 8, its cards numbered 3 and 9: in order, and 3 lies where no other card 3 was."""
    views = read_views(paths(1, 2, 3, 8), camera())
    views[3] = renumbered(views[3], {7: 3, 8: 9})
    solved, runs = solve_runs(views, SETTINGS, {}, lambda: None)
    assert [None if view.reason is None else view.reason.code for view in solved] == [None, None, None, "other-plank"]
    assert "beside station card 3 than p03.jpg does" in solved[3].reason.text
    assert runs[0].joint.numbers == (0, 1, 2, 3)


@seen
def test_of_two_that_contradict_each_other_neither_is_believed():
    views = read_views(paths(3, 8), camera())
    views[1] = renumbered(views[1], {7: 3, 8: 9})
    solved, runs = solve_runs(views, SETTINGS, {}, lambda: None)
    assert {view.reason.code for view in solved} == {"other-plank"}
    assert not runs


@seen
def test_photographs_of_one_plank_are_kin():
    solved, runs = solve_runs(read_views(paths(1, 2, 3), camera()), SETTINGS, {}, lambda: None)
    assert all(view.reason is None for view in solved)
    assert not runs[0].warnings
