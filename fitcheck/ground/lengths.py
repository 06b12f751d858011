"""Lengths as a builder writes and reads them: feet, inches and fractions, or metric. Inside the program all is mm.

Reading is exact (:class:`fractions.Fraction`), so every length this module prints reads back as the same length.
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction

from fitcheck.ground.refusal import WrongCall

INCH_MM = Fraction(254, 10)
LONGEST_MM = 1_000_000
#: No length is written with more letters than this.
MOST_LETTERS = 40
#: How a tape is read: from how many inches on a length is said in feet and inches. Where no one told, from two feet.
TAPES = {"": 24.0, "feet": 12.0, "inches": math.inf}
FRACTIONS = (2, 4, 8, 16, 32, 64)
FORMS = '12.7mm, 5cm, 2.4m, 1/2in, 1-3/8in, 1 3/16 in, 0.5", 3ft 6-1/2in, or 1-2-3 (feet-inches-eighths)'

_METRIC_MM = {"mm": 1, "cm": 10, "m": 1000}
_NUMBER = r"(?:\d+(?:\.\d+)?|\.\d+)"
_COUNT = rf"(?:(?P<whole>\d+)(?:\s*-\s*|\s+))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|(?P<number>{_NUMBER})"
_METRIC = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>mm|cm|m)")
_INCHES = re.compile(rf"(?:{_COUNT})\s*(?:inches|inch|in|\")")
_FEET = re.compile(rf"(?P<feet>{_NUMBER})\s*(?:feet|foot|ft|')(?:-|\s*-\s+|\s*)(?P<rest>.*)")
_OFFSETS = re.compile(r"(?P<feet>\d+)-(?P<inches>\d+)-(?P<eighths>\d+)")
#: A comma before the decimals. One after a hyphen, a stroke or a point does something else.
_COMMA = re.compile(r"(?<![\d./-])(?P<whole>\d+),(?P<part>\d+)(?=\s*(?:[a-z\"']|$))", re.IGNORECASE)
_MARKS = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "−": "-", "–": "-", "⁄": "/"})


def parse_length(text: str, *, signed: bool = False) -> float:
    """The length in mm that ``text`` says.

    A bare number is refused, since nothing tells its unit; only 0 needs none. Decimals stand after a point or a comma;
    ``1,250mm`` is refused, since it could be 1250 or 1.25. A sign is read only where ``signed`` allows one (a place
    along a plank may lie before its zero; a thickness may not). Raises :class:`WrongCall`, which shows the forms that
    are read.

    >>> parse_length("1-3/8in"), parse_length("3ft 6-1/2in"), parse_length("1-2-3"), parse_length("2.4m")
    (34.925, 1079.5, 365.125, 2400.0)
    >>> parse_length("-1/32in", signed=True)
    -0.79375
    >>> parse_length("12")
    Traceback (most recent call last):
    fitcheck.ground.refusal.WrongCall: '12' has no unit: write a length as 12.7mm, 5cm, ...
    """
    plain = _plain(f"{text}")
    if len(plain) > MOST_LETTERS:
        raise _unread(f"{plain[:MOST_LETTERS]}…")
    sign = 1
    if signed and plain[:1] in ("-", "+"):
        sign, plain = (-1 if plain[0] == "-" else 1), plain[1:].lstrip()
    if plain == "0":
        return 0.0
    plain = decimal_point(plain)
    length = _metric(plain) or _inches(plain) or _feet(plain) or _offsets(plain)
    if length is None:
        raise _unread(plain)
    if length[0] > LONGEST_MM:
        raise WrongCall(f"{plain!r} is longer than a kilometre; write a length as {FORMS}")
    return float(sign * length[0])


def decimal_point(text: str) -> str:
    """``text`` with its decimal commas as points; commas that part one length from the next stay.

    Raises :class:`WrongCall` for a comma before three figures, which may part thousands.

    >>> decimal_point("25,1mm,25,2mm"), decimal_point("14in,1/4in")
    ('25.1mm,25.2mm', '14in,1/4in')
    """

    def point(match: re.Match[str]) -> str:
        if len(match["part"]) == 3 and match["whole"].strip("0"):
            raise WrongCall(f"{match[0]!r} may be a thousand or a decimal: write it without the comma")
        return f"{match['whole']}.{match['part']}"

    return _COMMA.sub(point, text)


def format_length(mm: float, *, units: str = "in", fraction: int = 32, decimals: int = 1, tape: str = "") -> str:
    """``mm`` in words: the nearest ``1/fraction`` inch, or mm to ``decimals``.

    ``tape`` says how the hull's builder writes a foot: "feet" (1 ft 6 in), "inches" (18 in), or "" where it is not
    told (18 in, but 2 ft). Raises :class:`WrongCall` for a fraction no rule shows or a unit other than "in" and "mm".

    >>> format_length(34.925), format_length(1079.5), format_length(-12.7), format_length(0.7, units="mm")
    ('1-3/8 in', '3 ft 6-1/2 in', '-1/2 in', '0.7 mm')
    """
    check_units(units, fraction)
    if not math.isfinite(mm):
        raise WrongCall(f"{mm} is not a length")
    if units == "mm":
        return f"{round(mm, decimals) + 0.0:.{decimals}f} mm"
    return _in_inches(nearest_fraction(mm, fraction), TAPES[tape])


def format_past(value_mm: float, u95_mm: float, *, units: str = "in", fraction: int = 32) -> str:
    """How far the edge is past or short of the line, in words, with its 95 % half-width rounded up.

    Where the doubt is finer than the fraction, so is the reading. The words follow the rounded length; states and cuts
    are decided before rounding, elsewhere.

    >>> format_past(0.8, 0.3), format_past(-2.3, 0.39), format_past(0.1, 0.3)
    ('past 1/32 in ± 1/64', 'short 3/32 in ± 1/64', 'on the line ± 1/64 in')
    >>> format_past(0.8, 0.301, units="mm")
    'past 0.80 mm ± 0.31'
    """
    finest = reading_fraction(u95_mm, fraction) if units == "in" else fraction
    size = format_length(abs(value_mm), units=units, fraction=finest, decimals=2)
    doubt = format_doubt(u95_mm, units=units, fraction=fraction)
    if size in ("0 in", "0.00 mm"):
        return f"on the line ± {doubt}"
    return f"{'past' if value_mm > 0 else 'short'} {size} ± {doubt.rsplit(' ', 1)[0]}"


def format_doubt(u95_mm: float, *, units: str = "in", fraction: int = 32) -> str:
    """A 95 % half-width, rounded up so that it never claims more than was measured: 1/64 in steps, or 0.01 mm.

    >>> format_doubt(25.4 / 64), format_doubt(0.41), format_doubt(0.41, units="mm")
    ('1/64 in', '1/32 in', '0.41 mm')
    """
    check_units(units, fraction)
    if not math.isfinite(u95_mm) or u95_mm < 0:
        raise WrongCall(f"{u95_mm} is not an uncertainty")
    if units == "mm":
        return f"{math.ceil(u95_mm * 100 - 1e-6) / 100:.2f} mm"
    step = min(2 * fraction, FRACTIONS[-1])
    return _in_inches(Fraction(math.ceil(u95_mm * step / float(INCH_MM) - 1e-6), step))


def reading_fraction(u95_mm: float, fraction: int) -> int:
    """The fraction of an inch that a reading with this 95 % half-width is said to.

    >>> reading_fraction(0.3, 32), reading_fraction(0.5, 32)
    (64, 32)
    """
    step = min(2 * fraction, FRACTIONS[-1])
    return step if u95_mm * step / float(INCH_MM) <= 1 + 1e-6 else fraction


def nearest_fraction(mm: float, fraction: int) -> Fraction:
    """The inches nearest to ``mm`` in whole ``1/fraction``, halves away from zero.

    >>> nearest_fraction(12.7, 32)
    Fraction(1, 2)
    """
    steps = abs(Fraction(mm)) / INCH_MM * fraction
    nearest = math.floor(steps + Fraction(1, 2))
    return Fraction(nearest if mm >= 0 else -nearest, fraction)


def check_units(units: str, fraction: int) -> None:
    """Raise :class:`WrongCall` unless ``units`` is "in" or "mm" and ``fraction`` is one a rule shows."""
    if units not in ("in", "mm"):
        raise WrongCall(f"units {units!r} are not known: give in or mm")
    if fraction not in FRACTIONS:
        raise WrongCall(f"a fraction of 1/{fraction} in is on no rule: give one of {', '.join(map(str, FRACTIONS))}")


def _plain(text: str) -> str:
    text = re.sub("[¼-¾⅐-⅞]", lambda sign: " " + unicodedata.normalize("NFKC", sign[0]), text)
    return text.translate(_MARKS).replace("''", '"').strip().lower()


def _metric(plain: str) -> tuple[Fraction] | None:
    match = _METRIC.fullmatch(plain)
    return (Fraction(match["number"]) * _METRIC_MM[match["unit"]],) if match else None


def _inches(plain: str) -> tuple[Fraction] | None:
    match = _INCHES.fullmatch(plain)
    if not match:
        return None
    if match["number"]:
        return (Fraction(match["number"]) * INCH_MM,)
    whole, top, bottom = (int(match[name] or 0) for name in ("whole", "top", "bottom"))
    if bottom == 0 or (match["whole"] and top >= bottom):
        return None
    return ((whole + Fraction(top, bottom)) * INCH_MM,)


def _feet(plain: str) -> tuple[Fraction] | None:
    match = _FEET.fullmatch(plain)
    if not match:
        return None
    inches = _inches(match["rest"]) if match["rest"] else (Fraction(0),)
    if inches is None or inches[0] >= 12 * INCH_MM:
        return None
    return (Fraction(match["feet"]) * 12 * INCH_MM + inches[0],)


def _offsets(plain: str) -> tuple[Fraction] | None:
    match = _OFFSETS.fullmatch(plain)
    if not match or int(match["inches"]) >= 12 or int(match["eighths"]) >= 8:
        return None
    return ((int(match["feet"]) * 12 + int(match["inches"]) + Fraction(int(match["eighths"]), 8)) * INCH_MM,)


def _unread(plain: str) -> WrongCall:
    if re.fullmatch(rf"[-+]?(?:{_COUNT})", plain):
        return WrongCall(f"{plain!r} has no unit: write a length as {FORMS}")
    if re.match(r"[-+]\s*[\d.]", plain):
        return WrongCall(f"{plain!r} has a sign, and this length takes none: write it as {FORMS}")
    return WrongCall(f"{plain!r} is not a length: write it as {FORMS}")


def _in_inches(inches: Fraction, feet_from_in: float = TAPES[""]) -> str:
    size = abs(inches)
    feet = int(size // 12) if size >= feet_from_in else 0
    whole, part = divmod(size - 12 * feet, 1)
    words = [f"{feet} ft"] if feet else []
    if whole and part:
        words.append(f"{whole}-{part} in")
    elif whole or part or not feet:
        words.append(f"{whole or part} in")
    return ("-" if inches < 0 else "") + " ".join(words)
