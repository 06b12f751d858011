"""What the builder tells the program about one measurement: lengths, bevel, line and limits, all in mm and degrees."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fitcheck.contract.gain import GainShape
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
    ``witness_mm`` None means no witness line is drawn. ``keel`` is "down", "up" or "auto". ``line_at_px`` and
    ``edge_at_px`` are places (u, v) the builder pointed at on the picture as a person sees it. ``gains`` are where the
    step runs out, their ends in the answer's own places: plank_mm with station cards, else along_mm.

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
    keel: str = "auto"
    limit_mm: float = THIRTY_SECOND_MM
    units: str = "in"
    fraction: int = 32
    plank: str | None = None
    line_at_px: tuple[tuple[float, float], ...] = ()
    edge_at_px: tuple[tuple[float, float], ...] = ()
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

    def as_json(self) -> dict[str, Any]:
        """The settings as the JSON contract writes them."""
        return asdict(self)


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
