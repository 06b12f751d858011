"""How deep a cut is, as a builder is told it: one number for one cut, on every paper, screen and in the record.

A depth is rounded down to the finest mark of a bench rule, so that no number asks for more wood than is surely past
the line. What is drawn at full size or goes on record as planed is held to that number too.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from typing import Any

from fitcheck.ground.lengths import INCH_MM, format_length

#: The finest mark of a bench rule: 1/64 in, or a tenth of a millimetre, which a gauge shows.
FRACTION = 64
FINEST_MM = {"in": float(INCH_MM) / FRACTION, "mm": 0.1}
SHAVING = "a shaving"


def told_depth_mm(depth_mm: float, units: str) -> float:
    """The depth that is told for ``depth_mm``: whole finest marks, rounded down; under one mark the depth as it is.

    >>> round(told_depth_mm(1.1, "in"), 3), round(told_depth_mm(1.16, "mm"), 3), told_depth_mm(0.3, "in")
    (0.794, 1.1, 0.3)
    """
    return _marks(depth_mm, units) * FINEST_MM[units] or depth_mm


def format_depth(depth_mm: float, units: str) -> str:
    """How deep to plane, in words, rounded down.

    >>> format_depth(1.1, "in"), format_depth(0.2, "in"), format_depth(0.86, "mm"), format_depth(0.0, "mm")
    ('1/32 in', 'a shaving', '0.8 mm', 'nothing')
    """
    if not _marks(depth_mm, units):
        return SHAVING if depth_mm > 0 else "nothing"
    return format_length(told_depth_mm(depth_mm, units), units=units, fraction=FRACTION)


def told_cut(cut: Mapping[str, Any], units: str) -> dict[str, Any]:
    """A cut of the advice, its profile nowhere deeper than the depth that is told for the cut as a whole.

    >>> told_cut({"deepest_mm": 1.16, "profile": [[0.0, 0.5], [5.0, 1.16]]}, "mm")["profile"]
    [[0.0, 0.5], [5.0, 1.1]]
    """
    deepest_mm = round(told_depth_mm(float(cut["deepest_mm"]), units), 6)
    profile = [[at, min(depth, deepest_mm)] for at, depth in cut.get("profile") or ()]
    return {**cut, "deepest_mm": deepest_mm, **({"profile": profile} if profile else {})}


def depth_at(cuts: Sequence[Mapping[str, Any]], at_mm: float) -> float:
    """The depth of the cuts at one place, 0 where none reaches.

    >>> depth_at([{"profile": [[0, 0], [10, 1.0]]}], 5.0)
    0.5
    """
    for cut in cuts:
        profile = cut["profile"]
        if not profile[0][0] <= at_mm <= profile[-1][0]:
            continue
        after = bisect_left(profile, at_mm, key=lambda point: point[0])
        (low, first), (high, last) = profile[max(after - 1, 0)], profile[after]
        return float(last if high == low else first + (last - first) * (at_mm - low) / (high - low))
    return 0.0


def deepest_between(cuts: Sequence[Mapping[str, Any]], from_mm: float, to_mm: float) -> tuple[float, float]:
    """The place where the cuts are deepest from one place to another, and the depth there: their ends count.

    >>> deepest_between([{"profile": [[0, 0], [10, 1.0], [20, 0]]}], 2.0, 13.0)
    (10.0, 1.0)
    """
    places = [at for cut in cuts for at, _ in cut["profile"] if from_mm < at < to_mm]
    at_mm = max([from_mm, *places, to_mm], key=lambda place: depth_at(cuts, place))
    return float(at_mm), depth_at(cuts, at_mm)


def _marks(depth_mm: float, units: str) -> int:
    # A depth of whole marks has been through floats and must not lose one of them.
    return math.floor(depth_mm / FINEST_MM[units] + 1e-6)
