"""How far the inner corner of a plank's edge is eased, as a builder says it: a width, or sharp."""

from __future__ import annotations

from fitcheck.ground.bounds import outside
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall

SHARP = "sharp"


def read_easing(text: str) -> float:
    """Millimetres from text such as ``0.3mm``, ``1/64in`` or ``sharp``.

    Raises :class:`WrongCall` where it is none of them, or wider than corners are eased.

    >>> read_easing("0.3mm"), read_easing("sharp")
    (0.3, 0.0)
    """
    if text.strip().lower() == SHARP:
        return 0.0
    try:
        eased_mm = parse_length(text)
    except WrongCall as wrong:
        raise WrongCall(f"{wrong}; a corner that was not eased is: {SHARP}") from None
    astray = outside("eased", eased_mm)
    if astray:
        raise WrongCall(f"a corner eased by {text}: {astray}")
    return eased_mm
