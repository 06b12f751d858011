"""Which photographs hang together, and which show another plank, a moved card or a number used twice."""

from __future__ import annotations

from fitcheck.plank.joint.layout import groups, lay_out, strangers
from tests.plank.made import CARDS, HULL, row_of_views, view_of


def row():
    return [view for view, *_ in row_of_views(HULL)]


def test_a_row_hangs_together_and_agrees():
    assert groups(row()) == [[0, 1, 2, 3, 4, 5]]
    assert strangers(row()) == []


def test_a_missing_photograph_parts_the_row():
    views = row()
    assert groups(views[:2] + views[3:]) == [[0, 1], [2, 3, 4]]


def test_another_planks_photograph_with_these_numbers_is_the_stranger():
    moved = {**CARDS, 3: (CARDS[3][0] + 40.0, *CARDS[3][1:])}
    foreign = view_of("foreign.jpg", (2, 3), hull=HULL, cards=moved)[0]
    again = view_of("again.jpg", (2, 3), hull=HULL, elevation_deg=-12.0)[0]
    views = [*row(), foreign, again]
    assert strangers(views) == [6]


def test_where_as_much_speaks_for_one_as_for_the_other_neither_is_believed():
    moved = {**CARDS, 3: (CARDS[3][0] + 40.0, *CARDS[3][1:])}
    foreign = view_of("foreign.jpg", (2, 3), hull=HULL, cards=moved)[0]
    assert strangers([*row(), foreign]) == [2, 6]


def test_a_number_used_twice_on_one_plank_is_found_by_the_order():
    # Card 2 of the plank is lent the number 5 in one photograph: card 5 would lie before card 3.
    twice = view_of("twice.jpg", (1, 2), hull=HULL, called={2: 5})[0]
    assert strangers([*row(), twice]) == [6]


def test_numbers_rise_along_the_layout_whatever_the_order_of_views():
    cards = lay_out(row()[::-1]).cards
    places = [cards[n][0] for n in sorted(cards)]
    assert places == sorted(places)
    assert abs(places[-1] - places[0] - (CARDS[6][0] - CARDS[0][0])) < 5.0
