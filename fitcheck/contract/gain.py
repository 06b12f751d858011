"""The gain at a plank's end: over it the step of the lap runs from the plank's thickness out to flush.

Parallax and shadow go with the step that stands there, not with the full thickness; an edge-on view holds the step
against the gain that was meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fitcheck.ground.lengths import decimal_point, parse_length
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    import numpy as np

FORMS = ("straight", "eased")
#: A gain is cut by eye and rabbet plane to about this of what was meant; standard uncertainty, no source.
U_GAIN_MM = 0.5


@dataclass(frozen=True)
class GainShape:
    """A gain: over ``length_mm`` the step goes from ``start_mm`` down to ``finish_mm``, straight or eased at both ends.

    ``end_mm`` is where it ends along the lap, None to find it from the heights; ``toward`` +1 where places rise toward
    the end, -1 where they fall, 0 where that is yet to be told by :meth:`facing`.
    """

    length_mm: float
    start_mm: float
    finish_mm: float = 0.0
    form: str = "straight"
    end_mm: float | None = None
    toward: int = 1

    def run(self, places_mm: np.ndarray, end_mm: float) -> np.ndarray:
        """How far along the gain places (N,) lie: 0 where it begins, 1 where it ends; below 0 before it."""
        import numpy as np

        return np.asarray((np.asarray(places_mm) - end_mm) * self.toward / self.length_mm + 1.0)

    def height_mm(self, places_mm: np.ndarray, end_mm: float) -> np.ndarray:
        """The height (N,) the step should have at places (N,), for a gain that ends at ``end_mm``.

        >>> import numpy as np
        >>> GainShape(400.0, 8.0).height_mm(np.array([0.0, 200.0, 400.0, 500.0]), 400.0).tolist()
        [8.0, 4.0, 0.0, 0.0]
        """
        import numpy as np

        run = np.clip(self.run(places_mm, end_mm), 0.0, 1.0)
        if self.form == "eased":
            run = run * run * (3.0 - 2.0 * run)
        return np.asarray(self.start_mm + (self.finish_mm - self.start_mm) * run)

    def moved(self, by_mm: float, sign: int = 1) -> GainShape:
        """The gain in a frame whose places are ``sign`` (1 or -1) times what is left of this one's less ``by_mm``.

        >>> GainShape(400.0, 8.0, end_mm=900.0).moved(800.0, -1)
        GainShape(length_mm=400.0, start_mm=8.0, finish_mm=0.0, form='straight', end_mm=-100.0, toward=-1)
        """
        end = None if self.end_mm is None else sign * (self.end_mm - by_mm)
        return replace(self, end_mm=end, toward=sign * self.toward)

    def facing(self, wood_mm: float) -> GainShape:
        """The gain with ``toward`` told, where it is not, by a place ``wood_mm`` where the plank is.

        >>> GainShape(300.0, 8.0, end_mm=0.0, toward=0).facing(900.0).toward
        -1
        """
        if self.toward or self.end_mm is None:
            return self
        return replace(self, toward=1 if self.end_mm > wood_mm else -1)

    def higher(self, by_mm: float) -> GainShape:
        """The gain with its step higher by so much all along."""
        return replace(self, start_mm=self.start_mm + by_mm, finish_mm=self.finish_mm + by_mm)


def step_mm(thickness_mm: float, gains: Sequence[GainShape], places_mm: np.ndarray) -> np.ndarray:
    """The height (N,) of the step at places (N,): the plank's thickness, and in a gain what the gain leaves of it.

    >>> import numpy as np
    >>> step_mm(9.5, [GainShape(200.0, 6.0, end_mm=1000.0)], np.array([700.0, 900.0, 1000.0])).tolist()
    [9.5, 3.0, 0.0]
    """
    import numpy as np

    step = np.full(np.shape(places_mm), float(thickness_mm))
    for gain in gains:
        if gain.end_mm is not None:
            inside = gain.run(places_mm, gain.end_mm) > 0.0
            step = np.where(inside, np.minimum(step, gain.height_mm(places_mm, gain.end_mm)), step)
    return step


def read_gain(text: str) -> GainShape:
    """A gain from text such as ``14in,1/4in,0in,eased``: length, height at its start, at its end, and form.

    Raises :class:`WrongCall` for one that cannot be read.

    >>> read_gain("350mm,9.5mm,0.3mm").finish_mm
    0.3
    """
    parts = [part.strip() for part in decimal_point(text).split(",")]
    form = parts.pop() if parts and parts[-1] in FORMS else "straight"
    if len(parts) not in (2, 3):
        raise WrongCall(f"--gain {text!r}: give length, height at its start, height at its end, as 14in,1/4in,0in")
    length, start, *finish = (parse_length(part) for part in parts)
    if length <= 0 or start < 0:
        raise WrongCall(f"--gain {text!r}: the length must be more than nothing")
    if finish and finish[0] > start:
        raise WrongCall(f"--gain {text!r}: the step runs down: its end is no higher than its start")
    return GainShape(length, start, finish[0] if finish else 0.0, form)
