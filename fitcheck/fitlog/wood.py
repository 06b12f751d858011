"""Wood moves with its moisture: how much a plank's width changes between two fits, and whether that explains a shift.

Source: USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-190, chapter 13: equation 13-2 with the coefficients of
table 13-5 between 6 and 14 % moisture content, equation 13-3 outside. Equation 13-3 asks for the shrinkage from green
to oven-dry; it is found back from the coefficient, which the handbook's own formula ties to it at 10 % moisture
content.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.uncertainty import COVERAGE

if TYPE_CHECKING:
    from fitcheck.fitlog.compare import Comparison
    from fitcheck.hull.settings_file import Hull

#: Between these moisture contents equation 13-2 holds.
LOW_PCT, HIGH_PCT = 6.0, 14.0
#: Boards of one species differ: coefficient of variation of shrinkage (Wood Handbook, from memory).
U_COEFFICIENT = 0.15
#: A pin meter reads a board to about one per cent of moisture content (common practice, no source).
U_MOISTURE_PCT = 1.0
Grain = Literal["flat", "edge"]


@dataclass(frozen=True)
class Species:
    """Change of size for one per cent of moisture content: across flat grain (tangential) and edge grain (radial).

    ``green_pct`` is the moisture content at which shrinking starts.
    """

    flat: float
    edge: float
    green_pct: float = 30.0

    def coefficient(self, grain: Grain) -> float:
        """The change of width per width and per cent of moisture content."""
        return self.flat if grain == "flat" else self.edge


#: Wood Handbook table 13-5: white oak as printed there; the others from memory, and re-derived from the shrinkage of
#: table 4-3. For the two cedars that start to shrink at a lower moisture content the table's coefficients follow with
#: 22 %.
SPECIES = {
    "northern white cedar": Species(0.00229, 0.00101, 22.0),
    "atlantic white cedar": Species(0.00187, 0.00099),
    "western redcedar": Species(0.00234, 0.00111, 22.0),
    "white oak": Species(0.00365, 0.00180),
    "western larch": Species(0.00323, 0.00155),
    "sitka spruce": Species(0.00263, 0.00148),
    "eastern white pine": Species(0.00212, 0.00071),
}


@dataclass(frozen=True)
class Movement:
    """The expected change of a plank's width, + wider, its 95 % half-width, and whether it lies beyond 6 to 14 %."""

    change_mm: float
    u95_mm: float
    outside: bool


def change_of_size_mm(
    size_mm: float, coefficient: float, from_pct: float, to_pct: float, *, green_pct: float = 30.0
) -> float:
    """How much a size across the grain changes between two moisture contents (% of oven-dry weight), + growing.

    Equation 13-2 where both lie between 6 and 14 %, else equation 13-3; wood wetter than ``green_pct`` is as large as
    at it. Raises :class:`WrongCall` for a moisture content or a size below zero.

    >>> round(change_of_size_mm(232.0, 0.00245, 8.0, 11.0), 1)
    1.7
    """
    if min(from_pct, to_pct, size_mm) < 0:
        raise WrongCall("sizes and moisture contents are not below zero")
    first, last = min(from_pct, green_pct), min(to_pct, green_pct)
    if LOW_PCT <= first <= HIGH_PCT and LOW_PCT <= last <= HIGH_PCT:
        return size_mm * coefficient * (last - first)
    return size_mm * (last - first) / (100 * green_pct / shrinkage_pct(coefficient, green_pct) - green_pct + first)


def shrinkage_pct(coefficient: float, green_pct: float = 30.0) -> float:
    """The shrinkage from green to oven-dry, in % of the green size, that a coefficient of table 13-5 stands for.

    >>> round(shrinkage_pct(0.00245), 1)
    7.0
    """
    return 100 * green_pct / (1 / coefficient + green_pct - 10)


def expected(width_mm: float, species: str, grain: Grain, from_pct: float, to_pct: float) -> Movement:
    """The change of a plank's width between two moisture readings, with what species and meter leave open.

    In the half-width: boards that differ from their species and the meter's error at both readings; not in it: a board
    neither flat nor edge grain, moisture uneven through it. Raises :class:`WrongCall` for a species not in the table.
    """
    kind = known(species)
    coefficient = kind.coefficient(grain)
    change_mm = change_of_size_mm(width_mm, coefficient, from_pct, to_pct, green_pct=kind.green_pct)
    per_pct_mm = width_mm * coefficient
    u_mm = ((change_mm * U_COEFFICIENT) ** 2 + 2 * (per_pct_mm * U_MOISTURE_PCT) ** 2) ** 0.5
    outside = not all(LOW_PCT <= pct <= HIGH_PCT for pct in (from_pct, to_pct))
    return Movement(change_mm, COVERAGE * u_mm, outside)


def known(species: str) -> Species:
    """The species of that name. Raises :class:`WrongCall` listing those there are."""
    found = SPECIES.get(" ".join(species.casefold().replace("-", " ").split()))
    if found is None:
        raise WrongCall(f"the wood {species!r} is not in the table; there are: {', '.join(sorted(SPECIES))}")
    return found


def explains(movement: Movement, shift_mm: float, shift_u95_mm: float) -> str:
    """Whether the change of width can be why the lower edge moved: "yes", "in part", "no" or "unsure".

    ``shift_mm`` is + past the line, ``shift_u95_mm`` its 95 % half-width.

    The edge moves with the width by as much as the whole change, where the plank is held along its upper edge, or not
    at all, where it is held along the lower; so a shift between nothing and the change is explained.
    """
    low, high = sorted((0.0, movement.change_mm))
    doubt = (movement.u95_mm**2 + shift_u95_mm**2) ** 0.5
    if abs(shift_mm) <= shift_u95_mm:
        return "unsure"
    if low <= shift_mm <= high or (
        abs(movement.change_mm) > movement.u95_mm and low - doubt <= shift_mm <= high + doubt
    ):
        return "yes"
    same_way = shift_mm * movement.change_mm > 0 and abs(movement.change_mm) > movement.u95_mm
    return "in part" if same_way else "no"


def between(comparison: Comparison, hull: Hull | None) -> tuple[Movement, str] | None:
    """The expected change of width between two compared fits, and whether it explains how the plank shifted.

    None where species and width of the strake, or the moisture of either fit, are not told, or where the shift as a
    whole cannot be told from planing. Raises :class:`WrongCall` for a species not in the table.
    """
    strake = hull.strake(comparison.plank.strake) if hull else None
    first, last = comparison.old.moisture_pct, comparison.new.moisture_pct
    if strake is None or strake.species is None or strake.width_mm is None or first is None or last is None:
        return None
    if comparison.movement is None:
        return None
    movement = expected(strake.width_mm, strake.species, strake.grain, first, last)
    return movement, explains(movement, comparison.movement.slide_mm, comparison.movement.slide_u95_mm)
