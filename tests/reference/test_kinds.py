"""What the builder may type for a reference, and what it is read as."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.answering.edge_answers import measure_request
from fitcheck.answering.gap_answers import gap_request
from fitcheck.answering.given import Given
from fitcheck.answering.read_request import read_gap_request, read_request
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.hull.first_file import new_hull_text
from fitcheck.reference.card.card_kind import CARDS, card_named
from fitcheck.reference.kinds import KINDS, NAMED, ReferenceKind, noun_of, reference_kind
from fitcheck.reference.rule.rule import UNITS
from tests.samples import PLAIN, TEAL

SIDES = st.integers(150, 3000).map(lambda tenths: tenths / 10.0)


@given(SIDES, SIDES, st.sampled_from(["x", "X", " x ", "×"]))
def test_a_measured_size_is_that_card_long_side_first_or_second(one, other, by):
    longest, shortest = max(one, other), min(one, other)
    text = f"{one}{by}{other}mm"
    if longest >= 6.0 * shortest:
        with pytest.raises(WrongCall):
            card_named(text)
        return
    card = card_named(text)
    assert (card.width_mm, card.height_mm) == pytest.approx((longest, shortest))
    assert card.aspect >= 1.0
    assert card.u_scale * card.width_mm == pytest.approx(0.15), "read with a rule to about 0.15 mm"


def test_units_may_stand_on_both_sides_or_the_second():
    assert card_named("3-1/2in x 2in").width_mm == pytest.approx(card_named("3-1/2x2in").width_mm)
    assert card_named("8.86x5.07cm").width_mm == pytest.approx(88.6)
    # A unit on each side counts for its own side.
    assert card_named("2in x 88.9mm").height_mm == pytest.approx(50.8)


@pytest.mark.parametrize("name", sorted(CARDS))
def test_a_name_is_its_card(name):
    assert card_named(name) is CARDS[name]


@pytest.mark.parametrize("name", sorted(set(KINDS) - set(CARDS)))
def test_rules_and_station_cards_are_no_cards(name):
    assert card_named(name) is None


def test_every_card_and_every_rule_is_a_kind_that_is_found_in_a_photograph():
    found = {name for name, kind in KINDS.items() if kind.find is not None}
    assert found == {*CARDS, *UNITS}
    assert [name for name, kind in KINDS.items() if kind.joins] == ["station"]


def test_the_thickness_is_a_scale_for_edge_on_views_alone():
    assert reference_kind("thickness", edge_on=True).edge_on_only
    with pytest.raises(WrongCall, match="is not known"):
        reference_kind("thickness")


def test_help_and_the_first_settings_file_name_every_kind():
    named = [name for name, kind in KINDS.items() if not kind.edge_on_only]
    assert all(re.search(rf"\b{name}\b", NAMED) for name in named)
    text = new_hull_text(name="Invented", units="in", lap="1in", thickness="1/2in", strakes=1)
    (line,) = [line for line in text.splitlines() if line.startswith("# reference")]
    assert all(re.search(rf"\b{name}\b", line) for name in named)


def test_a_new_kind_is_one_entry(monkeypatch):
    """Named on the command line it is found, answered for, and called by its noun."""
    seen = []

    def find(pixels, camera):
        seen.append(pixels.shape)
        raise Refused("no-reference", "No batten is in sight.")

    monkeypatch.setitem(KINDS, "batten", ReferenceKind(name="batten", noun="batten", find=find))
    lap = Given(reference="batten", thickness="12.7mm")
    for ask, read in ((measure_request, read_request), (gap_request, read_gap_request)):
        (answer,) = ask(read([PLAIN], lap, camera=TEAL))
        assert [reason.text for reason in answer.measurement.reasons] == ["No batten is in sight."]
    assert len(seen) == 2
    assert noun_of("batten") == "batten"


@pytest.mark.parametrize(
    "text", ["", "bank", "85.6", "85.6x", "x54mm", "85.6x54x1mm", "axbmm", "10x8mm", "900x60mm", "-85x54mm", "90x0mm"]
)
def test_anything_else_is_a_wrong_call(text):
    with pytest.raises(WrongCall):
        reference_kind(text)


@given(st.text(max_size=20))
def test_no_text_makes_it_stumble(text):
    try:
        card = card_named(text)
    except WrongCall:
        return
    assert card is None or card.width_mm >= card.height_mm > 0.0
