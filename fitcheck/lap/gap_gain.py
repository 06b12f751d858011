"""The step at the plank's end against the gain it should run out in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fitcheck.lap.gap_measurement import GapSample
from fitcheck.lengths import parse_length
from fitcheck.refusal import WrongCall

FORMS = ("straight", "eased")
#: Where the gain ends is found by trying places this far apart.
PLACE_STEP_MM = 2.5
FEWEST = 6


@dataclass(frozen=True)
class GainShape:
    """A gain: over ``length_mm`` the step goes from ``start_mm`` down to ``finish_mm``, straight or eased at both ends.

    ``end_mm`` is where it ends along the lap, None to find it from the heights; ``toward`` +1 where places rise toward
    the end, -1 where they fall.
    """

    length_mm: float
    start_mm: float
    finish_mm: float = 0.0
    form: str = "straight"
    end_mm: float | None = None
    toward: int = 1

    def height_mm(self, places_mm: np.ndarray, end_mm: float) -> np.ndarray:
        """The height (N,) the step should have at places (N,), for a gain that ends at ``end_mm``.

        >>> GainShape(400.0, 8.0).height_mm(np.array([0.0, 200.0, 400.0, 500.0]), 400.0).tolist()
        [8.0, 4.0, 0.0, 0.0]
        """
        run = np.clip((np.asarray(places_mm) - end_mm) * self.toward / self.length_mm + 1.0, 0.0, 1.0)
        if self.form == "eased":
            run = run * run * (3.0 - 2.0 * run)
        return np.asarray(self.start_mm + (self.finish_mm - self.start_mm) * run)


def read_gain(text: str) -> GainShape:
    """A gain from text such as ``14in,1/4in,0in,eased``: length, height at its start, at its end, and form.

    Raises :class:`WrongCall` for one that cannot be read.

    >>> read_gain("350mm,9.5mm,0.3mm").finish_mm
    0.3
    """
    parts = [part.strip() for part in text.split(",")]
    form = parts.pop() if parts and parts[-1] in FORMS else "straight"
    if len(parts) not in (2, 3):
        raise WrongCall(f"--gain {text!r}: give length, height at its start, height at its end, as 14in,1/4in,0in")
    length, start, *finish = (parse_length(part) for part in parts)
    if length <= 0 or start < 0:
        raise WrongCall(f"--gain {text!r}: the length must be more than nothing")
    return GainShape(length, start, finish[0] if finish else 0.0, form)


def gain_advice(samples: Sequence[GapSample], gain: GainShape) -> dict[str, Any] | None:
    """The measured step against the gain: where to take off more, where it is over-cut, whether it comes flush.

    ``profile`` holds [place, proud, should be, u95]; a place counts only beyond its doubt. None where too few places
    have a height. Without ``end_mm`` the end is placed where the heights fit best, and both ways round are tried.
    """
    known = [one for one in samples if one.proud_mm is not None and one.proud_u95_mm is not None]
    known = sorted((one for one in known if "scale-from-thickness" not in one.flags), key=lambda one: one.place_mm())
    if len(known) < FEWEST:
        return None
    places = np.array([one.place_mm() for one in known])
    proud = np.array([one.proud_mm for one in known], float)
    doubt = np.array([one.proud_u95_mm for one in known], float)
    placed, end_mm = _placed(gain, places, proud)
    should = placed.height_mm(places, end_mm)
    over, under = proud - doubt > should, proud + doubt < should
    last = int(np.argmax(places * placed.toward))
    return {
        "end_mm": round(float(end_mm), 1),
        "take_off": _runs(places, proud - doubt - should, over),
        "over_cut": _runs(places, should - proud - doubt, under),
        "flush": bool(proud[last] - doubt[last] <= gain.finish_mm + 0.5),
        "profile": [[round(float(v), 3) for v in row] for row in zip(places, proud, should, doubt, strict=True)],
    }


def _placed(gain: GainShape, places: np.ndarray, proud: np.ndarray) -> tuple[GainShape, float]:
    if gain.end_mm is not None:
        return gain, gain.end_mm
    ways = [replace(gain, toward=toward) for toward in (1, -1)]
    ends = np.arange(places[0] - gain.length_mm, places[-1] + gain.length_mm, PLACE_STEP_MM)
    misfit = [[float(np.abs(way.height_mm(places, end) - proud).mean()) for end in ends] for way in ways]
    way, end = np.unravel_index(int(np.argmin(misfit)), (len(ways), len(ends)))
    return ways[way], float(ends[end])


def _runs(places: np.ndarray, by_mm: np.ndarray, where: np.ndarray) -> list[dict[str, float]]:
    runs: list[dict[str, float]] = []
    splits = np.split(np.arange(len(where)), np.flatnonzero(np.diff(where.astype(int))) + 1)
    for part in splits:
        if where[part[0]] and len(part) > 2:
            most = float(by_mm[part].max())
            runs.append(
                {"from_mm": float(places[part[0]]), "to_mm": float(places[part[-1]]), "most_mm": round(most, 3)}
            )
    return runs
