"""What the builder may type for a reference, and what it is read as."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.ground.refusal import WrongCall
from fitcheck.reference.kinds import CARDS, OTHER_KINDS, card_kind

SIDES = st.integers(150, 3000).map(lambda tenths: tenths / 10.0)


@given(SIDES, SIDES, st.sampled_from(["x", "X", " x ", "×"]))
def test_a_measured_size_is_that_card_long_side_first_or_second(one, other, by):
    longest, shortest = max(one, other), min(one, other)
    text = f"{one}{by}{other}mm"
    if longest >= 6.0 * shortest:
        with pytest.raises(WrongCall):
            card_kind(text)
        return
    card = card_kind(text)
    assert (card.width_mm, card.height_mm) == pytest.approx((longest, shortest))
    assert card.aspect >= 1.0
    assert card.u_scale * card.width_mm == pytest.approx(0.15), "read with a rule to about 0.15 mm"


def test_units_may_stand_on_both_sides_or_the_second():
    assert card_kind("3-1/2in x 2in").width_mm == pytest.approx(card_kind("3-1/2x2in").width_mm)
    assert card_kind("8.86x5.07cm").width_mm == pytest.approx(88.6)
    # A unit on each side counts for its own side.
    assert card_kind("2in x 88.9mm").height_mm == pytest.approx(50.8)


@pytest.mark.parametrize("name", sorted(CARDS))
def test_a_name_is_its_card(name):
    assert card_kind(name) is CARDS[name]


@pytest.mark.parametrize("name", OTHER_KINDS)
def test_rules_and_station_cards_are_no_cards(name):
    assert card_kind(name) is None


@pytest.mark.parametrize(
    "text", ["", "bank", "85.6", "85.6x", "x54mm", "85.6x54x1mm", "axbmm", "10x8mm", "900x60mm", "-85x54mm", "90x0mm"]
)
def test_anything_else_is_a_wrong_call(text):
    with pytest.raises(WrongCall):
        card_kind(text)


@given(st.text(max_size=20))
def test_no_text_makes_it_stumble(text):
    try:
        card = card_kind(text)
    except WrongCall:
        return
    assert card is None or card.width_mm >= card.height_mm > 0.0
