"""Card sizes: ISO/IEC 7810 for the bank card; business cards as commonly cut.

Sources: ISO/IEC 7810, ID-1: 85.60 x 53.98 mm, 0.76 mm thick, corners of 2.88 to 3.48 mm radius; its limits for an
unused card, 85.47 to 85.72 by 53.92 to 54.03 mm, are from memory. US 88.9 x 50.8 (3.5 x 2 in), Europe 85 x 55, Japan
91 x 55 mm: common practice, no source.
"""

from __future__ import annotations

import pytest

from fitcheck.reference.card.card_kind import CARDS, card_named


def test_the_bank_card_is_iso_id_1():
    card = CARDS["id1"]
    assert (card.width_mm, card.height_mm, card.thickness_mm) == (85.60, 53.98, 0.76)
    assert card.corner_mm >= 3.48, "sides must be fitted clear of the roundest corner"


def test_the_limits_of_an_unused_card_lie_within_the_doubt_of_its_size():
    """A rectangular spread between the limits has a standard deviation of half the range over the root of three."""
    u_width, u_height = (85.72 - 85.47) / 2 / 3**0.5 / 85.60, (54.03 - 53.92) / 2 / 3**0.5 / 53.98
    assert CARDS["id1"].u_scale >= max(u_width, u_height)
    assert CARDS["id1"].u_scale < 0.002


@pytest.mark.parametrize(
    ("name", "size_mm", "aspect"),
    [
        ("id1", (85.60, 53.98), 1.586),
        ("card-us", (88.9, 50.8), 1.750),
        ("card-eu", (85.0, 55.0), 1.545),
        ("card-jp", (91.0, 55.0), 1.655),
    ],
)
def test_sizes_and_what_tells_them_apart(name, size_mm, aspect):
    assert (CARDS[name].width_mm, CARDS[name].height_mm) == size_mm
    assert CARDS[name].aspect == pytest.approx(aspect, abs=0.0005)
    assert min(CARDS, key=lambda kind: abs(CARDS[kind].aspect - aspect)) == name


def test_three_and_a_half_by_two_inches_is_the_us_card():
    card = card_named("3-1/2x2in")
    assert (card.width_mm, card.height_mm) == pytest.approx((88.9, 50.8))


def test_a_business_cards_size_is_doubted_more_than_a_bank_cards():
    assert min(CARDS[name].u_scale for name in ("card-us", "card-eu", "card-jp")) > 3 * CARDS["id1"].u_scale
