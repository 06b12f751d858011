"""Where photographs of one plank disagree, in words."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.ground.refusal import Reason
from fitcheck.ground.tape_places import format_place
from fitcheck.one_photo.edge_samples import SAMPLE_MM

#: Places are said to a quarter inch or a millimetre.
PLACE_FRACTION = 4


def told_apart(
    apart: Sequence[tuple[float, tuple[str, ...]]], units: str, meaning: str, *, least_mm: float
) -> list[Reason]:
    """A warning ``photos-disagree`` for each stretch of places (mm) on which the same photographs disagree.

    Stretches shorter than ``least_mm`` are not told; ``meaning`` says what it may be and what to do.

    >>> told_apart([(at, ("a", "b")) for at in range(1000, 1051, 5)], "in", "Look again.", least_mm=40.0)[0].text[:53]
    'From 3 ft 3-1/4 in to 3 ft 5-1/4 in a and b disagree '
    """
    runs: list[tuple[float, float, tuple[str, ...]]] = []
    for place, names in apart:
        if runs and place - runs[-1][1] <= 2 * SAMPLE_MM and runs[-1][2] == names:
            runs[-1] = (runs[-1][0], place, names)
        else:
            runs.append((place, place, names))
    return [
        Reason(
            "photos-disagree",
            f"{_span(low, high, units)} {' and '.join(names)} disagree by more than "
            f"their uncertainties, which were widened there. {meaning}",
        )
        for low, high, names in runs
        if high - low >= least_mm
    ]


def _span(low_mm: float, high_mm: float, units: str) -> str:
    low, high = said_place(low_mm, units), said_place(high_mm, units)
    return f"At {low}" if low == high else f"From {low} to {high}"


def said_place(mm: float, units: str) -> str:
    """A place along the plank in the builder's units.

    >>> said_place(1222.0, "mm"), said_place(1222.0, "in")
    ('1222 mm', '4 ft')
    """
    return format_place(mm, units=units, fraction=PLACE_FRACTION)
