"""What is small, in words: blades and slits in thousandths of an inch, readings finer than a rule."""

from __future__ import annotations

import math
import re

from fitcheck.ground.lengths import INCH_MM, format_length, parse_length
from fitcheck.ground.refusal import Reason

#: The finest mark of a bench rule, in parts of an inch.
FINEST = 64


def format_thin(mm: float, *, units: str = "in") -> str:
    """A thickness as a feeler gauge names it: thousandths of an inch, or hundredths of a millimetre.

    What is there but smaller than that is said to be under it, never to be nothing.

    >>> format_thin(0.1), format_thin(0.1, units="mm"), format_thin(0.005)
    ('0.004 in', '0.10 mm', 'under 0.001 in')
    """
    step_mm, words = (0.01, "0.01 mm") if units == "mm" else (float(INCH_MM) / 1000, "0.001 in")
    if 0 < mm < step_mm / 2:
        return f"under {words}"
    return f"{mm:.2f} mm" if units == "mm" else f"{mm / float(INCH_MM):.3f} in"


def format_small(mm: float, *, units: str = "in") -> str:
    """A small length: to 1/64 in or 0.01 mm, and under 1/64 in as a feeler gauge names it.

    >>> format_small(0.79375), format_small(0.1), format_small(0.79375, units="mm")
    ('1/32 in', '0.004 in', '0.79 mm')
    """
    if mm < 0:
        return f"-{format_small(-mm, units=units)}"
    if units == "mm" or 0 < mm < float(INCH_MM) / FINEST * 0.999:
        return format_thin(mm, units=units)
    return format_length(mm, units=units, fraction=FINEST)


def format_blade(mm: float, *, units: str = "in") -> str:
    """A feeler blade: a fraction where it is one that a rule shows, else as a gauge names it.

    >>> format_blade(0.79375), format_blade(0.25), format_blade(0.1, units="mm")
    ('1/32 in', '0.010 in', '0.10 mm')
    """
    thin = format_thin(mm, units=units)
    if units == "mm" or thin.startswith("under "):
        return thin
    said = format_length(mm, fraction=FINEST)
    return said if parse_length(said) in (mm, parse_length(thin)) and mm > 0 else thin


def format_past_finely(value_mm: float, u95_mm: float, *, units: str = "in") -> str:
    """As :func:`fitcheck.ground.lengths.format_past`, to a thousandth of an inch or of a millimetre.

    The doubt is rounded up.
    It tells two readings apart that a rule's marks do not.

    >>> format_past_finely(0.42, 0.38), format_past_finely(-0.42, 0.38, units="mm")
    ('past 0.017 in ± 0.015', 'short 0.420 mm ± 0.380')
    """
    step_mm = float(INCH_MM) / 1000 if units == "in" else 0.001
    size, doubt = round(abs(value_mm) / step_mm), math.ceil(u95_mm / step_mm - 1e-6)
    if size == 0:
        return f"on the line ± {doubt / 1000:.3f} {units}"
    return f"{'past' if value_mm > 0 else 'short'} {size / 1000:.3f} {units} ± {doubt / 1000:.3f}"


#: A length in a sentence, or two as the sides of a card. The name of a file is none.
_IN_MM = re.compile(r"(?<![\w.-])(\d+(?:\.\d+)?)(?: x (\d+(?:\.\d+)?))? mm\b(?!\.\w)")
#: Under this a length in a sentence is said in thousandths of an inch, from it on in sixteenths.
FINE_MM = 3.0


def told_in(reason: Reason, units: str) -> Reason:
    """The reason with the lengths of its sentence in ``units``, as the hull's builder reads them.

    What refuses a photograph speaks in millimetres. A camera's own figures, which are in millimetres everywhere, stay.

    >>> told_in(Reason("too-far", "A pixel covers 0.45 mm; lay a card of 88.9 x 50.8 mm."), "in").text
    'A pixel covers 0.018 in; lay a card of 3-1/2 x 2 in.'
    """
    if units == "mm" or reason.code.startswith("camera"):
        return reason

    def inches(found: re.Match[str]) -> str:
        sides = [_round_inches(float(side)) for side in found.groups() if side]
        return f"{' x '.join(side.removesuffix(' in') for side in sides[:-1])}{' x ' if sides[1:] else ''}{sides[-1]}"

    return Reason(reason.code, _IN_MM.sub(inches, reason.text))


def _round_inches(mm: float) -> str:
    return format_thin(mm) if mm < FINE_MM else format_length(mm, fraction=16)
