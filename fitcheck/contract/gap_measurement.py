"""What an edge-on measurement is: samples along the lap, each with gap, step and state, and what goes with them.

The field names are the JSON contract; a reader of ``gap --json`` finds the same words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fitcheck.contract.measurement import SCHEMA, Part
from fitcheck.ground.candidates import Candidate
from fitcheck.ground.refusal import Reason

#: States of a sample: all but the last have a value; a closed lap has gap 0 and its doubt.
GAP_STATES = ("open", "closed", "unsure", "covered")
#: Places further apart than this are no neighbours: what lies between was not seen. One and a half steps of 5 mm.
NEIGHBOURS_MM = 7.6


@dataclass(frozen=True)
class GapSample:
    """One place along the lap, seen edge-on.

    ``along_mm`` is the place from the reference's centre in the face frame, or, without one, roughly from the middle
    of the picture; ``plank_mm`` the place in the plank frame. ``gap_mm`` is the opening of the lap normal to the face,
    ``proud_mm`` the height of the step at the edge; each with the half-width of its 95 % interval. ``edge_px`` is the
    inner corner (u, v) in the picture as a person sees it, ``slit_px`` the slit's other side, on the strake, where the
    lap is seen. ``photos`` names the photographs that speak of the place, the weightiest first, where there are
    several.
    """

    along_mm: float | None
    gap_mm: float | None
    gap_u95_mm: float | None
    proud_mm: float | None
    proud_u95_mm: float | None
    edge_px: tuple[float, float]
    state: str
    flags: tuple[str, ...] = ()
    plank_mm: float | None = None
    photos: tuple[str, ...] = ()
    slit_px: tuple[float, float] | None = None

    def place_mm(self) -> float:
        """The place in the plank's frame where it is known, else along the lap."""
        place = self.plank_mm if self.plank_mm is not None else self.along_mm
        if place is None:
            raise ValueError("a sample needs along_mm or plank_mm")
        return place

    def as_json(self) -> dict[str, Any]:
        """The sample as the JSON contract writes it, lengths to the micrometre."""
        return {
            "along_mm": _rounded(self.along_mm),
            "plank_mm": _rounded(self.plank_mm),
            "gap_mm": _rounded(self.gap_mm),
            "gap_u95_mm": _rounded(self.gap_u95_mm),
            "proud_mm": _rounded(self.proud_mm),
            "proud_u95_mm": _rounded(self.proud_u95_mm),
            "edge_px": [round(self.edge_px[0], 2), round(self.edge_px[1], 2)],
            "slit_px": None if self.slit_px is None else [round(self.slit_px[0], 2), round(self.slit_px[1], 2)],
            "state": self.state,
            "flags": list(self.flags),
            "photos": list(self.photos),
        }


@dataclass(frozen=True)
class GapMeasurement:
    """The answer for one edge-on photograph, or for several of one plank; false when nothing could be measured.

    ``least_gap_mm`` is the least gap that would surely have been seen, in the middle of what was measured. ``unseen``
    are the stretches, from and to in mm, between the outermost places or station cards that no photograph shows.
    ``bevel`` and ``gains`` are the advice, where there is any; ``candidates`` what was found in a refused photograph
    that could be card or edge. ``part`` tells, with station cards, of which connected
    part of the plank it is the answer.
    """

    state: str
    settings: Mapping[str, Any]
    reasons: tuple[Reason, ...] = ()
    warnings: tuple[Reason, ...] = ()
    camera: Mapping[str, Any] | None = None
    photos: tuple[Mapping[str, Any], ...] = ()
    reference: Mapping[str, Any] | None = None
    samples: tuple[GapSample, ...] = ()
    stations: tuple[Mapping[str, Any], ...] = ()
    least_gap_mm: float | None = None
    bevel: Mapping[str, Any] | None = None
    gains: tuple[Mapping[str, Any], ...] = ()
    unseen: tuple[Mapping[str, float], ...] = ()
    budget_mm: Mapping[str, float] = field(default_factory=dict)
    candidates: tuple[Candidate, ...] = ()
    part: Part | None = None

    def __bool__(self) -> bool:
        return self.state == "measured"

    def as_json(self) -> dict[str, Any]:
        """The measurement as the JSON contract writes it."""
        return {
            "schema": SCHEMA,
            "state": self.state,
            "reasons": [reason.as_json() for reason in self.reasons],
            "warnings": [warning.as_json() for warning in self.warnings],
            "camera": self.camera,
            "photos": list(self.photos),
            "reference": self.reference,
            "settings": dict(self.settings),
            "samples": [sample.as_json() for sample in self.samples],
            "stations": list(self.stations),
            "least_gap_mm": _rounded(self.least_gap_mm),
            "bevel": self.bevel,
            "gains": list(self.gains),
            "unseen": [dict(one) for one in self.unseen],
            "budget_mm": dict(self.budget_mm),
            "candidates": [one.as_json() for one in self.candidates],
            **({} if self.part is None else {"parts": [self.part.as_json()]}),
        }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(float(value), 4)
