"""Published limits of rules and cards, held against what the program assumes of them.

JIS B 7516 (metal rules), EU directive 2014/32 annex X as UK SI 2016/1153 schedule 1I (material measures of length),
ISO/IEC 7810 (identification cards), the international inch (exactly 25.4 mm).
"""

from __future__ import annotations

import inspect
import math

import numpy as np
import pytest

from fitcheck.reference.card.card_kind import CARDS
from fitcheck.reference.rule.rule import THICKNESS_MM
from fitcheck.reference.rule.rule_pattern import DIVISIONS
from fitcheck.reference.rule.rule_scale import most_error_mm
from fitcheck.reference.sides.straight_sides import fit_side


@pytest.mark.parametrize(("length_mm", "limit_mm"), [(150, 0.15), (300, 0.15), (500, 0.15), (600, 0.20), (1000, 0.20)])
def test_grade_1_rules(length_mm: float, limit_mm: float) -> None:
    """JIS B 7516 grade 1: ±0.15 mm to 500 mm, ±0.20 mm to 1 m."""
    assert most_error_mm(length_mm) == limit_mm


@pytest.mark.parametrize(("class_mm", "length_mm"), [((0.3, 0.2), 300.0), ((0.3, 0.2), 1000.0), ((0.6, 0.4), 300.0)])
def test_legal_length_measures_allow_more(class_mm: tuple[float, float], length_mm: float) -> None:
    """±(a + bL), L in whole metres rounded up: classes II and III are wider than grade 1."""
    a, b = class_mm
    assert a + b * math.ceil(length_mm / 1000.0) > most_error_mm(length_mm)


def test_class_1_over_a_metre_is_grade_1() -> None:
    """Class I, 0.1 + 0.1 L: 0.2 mm at 1 m, as JIS grade 1."""
    assert most_error_mm(1000.0) == pytest.approx(0.1 + 0.1 * 1)


def test_divisions_of_an_inch_are_exact() -> None:
    """1/64 in = 0.396875 mm, 1/32 = 0.79375, 1/16 = 1.5875, 1/8 = 3.175; the longest marks are whole inches."""
    inches = [division for division in DIVISIONS if division.unit == "in"]
    assert {division.pitch_mm for division in inches} == {0.396875, 0.79375, 1.5875, 3.175}
    assert all(division.whole_mm == 25.4 for division in inches)


def test_divisions_of_a_metric_rule_close_on_the_centimetre() -> None:
    """JIS B 7516 divides in 1 mm and 0.5 mm; every tenth millimetre is the longest mark."""
    metric = [division for division in DIVISIONS if division.unit == "mm"]
    assert {division.pitch_mm for division in metric} == {1.0, 0.5}
    assert all(division.whole_mm == 10.0 for division in metric)


def test_sides_are_fitted_clear_of_the_rounded_corners() -> None:
    """ISO/IEC 7810: corner radius 2.88 to 3.48 mm, so corners themselves are never where the light changes."""
    start, end = inspect.signature(fit_side).parameters["keep"].default
    for side_mm in (CARDS["id1"].width_mm, CARDS["id1"].height_mm):
        assert start * side_mm > 3.48
        assert (1.0 - end) * side_mm > 3.48


def test_a_thickness_left_out_would_show() -> None:
    """A rule 1 mm nearer than the face, seen from 500 mm, is 0.2 % of scale: more than its own class of accuracy."""
    nearer = THICKNESS_MM / 500.0
    assert nearer == pytest.approx(0.002)
    assert nearer > most_error_mm(300.0) / np.sqrt(3.0) / 300.0
