"""Places along the plank as a tape reads them: what lies before its zero is said so, and read so."""

from __future__ import annotations

import re

from fitcheck.ground.lengths import format_length, parse_length
from fitcheck.ground.refusal import WrongCall

_BEFORE = re.compile(r"(?P<length>.*\S)\s+before\s+(?:card\s+)?(?P<card>\d{1,4})\s*", re.IGNORECASE | re.DOTALL)


def parse_place(text: str, *, from_card: int = 0) -> float:
    """The place in mm that ``text`` says: a length, with a sign or with "before 0" for what lies before the zero.

    Places count from card ``from_card``. Raises :class:`WrongCall` for what is no length, or counts from another card.

    >>> parse_place("2ft"), parse_place("-8-1/4in"), parse_place("8-1/4 in before 0")
    (609.6, -209.55, -209.55)
    """
    match = _BEFORE.fullmatch(text)
    if match is None:
        return parse_length(text, signed=True)
    if int(match["card"]) != from_card:
        raise WrongCall(f"{text!r}: places count from card {from_card} here")
    return 0.0 - parse_length(match["length"])


def format_place(mm: float, *, units: str = "in", tape: str = "", fraction: int = 8, from_card: int = 0) -> str:
    """A place along the plank in words, to ``1/fraction`` inch or 1 mm, counted from card ``from_card``.

    >>> format_place(609.6), format_place(-209.55), format_place(-50.0, units="mm", from_card=4)
    ('2 ft', '8-1/4 in before 0', '50 mm before card 4')
    """
    said = format_length(mm, units=units, fraction=fraction, decimals=0, tape=tape)
    if not said.startswith("-"):
        return said
    return f"{said[1:]} before {f'card {from_card}' if from_card else '0'}"
