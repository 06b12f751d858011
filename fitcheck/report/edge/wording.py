"""How a measurement is said: places, lengths and depths in the builder's units, the same words on every page."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fitcheck.advice.cut_depth import format_depth
from fitcheck.contract.measurement import Measurement
from fitcheck.ground.lengths import format_doubt, format_length, format_past
from fitcheck.ground.small_lengths import format_past_finely
from fitcheck.ground.tape_places import format_place
from fitcheck.reference.kinds import noun_of

#: Places are said to a quarter inch or a millimetre: finer than a builder marks them, as fine as a sample stands.
PLACE_FRACTION = 4


@dataclass(frozen=True)
class Wording:
    """The words of one measurement.

    ``on_plank``: places are the plank's, from station card ``from_card``; else they lie left or right of the
    reference's middle, as the picture shows it, which in a keel-up photograph is the other way round than ``along_mm``
    counts. Where ``at_mm`` tells the place of that middle on the tape, they are said as the tape reads, ``along_sign``
    being its sense.
    """

    units: str = "in"
    fraction: int = 32
    on_plank: bool = True
    keel: str = "down"
    tape: str = ""
    at_mm: float | None = None
    along_sign: int = 1
    from_card: int = 0

    @classmethod
    def of(cls, measurement: Measurement, *, units: str | None = None, fraction: int | None = None) -> Wording:
        """The wording a measurement asks for, or the units and fraction given instead."""
        settings = measurement.settings
        on_plank = any(sample.plank_mm is not None for sample in measurement.samples)
        return cls(
            units=units or str(settings.get("units") or "in"),
            fraction=fraction or int(settings.get("fraction") or 32),
            on_plank=on_plank,
            keel="up" if settings.get("keel") == "up" else "down",
            tape=str(settings.get("tape") or ""),
            at_mm=None if on_plank else settings.get("at_mm"),
            along_sign=int(settings.get("along_sign") or 1),
            from_card=(measurement.reference or {}).get("from_card") or 0,
        )

    @property
    def by_tape(self) -> bool:
        """Whether places are said as the tape along the plank reads."""
        return self.on_plank or self.at_mm is not None

    @property
    def rising(self) -> bool:
        """Whether rows run with the samples' own places: as the tape rises, else as the picture shows the lap."""
        if self.on_plank:
            return True
        return self.keel == "down" if self.at_mm is None else self.along_sign > 0

    def on_tape(self, mm: float) -> float:
        """A sample's place as the tape reads; itself where the tape does not come into it."""
        return mm if self.on_plank or self.at_mm is None else self.at_mm + self.along_sign * mm

    def off_tape(self, tape_mm: float) -> float:
        """The sample's place that the tape reads so: :meth:`on_tape` the other way round."""
        return tape_mm if self.on_plank or self.at_mm is None else self.along_sign * (tape_mm - self.at_mm)

    def round_places(self, low_mm: float, high_mm: float, step_mm: float) -> list[float]:
        """The places between two samples' places that are said as whole steps, in rising order.

        >>> Wording(on_plank=False, at_mm=1000.0, along_sign=-1, units="mm").round_places(-130, 80, 100)
        [-100.0, 0.0]
        """
        zero = self.off_tape(0.0) if self.by_tape else 0.0
        first, last = math.ceil((low_mm - zero) / step_mm - 1e-9), math.floor((high_mm - zero) / step_mm + 1e-9)
        return [zero + count * step_mm for count in range(first, last + 1)]

    def length(self, mm: float) -> str:
        """A plain length."""
        return format_length(mm, units=self.units, fraction=self.fraction, tape=self.tape)

    def past(self, value_mm: float, u95_mm: float) -> str:
        """How far past or short, with its doubt."""
        return format_past(value_mm, u95_mm, units=self.units, fraction=self.fraction)

    def past_finely(self, value_mm: float, u95_mm: float) -> str:
        """The same, told apart from readings that a rule's marks say alike."""
        return format_past_finely(value_mm, u95_mm, units=self.units)

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
        >>> Wording(on_plank=False, keel="up").place(-50.8), Wording(on_plank=False, at_mm=1219.2).place(-50.8)
        ('2 in right', '3 ft 10 in')
        """
        mm = self.on_tape(mm)
        said = self._place_length(abs(mm))
        if said in ("0 in", "0 mm"):
            return "0" if self.by_tape else "middle"
        if self.by_tape:
            return format_place(mm, units=self.units, tape=self.tape, fraction=PLACE_FRACTION, from_card=self.from_card)
        return f"{said} {'right' if (mm > 0) == (self.keel == 'down') else 'left'}"

    def span(self, from_mm: float, to_mm: float) -> str:
        """From where to where, in the order the eye meets them; at one place where both ends are said alike.

        >>> Wording(on_plank=False).span(50.8, 133.35), Wording().span(0, 610), Wording().span(914, 915)
        ('from 2 in right to 5-1/4 in right', 'from 0 to 2 ft', 'at 3 ft')
        """
        ends = (from_mm, to_mm) if self.rising else (to_mm, from_mm)
        first, last = self.place(ends[0]), self.place(ends[1])
        return f"at {first}" if first == last else f"from {first} to {last}"

    def stretch_length(self, mm: float) -> str:
        """How long a stretch is, as exactly as places are said."""
        return self._place_length(mm)

    def _place_length(self, mm: float) -> str:
        return format_length(mm, units=self.units, fraction=PLACE_FRACTION, decimals=0, tape=self.tape)

    def origin(self, reference: Mapping[str, Any] | None) -> str:
        """What places are counted from, for the foot of a table.

        >>> Wording(on_plank=False).origin({"kind": "id1"})
        "Places count from the card's middle, left and right as the picture shows it."
        """
        if self.on_plank:
            return f"Places count along the lap from station card {self.from_card}."
        if self.at_mm is not None:
            return f"Places are the tape's; the reference's middle lies at {self.place(0.0)}."
        thing = noun_of((reference or {}).get("kind"))
        return f"Places count from the {thing}'s middle, left and right as the picture shows it."
