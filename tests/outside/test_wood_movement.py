"""Change of width with moisture, held against the Wood Handbook (USDA Forest Products Laboratory, FPL-GTR-190)."""

from __future__ import annotations

import pytest

from fitcheck.fitlog.wood import SPECIES, change_of_size_mm, expected, explains, known, shrinkage_pct
from fitcheck.ground.refusal import WrongCall

#: Table 4-3, shrinkage from green to oven-dry in %, radial and tangential (read in a copy of the handbook,
#: 2026-11-25, but for larch, spruce and pine: from memory).
SHRINKAGE_PCT = {
    "northern white cedar": (2.2, 4.9),
    "atlantic white cedar": (2.9, 5.4),
    "western redcedar": (2.4, 5.0),
    "western larch": (4.5, 9.1),
    "sitka spruce": (4.3, 7.5),
    "eastern white pine": (2.1, 6.1),
}


def test_the_worked_example_of_equation_13_2():
    """Flat-grained white fir, 232 mm wide, from 8 to 11 %: 1.7 mm wider, 233.7 mm at the end (chapter 13)."""
    change = change_of_size_mm(232.0, 0.00245, 8.0, 11.0)
    assert change == pytest.approx(1.7, abs=0.05)
    assert 232.0 + change == pytest.approx(233.7, abs=0.05)


def test_equation_13_3_on_the_same_board():
    """By equation 13-3 with the tangential shrinkage of white fir, 7.0 %: 1.71 mm."""
    assert shrinkage_pct(0.00245) == pytest.approx(7.0, abs=0.05)
    by_shrinkage = 232.0 * (11 - 8) / (30 * 100 / 7.0 - 30 + 8)
    assert by_shrinkage == pytest.approx(1.71, abs=0.005)
    # Ours takes equation 13-3 as soon as one moisture content is beyond 14 %: it must meet 13-2 at the border.
    inside, outside = (change_of_size_mm(232.0, 0.00245, 8.0, pct) for pct in (14.0, 14.0001))
    assert outside == pytest.approx(inside, rel=0.01)


def test_white_oak_as_printed():
    """Table 13-5, white oak, commercial: 0.00180 radial, 0.00365 tangential."""
    assert (SPECIES["white oak"].edge, SPECIES["white oak"].flat) == (0.00180, 0.00365)


@pytest.mark.parametrize("name", sorted(SHRINKAGE_PCT))
def test_coefficients_follow_from_the_shrinkage(name):
    """The handbook's formula, C = 1 / (100 F / S - F + 10) with F = 30 %, and 22 % for two cedars (from memory)."""
    species = SPECIES[name]
    radial, tangential = SHRINKAGE_PCT[name]
    for coefficient, shrinkage in ((species.edge, radial), (species.flat, tangential)):
        derived = 1 / (100 * species.green_pct / shrinkage - species.green_pct + 10)
        assert coefficient == pytest.approx(derived, abs=0.000006)  # the table has five decimals
        assert shrinkage_pct(coefficient, species.green_pct) == pytest.approx(shrinkage, abs=0.03)


def test_wood_wetter_than_green_does_not_grow():
    """Shrinking starts at about 30 % moisture content: neither may exceed it in equation 13-3 (chapter 13)."""
    assert change_of_size_mm(150.0, 0.00365, 30.0, 60.0) == 0.0
    assert change_of_size_mm(150.0, 0.00365, 60.0, 12.0) == change_of_size_mm(150.0, 0.00365, 30.0, 12.0)


def test_drying_undoes_wetting_but_for_the_formulas_own_curvature():
    there, back = change_of_size_mm(150.0, 0.00234, 9.0, 13.0), change_of_size_mm(150.0, 0.00234, 13.0, 9.0)
    assert there == -back > 0


def test_a_shift_is_explained_or_not():
    """White oak, flat-grained, 150 mm, from 8 to 13 %: 2.7 mm wider by hand (150 x 0.00365 x 5)."""
    movement = expected(150.0, "White Oak", "flat", 8.0, 13.0)
    assert movement.change_mm == pytest.approx(2.74, abs=0.005)
    assert not movement.outside
    assert explains(movement, 1.4, 0.3) == "yes"
    assert explains(movement, 0.2, 0.3) == "unsure"
    assert explains(movement, 8.0, 0.3) == "in part"
    assert explains(movement, -6.0, 0.3) == "no"
    still = expected(150.0, "white oak", "edge", 10.0, 10.0)
    assert still.change_mm == 0
    assert explains(still, 3.0, 0.3) == "no"


def test_a_wood_that_is_not_in_the_table():
    with pytest.raises(WrongCall, match="western redcedar"):
        known("mahogany")
    assert known("Western-Redcedar") is SPECIES["western redcedar"]
    with pytest.raises(WrongCall, match="not below zero"):
        change_of_size_mm(100.0, 0.002, -1.0, 8.0)
