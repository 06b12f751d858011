"""Where the station cards lie along the plank, as a tape would read it, and how that agrees with a tape's reading."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.ground.lengths import format_doubt
from fitcheck.ground.refusal import Reason
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.plank.disagreements import said_place
from fitcheck.plank.joint.joint_solution import Joint
from fitcheck.plank.joint.lap_curve import LapCurve
from fitcheck.plank.photo_values import Tape

#: A place told in the stations file was read off a tape to about this; standard uncertainty.
U_TAPE_MM = 1.0
#: Beyond this many standard uncertainties tape and photographs do not speak of the same place.
MOST_APART = 3.0


@dataclass(frozen=True)
class Places:
    """Cards by number with their places in the plank frame (K,) and its doubt; ``tape`` carries others along."""

    numbers: tuple[int, ...]
    plank_mm: np.ndarray
    u_mm: np.ndarray
    tape: Tape
    warnings: tuple[Reason, ...]

    def as_json(self) -> list[dict[str, Any]]:
        """The stations as the JSON contract writes them."""
        return [
            {"number": number, "plank_mm": round(float(place), 2), "u95_mm": round(float(COVERAGE * u), 2)}
            for number, place, u in zip(self.numbers, self.plank_mm, self.u_mm, strict=True)
        ]


@dataclass(frozen=True, eq=False)
class WeighedIn:
    """Places of cards (K,) with their covariance (K, K), and what is to be said of known places that differ."""

    plank_mm: np.ndarray
    covariance: np.ndarray
    warnings: tuple[Reason, ...] = ()


def place_cards(joint: Joint, curve: LapCurve, known_mm: Mapping[int, float], *, units: str = "in") -> Places:
    """The cards' places along the lap from card 0, or from the lowest card, and the known places weighed in.

    A card's place is where a square dropped from its centre meets the lap. A known place that the photographs
    contradict is left out, with a warning, whose lengths are in ``units``.
    """
    along = np.array([curve.place(np.array([curve.foot(s, w)]))[0] for s, w, _ in joint.cards])
    seen = along - along[0]
    known = from_card_0(known_mm)
    start = _start(joint.numbers, seen, known)
    weighed = weigh_in(joint.numbers, start + seen, joint.place_covariance(), known, units)
    return Places(
        numbers=joint.numbers,
        plank_mm=weighed.plank_mm,
        u_mm=np.sqrt(np.maximum(np.diag(weighed.covariance), 0.0)),
        tape=Tape(along, weighed.plank_mm),
        warnings=weighed.warnings,
    )


def lowest_place(joint: Joint, known_mm: Mapping[int, float]) -> float:
    """The place of the lowest card in the plank frame before the lap is known, so along the cards: to a mm or two."""
    return _start(joint.numbers, joint.cards[:, 0] - joint.cards[0, 0], from_card_0(known_mm))


def from_card_0(known_mm: Mapping[int, float]) -> dict[int, float]:
    """Known places counted from card 0, where its place is among them."""
    return {number: place - known_mm.get(0, 0.0) for number, place in known_mm.items()}


def _start(numbers: tuple[int, ...], seen: np.ndarray, known: Mapping[int, float]) -> float:
    """The place of the lowest card: 0 where it is card 0, or where nothing ties it to card 0."""
    if numbers[0] == 0:
        return 0.0
    return next(
        (known[number] - float(place) for number, place in zip(numbers, seen, strict=True) if number in known), 0.0
    )


def weigh_in(
    numbers: tuple[int, ...],
    plank: np.ndarray,
    covariance: np.ndarray,
    known: Mapping[int, float],
    units: str = "in",
) -> WeighedIn:
    """The places (K,) after the known places have had their say by their weight."""
    warnings, rows = [], []
    for row, number in enumerate(numbers):
        if number not in known or number == 0:
            continue
        apart, u = known[number] - plank[row], float(np.hypot(np.sqrt(covariance[row, row]), U_TAPE_MM))
        if abs(apart) > MOST_APART * u:
            warnings.append(
                Reason(
                    "station-differs",
                    f"Station {number} is told to lie at {said_place(known[number], units)}, but the photographs put "
                    f"it at {said_place(plank[row], units)} ± {format_doubt(COVERAGE * u, units=units)}. The "
                    "photographs' place is used: check the card's number and the tape.",
                )
            )
        else:
            rows.append(row)
    if not rows:
        return WeighedIn(plank, covariance, tuple(warnings))
    apart = np.array([known[numbers[row]] for row in rows]) - plank[rows]
    within = covariance[np.ix_(rows, rows)] + U_TAPE_MM**2 * np.eye(len(rows))
    gain = covariance[:, rows] @ np.linalg.inv(within)
    return WeighedIn(plank + gain @ apart, covariance - gain @ covariance[rows], tuple(warnings))
