"""The warnings that go with the advice, in the builder's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.advice.planing.slide_and_swing import LEAST_MOVE_MM, Move
from fitcheck.advice.states import Stretch
from fitcheck.ground.lengths import format_length
from fitcheck.ground.refusal import Reason


@dataclass(frozen=True)
class Say:
    """How lengths are said: "in" with a fraction, or "mm"."""

    units: str
    fraction: int

    def length(self, mm: float) -> str:
        """A length without a sign; one too small for the rule is said to be under its finest mark."""
        said = format_length(abs(mm), units=self.units, fraction=self.fraction)
        return f"under 1/{self.fraction} in" if said == "0 in" else said

    def stretch(self, mm: float) -> str:
        """The length of a stretch of the lap: a quarter inch or a millimetre is fine enough."""
        return format_length(mm, units=self.units, fraction=4, decimals=0)


def move_words(say: Say, move: Move, *, reach_mm: float, on_plank: bool) -> str:
    """The move as an instruction; ``reach_mm`` is half the plank's length, ``on_plank``: places are a plank's.

    >>> move_words(Say("in", 32), Move(0.0, -1.0, 600.0), reach_mm=1200, on_plank=True)
    'swing the higher-numbered end 1/16 in toward the sheer, the other end as far the other way'
    """
    parts = []
    if abs(move.slide_mm) >= LEAST_MOVE_MM:
        parts.append(f"slide the plank {say.length(move.slide_mm)} toward the {_side(move.slide_mm)}")
    swing_mm = move.swing_mm_per_m * reach_mm / 1000.0
    if swing_mm:
        end = "the higher-numbered end" if on_plank else "the right-hand end, keel down,"
        other = ", the other end as far the other way"
        parts.append(f"swing {end} {say.length(swing_mm)} toward the {_side(swing_mm)}{other}")
    return " and ".join(parts)


def _side(amount: float) -> str:
    return "keel" if amount > 0 else "sheer"


def move_first(moving: str, *, short: bool) -> Reason:
    """A move is advised; ``short``: the edge stays short all the same."""
    if short:
        return Reason("move-first", f"Within what the plank allows, {moving}: it stays short all the same.")
    after = "Then clamp and photograph again: nothing is judged there until seen."
    return Reason("move-first", f"{moving[0].upper()}{moving[1:]}. {after}")


def move_unasked() -> Reason:
    """Nothing was told of what the plank allows."""
    return Reason(
        "move-unasked",
        "Before you move it, see that the plank's upper edge and its ends allow it; if not, tell so with "
        "--may-slide and --may-swing, or --ends held.",
    )


def slide_tried(say: Say, most_mm: float) -> Reason:
    """No move that was looked for mends the edge."""
    tried = most_mm >= LEAST_MOVE_MM
    text = f"No slide of up to {say.length(most_mm)} mends it." if tried else "No slide was allowed."
    return Reason("slide-tried", text)


def tell_further() -> Reason:
    """How to have a wider move tried."""
    text = "If the plank can move further than was tried, tell so with --may-slide and --may-swing, and measure again."
    return Reason("move-not-told", text)


def see_the_rest() -> Reason:
    """Too little of the lap was seen to give the plank up."""
    return Reason(
        "see-the-rest",
        "This is not the whole lap. Photograph the rest before you give the plank up.",
    )


def short_too() -> Reason:
    """Cuts in some places, surely short in others."""
    return Reason(
        "short-too",
        "Elsewhere the edge is surely short beyond the limit, which planing cannot mend: "
        "settle that before taking wood off.",
    )


def lap_left(say: Say, left_mm: float, lap_mm: float) -> Reason:
    """What is left of the lap where the edge is shortest."""
    return Reason(
        "lap-left",
        f"Where it is shortest about {say.length(left_mm)} of the {say.length(lap_mm)} lap is left: "
        "see that the fastenings keep their distance from the edge there.",
    )


def cut_stops() -> Reason:
    """A cut ends against a place that was not measured."""
    return Reason(
        "cut-stops-unseen",
        "A cut stops where the edge could no longer be seen. Do not carry it on: move the clamp or the camera, "
        "photograph, and measure again.",
    )


def under_clamps(say: Say, clamps: Sequence[Stretch]) -> Reason:
    """Places under clamps that were passed over."""
    whole = say.stretch(sum(run.length_mm for run in clamps))
    places = "1 place" if len(clamps) == 1 else f"{len(clamps)} places"
    return Reason(
        "under-clamps",
        f"Not judged under clamps: {places}, {whole} in all. Put a second clamp beside each before easing it, "
        "and photograph again in the same fit.",
    )


def too_wide(say: Say, u95_mm: float, limit_mm: float) -> Reason:
    """The measurement is too coarse for the limit."""
    return Reason(
        "doubt-beyond-limit",
        f"The doubt here, about {say.length(u95_mm)}, is larger than the limit of {say.length(limit_mm)}, "
        "so no place can be called on the line. Photograph nearer and squarer, or tell the bevel.",
    )


def ends_held() -> Reason:
    """A slide was allowed, but the ends are held."""
    return Reason("ends-held", "The ends are held, so no slide or swing was looked for.")
