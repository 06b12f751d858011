"""Flat cards as references: their size, thickness and what is not known of them, by the name the builder types."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall


@dataclass(frozen=True)
class CardKind:
    """A flat card: its size (long side first), thickness and the relative standard uncertainty of its size.

    ``corner_mm`` is the largest radius its corners may have, so that sides are fitted clear of them.
    """

    name: str
    width_mm: float
    height_mm: float
    thickness_mm: float
    u_scale: float
    corner_mm: float

    @property
    def aspect(self) -> float:
        """Long side over short side."""
        return self.width_mm / self.height_mm


# ISO/IEC 7810 lets an unused ID-1 card vary by 0.15 % about its size; business cards have no such standard, and
# 0.5 % is about a quarter of a millimetre of loose trimming on a side.
CARDS = {
    "id1": CardKind("id1", 85.60, 53.98, 0.76, 0.0009, 3.48),
    "card-us": CardKind("card-us", 88.9, 50.8, 0.35, 0.004, 1.0),
    "card-eu": CardKind("card-eu", 85.0, 55.0, 0.35, 0.004, 3.2),
    "card-jp": CardKind("card-jp", 91.0, 55.0, 0.35, 0.004, 1.0),
}
_SIZE = re.compile(r"^\s*(?P<first>[^xX×]+?)\s*[xX×]\s*(?P<second>[^xX×]+?)\s*$")
_UNIT = re.compile(r"(mm|cm|m|in|ft|\"|')\s*$")


def card_named(text: str) -> CardKind | None:
    """The card that ``text`` names, or None where it names none.

    A measured size such as ``88.6x50.7mm`` or ``3-1/2x2in`` is a card of that size, long side first or second. Raises
    :class:`WrongCall` for a size that no card has.

    >>> card_named("id1").width_mm, card_named("3-1/2x2in").width_mm, card_named("station")
    (85.6, 88.9, None)
    """
    if text in CARDS:
        return CARDS[text]
    match = _SIZE.match(text)
    return _measured_card(text, match["first"], match["second"]) if match else None


def _measured_card(text: str, first: str, second: str) -> CardKind:
    unit = _UNIT.search(second)
    if unit and not _UNIT.search(first):
        first += unit[1]
    sides = sorted((parse_length(first), parse_length(second)), reverse=True)
    longest, shortest = sides
    if shortest < 15.0 or longest > 400.0 or longest >= 6.0 * shortest:
        raise WrongCall(
            f"--reference {text!r}: a card between 15 mm and 400 mm, no more than six times as long as wide, is needed"
        )
    # Read with a rule to about 0.15 mm on each side: the doubt falls as the card grows.
    return CardKind(text, sides[0], sides[1], 0.35, 0.15 / sides[0], 3.5)
