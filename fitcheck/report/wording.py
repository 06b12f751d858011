"""How a measurement is said: places, lengths and depths in the builder's units, the same words on every page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fitcheck.depth import format_depth
from fitcheck.lengths import format_doubt, format_length, format_past
from fitcheck.measurement import Measurement

#: Places are said to a quarter inch or a millimetre: finer than a builder marks them, as fine as a sample stands.
PLACE_FRACTION = 4


@dataclass(frozen=True)
class Wording:
    """The words of one measurement.

    ``on_plank``: places are the plank's, from station card 0; else they lie left or right of the reference's middle, as
    the picture shows it, which in a keel-up photograph is the other way round than ``along_mm`` counts.
    """

    units: str = "in"
    fraction: int = 32
    on_plank: bool = True
    keel: str = "down"

    @classmethod
    def of(cls, measurement: Measurement, *, units: str | None = None, fraction: int | None = None) -> Wording:
        """The wording a measurement asks for, or the units and fraction given instead."""
        settings = measurement.settings
        return cls(
            units=units or str(settings.get("units") or "in"),
            fraction=fraction or int(settings.get("fraction") or 32),
            on_plank=any(sample.plank_mm is not None for sample in measurement.samples),
            keel="up" if settings.get("keel") == "up" else "down",
        )

    def length(self, mm: float) -> str:
        """A plain length."""
        return format_length(mm, units=self.units, fraction=self.fraction)

    def past(self, value_mm: float, u95_mm: float) -> str:
        """How far past or short, with its doubt."""
        return format_past(value_mm, u95_mm, units=self.units, fraction=self.fraction)

    def doubt(self, u95_mm: float) -> str:
        """A doubt, rounded up."""
        return format_doubt(u95_mm, units=self.units, fraction=self.fraction)

    def depth(self, mm: float) -> str:
        """How deep to plane, rounded down.

        >>> Wording().depth(0.8), Wording().depth(0.2), Wording(units="mm").depth(0.86)
        ('1/32 in', 'a shaving', '0.8 mm')
        """
        return format_depth(mm, self.units)

    def place(self, mm: float) -> str:
        """A place along the lap.

        >>> Wording().place(1079.5), Wording(on_plank=False).place(-50.8)
        ('3 ft 6-1/2 in', '2 in left')
        >>> Wording(on_plank=False, keel="up").place(-50.8)
        '2 in right'
        """
        said = self._place_length(abs(mm))
        if said in ("0 in", "0 mm"):
            return "0" if self.on_plank else "middle"
        if self.on_plank:
            return said if mm > 0 else f"{said} before 0"
        return f"{said} {'right' if (mm > 0) == (self.keel == 'down') else 'left'}"

    def span(self, from_mm: float, to_mm: float) -> str:
        """From where to where, in the order the eye meets them.

        >>> Wording(on_plank=False).span(50.8, 133.35), Wording().span(0, 610)
        ('from 2 in right to 5-1/4 in right', 'from 0 to 2 ft')
        """
        ends = (from_mm, to_mm) if self.keel == "down" or self.on_plank else (to_mm, from_mm)
        return f"from {self.place(ends[0])} to {self.place(ends[1])}"

    def stretch_length(self, mm: float) -> str:
        """How long a stretch is, as exactly as places are said."""
        return self._place_length(mm)

    def _place_length(self, mm: float) -> str:
        return format_length(mm, units=self.units, fraction=PLACE_FRACTION, decimals=0)

    def origin(self, reference: Mapping[str, Any] | None) -> str:
        """What places are counted from, for the foot of a table.

        >>> Wording(on_plank=False).origin({"kind": "id1"})
        "Places count from the card's middle, left and right as the picture shows it."
        """
        if self.on_plank:
            return "Places count along the lap from station card 0."
        kind = str((reference or {}).get("kind", "reference"))
        thing = "rule" if kind.startswith("rule") else "card" if kind != "reference" else "reference"
        return f"Places count from the {thing}'s middle, left and right as the picture shows it."
