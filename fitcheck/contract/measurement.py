"""What a measurement is: samples along the lap, each with its uncertainty and state, and what goes with them.

The field names are the JSON contract; a reader of ``measure --json`` finds the same words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fitcheck.ground.candidates import Candidate
from fitcheck.ground.refusal import Reason

SCHEMA = 1

#: States of a sample: the first four have a value, the last three have none.
STATES_WITH_VALUE = ("past", "short", "on", "unsure")
STATES_WITHOUT_VALUE = ("hidden", "covered", "ambiguous")


@dataclass(frozen=True)
class Sample:
    """One place along the lap.

    ``along_mm`` is the place from the reference's centre in the face frame (None where station cards carry the
    place), ``plank_mm`` the place in the plank frame (None without station cards). ``past_line_mm`` is positive where
    the edge
    has run past the lap line; ``u95_mm`` is the half-width of its 95 % interval. ``edge_px`` (the inner corner) and
    ``line_px`` are (u, v) in the picture as a person sees it. With station cards ``from_card`` is the card that
    ``plank_mm`` counts from, and ``part`` the number of the connected part of the plank that the place is of.
    """

    along_mm: float | None
    past_line_mm: float | None
    u95_mm: float | None
    state: str
    plank_mm: float | None = None
    edge_px: tuple[float, float] | None = None
    line_px: tuple[float, float] | None = None
    flags: tuple[str, ...] = ()
    photos: tuple[str, ...] = ()
    part: int | None = None
    from_card: int | None = None

    def place_mm(self) -> float:
        """The place in the frame this measurement uses: the plank's where it is known, else along the lap."""
        place = self.plank_mm if self.plank_mm is not None else self.along_mm
        if place is None:
            raise ValueError("a sample needs along_mm or plank_mm")
        return place

    def as_json(self) -> dict[str, Any]:
        """The sample as the JSON contract writes it, lengths to the micrometre."""
        return {
            "along_mm": _rounded(self.along_mm),
            "plank_mm": _rounded(self.plank_mm),
            "past_line_mm": _rounded(self.past_line_mm),
            "u95_mm": _rounded(self.u95_mm),
            "state": self.state,
            "edge_px": _rounded_pair(self.edge_px),
            "line_px": _rounded_pair(self.line_px),
            "flags": list(self.flags),
            "photos": list(self.photos),
            **({} if self.part is None else {"part": self.part, "from_card": self.from_card}),
        }


@dataclass(frozen=True)
class Part:
    """A connected part of a plank: what shared cards, or known places, tie together.

    Its places count from ``from_card``. ``tied_by`` tells what puts them on the plank's own tape from card 0: "card 0",
    "stations", "record", or None where nothing does. ``number`` counts from the lowest cards, 1 to ``of``.
    """

    number: int
    of: int
    from_card: int
    cards: tuple[int, ...]
    photos: tuple[str, ...]
    tied_by: str | None

    @property
    def words(self) -> str:
        """The part by its cards.

        >>> Part(2, 2, 4, (4, 5, 8), (), None).words
        'cards 4 to 8'
        """
        first, last = self.cards[0], self.cards[-1]
        return f"card {first}" if first == last else f"cards {first} to {last}"

    def as_json(self) -> dict[str, Any]:
        """The part as the JSON contract writes it."""
        return {"part": self.number, **{key: value for key, value in vars(self).items() if key not in ("number", "of")}}


@dataclass(frozen=True)
class Measurement:
    """The answer for one photograph, or for one plank from many; false when nothing could be measured.

    ``candidates`` are what could be card, edge or line where the program does not choose: all that was found in a
    refused photograph, and edge and line of the stretches that a measured one leaves ambiguous.

    ``part`` tells, with station cards, of which part of the plank it is the answer. A plank whose photographs hang
    together in several parts is one answer with no ``part`` of its own, whose ``parts`` are complete answers by
    themselves; its samples, stations and cuts are theirs, each with the card that it counts from.
    """

    state: str
    settings: Mapping[str, Any]
    reasons: tuple[Reason, ...] = ()
    warnings: tuple[Reason, ...] = ()
    camera: Mapping[str, Any] | None = None
    photos: tuple[Mapping[str, Any], ...] = ()
    reference: Mapping[str, Any] | None = None
    samples: tuple[Sample, ...] = ()
    stations: tuple[Mapping[str, Any], ...] = ()
    planing: Mapping[str, Any] | None = None
    budget_mm: Mapping[str, float] = field(default_factory=dict)
    candidates: tuple[Candidate, ...] = ()
    part: Part | None = None
    parts: tuple[Measurement, ...] = ()

    def __bool__(self) -> bool:
        return self.state == "measured"

    def each_part(self) -> tuple[Measurement, ...]:
        """The answers of all connected parts, each in a frame of its own; itself where there is but one."""
        return self.parts or (self,)

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
            "planing": self.planing,
            "budget_mm": dict(self.budget_mm),
            "candidates": [one.as_json() for one in self.candidates],
            **self._parts_json(),
        }

    def _parts_json(self) -> dict[str, Any]:
        told = [(one.part.as_json(), one.planing) for one in self.each_part() if one.part is not None]
        return {"parts": [{**part, "planing": planing} for part, planing in told]} if told else {}


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(float(value), 4)


def _rounded_pair(pair: tuple[float, float] | None) -> list[float] | None:
    return None if pair is None else [round(float(pair[0]), 2), round(float(pair[1]), 2)]
