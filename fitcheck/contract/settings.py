"""What the builder tells the program about one measurement: lengths, bevel, line and limits, all in mm and degrees."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from fitcheck.contract.gain import GainShape
from fitcheck.contract.hints import Hints, Keel
from fitcheck.ground.refusal import Reason

#: A told bevel comes from a bevel gauge, good to about a degree; without one, the usual laps lie about 6 degrees.
TOLD_BEVEL_U_DEG = 1.0
UNTOLD_BEVEL_DEG, UNTOLD_BEVEL_U_DEG = 6.0, 4.0
THIRTY_SECOND_MM = 25.4 / 32
#: Lap over plank thickness in print and practice lies in this range (common practice, no source).
USUAL_LAP_RATIO = (1.5, 2.7)


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Settings of one measurement.

    Lengths in mm, angles in degrees. ``bevel_deg`` None means not told: the usual bevel with a wide uncertainty is
    used; ``u_bevel_deg`` None means a bevel gauge's.
    ``witness_mm`` None means no witness line is drawn. ``hints`` are what the builder said of the picture itself.
    ``eased_mm`` is how far the plank's inner corner is eased, 0 where it is sharp; None means not told.
    ``gains`` are where the step runs out, their ends in the answer's own places: plank_mm with station cards, else
    along_mm.

    How places are said: ``at_mm`` is where along the plank the reference's middle lay (None where it is not told, or
    which way the tape runs is not), ``along_sign`` whether places on the tape rise (1) or fall (-1) with along_mm,
    ``ends_mm`` the plank's own ends on the tape, ``tape`` how its builder writes a foot ("feet", "inches" or "").

    >>> Settings(reference="id1", thickness_mm=12.7, lap_mm=25.4).bevel()
    (6.0, 4.0)
    """

    reference: str
    thickness_mm: float
    lap_mm: float | None = None
    u_thickness_mm: float = 0.2
    bevel_deg: float | None = None
    u_bevel_deg: float | None = None
    witness_mm: float | None = None
    eased_mm: float | None = None
    limit_mm: float = THIRTY_SECOND_MM
    units: str = "in"
    fraction: int = 32
    plank: str | None = None
    hints: Hints = field(default_factory=Hints)
    gains: tuple[GainShape, ...] = ()
    at_mm: float | None = None
    along_sign: int = 1
    ends_mm: tuple[float, float] | None = None
    tape: str = ""

    def bevel(self) -> tuple[float, float]:
        """The bevel and its standard uncertainty, in degrees."""
        if self.bevel_deg is None:
            return UNTOLD_BEVEL_DEG, UNTOLD_BEVEL_U_DEG
        return self.bevel_deg, TOLD_BEVEL_U_DEG if self.u_bevel_deg is None else self.u_bevel_deg

    @property
    def keel(self) -> Keel:
        """How the hull lies in the photograph: "down", "up", or "auto" where it is to be found."""
        return self.hints.keel or "auto"

    def as_json(self) -> dict[str, Any]:
        """The settings as the JSON contract writes them: the hints among the others."""
        told = asdict(self)
        hints = told.pop("hints")
        return {**told, **hints, "keel": self.keel}


def unusual_lap(lap_mm: float, thickness_mm: float, *, check: str) -> tuple[Reason, ...]:
    """The warning where lap and thickness are far from usual, which may be meant; ``check`` names where they stand.

    >>> unusual_lap(25.4, 12.7, check="--lap and --thickness")
    ()
    """
    low, high = USUAL_LAP_RATIO
    ratio = lap_mm / thickness_mm
    if low <= ratio <= high:
        return ()
    text = f"The lap is {ratio:.1f} times the plank's thickness; {low} to {high} is common practice. Check {check}."
    return (Reason("lap-unusual", text),)
