"""Where the middle of a rule's scale is, told without reading its numbers, and how far its marks may be trusted."""

from __future__ import annotations

import math

import numpy as np

from fitcheck.reference.rule.rule_pattern import INCH_MM, Division

#: Lengths that rules are sold in, in their own unit (common practice, no source).
LENGTHS = {"mm": (100.0, 150.0, 200.0, 300.0, 500.0, 600.0, 1000.0), "in": (6.0, 12.0, 18.0, 24.0, 36.0)}
END_TOLERANCE_MM = 0.6


def scale_middle(
    division: Division, marks_mm: tuple[float, float], ends_mm: tuple[float, float] | None
) -> tuple[float, bool]:
    """The middle of the scale, in mm counted from one of its whole centimetres or inches, and whether it is sure.

    ``marks_mm`` are the first and the last mark in sight, ``ends_mm`` the rule's own ends where both show. Where the
    ends stand a usual length apart, on whole centimetres or inches, they are the scale's ends; where the marks do, with
    bare metal beyond them, those are. Else the middle of the marks in sight is given, not sure: another rule, or a
    clamp taken for an end.

    >>> mm = Division("mm", 1.0, (5, 10))
    >>> scale_middle(mm, (-29.0, 269.0), (-30.05, 269.9))
    (120.0, True)
    >>> scale_middle(mm, (-29.0, 154.0), None)
    (62.5, False)
    """
    lengths_mm = np.array(LENGTHS[division.unit]) * (1.0 if division.unit == "mm" else INCH_MM)
    if ends_mm is not None:
        spans = [(ends_mm, END_TOLERANCE_MM)]
        if min(marks_mm[0] - ends_mm[0], ends_mm[1] - marks_mm[1]) > 1.3 * division.pitch_mm:
            spans.append((marks_mm, 0.3 * division.pitch_mm))
        for (low, high), within in spans:
            off = np.abs(high - low - lengths_mm)
            whole = round(low / division.whole_mm) * division.whole_mm
            if off.min() < within and abs(whole - low) < within:
                return float(whole + lengths_mm[off.argmin()] / 2.0), True
    return (marks_mm[0] + marks_mm[1]) / 2.0, False


def most_error_mm(length_mm: float) -> float:
    """Largest error of a grade 1 steel rule over ``length_mm``: 0.10 mm + 0.05 mm for each half metre begun.

    JIS B 7516. Inch rules are taken alike (no standard read).

    >>> most_error_mm(300.0), most_error_mm(1000.0)
    (0.15, 0.2)
    """
    return round(0.10 + 0.05 * math.ceil(length_mm / 500.0), 6)
