"""What was found for one edge, and the warnings that follow from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.advice.planing import planing_words
from fitcheck.advice.planing.cuts import Cut
from fitcheck.advice.planing.measured_edge import Edge
from fitcheck.advice.planing.sought import Sought
from fitcheck.advice.states import Stretch, span_json
from fitcheck.ground.refusal import Reason

#: A new plank is not said before at least this share of the lap was seen.
LEAST_SEEN = 0.5


@dataclass(frozen=True)
class Found:
    """The move, the edge after it, the cuts there, the lap in runs of one state, and how much of the lap was seen."""

    sought: Sought
    edge: Edge
    cuts: list[Cut]
    runs: list[Stretch]
    share_seen: float
    on_plank: bool
    lap_mm: float | None
    clamp_width_mm: float

    @property
    def ordered(self) -> list[Cut]:
        """The cuts that are asked for now: none before a move was made and looked at."""
        return [] if self.sought.move else self.cuts

    @property
    def first(self) -> str | None:
        """What comes before any wood: "slide", "short", or None; also None for a plank that is short past mending."""
        if self.short:
            judged = self.on_plank and self.share_seen >= LEAST_SEEN and not self.ordered
            return None if judged else "short"
        return "slide" if self.sought.move else None

    def verdict(self, again: bool) -> str:
        """The verdict of the JSON contract; ``again``: too much has no sure answer."""
        if self.ordered:
            return "plane"
        if self.short:
            return "recut" if self.share_seen >= LEAST_SEEN else "look again"
        return "look again" if again or self.sought.move else "good"

    @property
    def short(self) -> list[Stretch]:
        """Stretches surely short beyond the limit, whatever the move."""
        return [run for run in self.runs if run.label == "short"]

    @property
    def clamps(self) -> list[Stretch]:
        """Stretches covered by something no wider than a clamp."""
        return [run for run in self.runs if run.label == "covered" and run.length_mm <= self.clamp_width_mm]

    def most_short_mm(self, run: Stretch) -> float:
        """How far short the edge is at the worst place of one stretch, as a length."""
        return float(-self.edge.past_mm[self._worst(run)])

    def _worst(self, run: Stretch) -> int:
        inside = np.flatnonzero((self.edge.at_mm >= run.from_mm) & (self.edge.at_mm <= run.to_mm) & self.edge.seen)
        return int(inside[np.argmin(self.edge.past_mm[inside])])

    def short_json(self, run: Stretch) -> dict[str, float | None]:
        """A short stretch as the JSON contract writes it, with what is left of the lap where the lap is known."""
        most = self.most_short_mm(run)
        left = None if self.lap_mm is None else round(self.lap_mm - most, 3)
        u95_mm = float(self.edge.u95_mm[self._worst(run)])
        return {**span_json(run), "most_mm": round(most, 3), "most_u95_mm": round(u95_mm, 3), "lap_left_mm": left}


def warnings_of(found: Found, say: planing_words.Say) -> list[Reason]:
    """Everything the builder should know beside the cuts."""
    edge, short = found.edge, found.short
    warnings = _of_the_move(found, say)
    if found.ordered and short:
        warnings.append(planing_words.short_too())
    if short and found.lap_mm is not None:
        left_mm = found.lap_mm - max(found.most_short_mm(run) for run in short)
        warnings.append(planing_words.lap_left(say, left_mm, found.lap_mm))
    if any(cut.stops_unseen for cut in found.ordered):
        warnings.append(planing_words.cut_stops())
    if found.clamps:
        warnings.append(planing_words.under_clamps(say, found.clamps))
    if edge.seen.any():
        doubt_mm = float(np.median(edge.u95_mm[edge.seen]))
        if doubt_mm > edge.limit_mm:
            warnings.append(planing_words.too_wide(say, doubt_mm, edge.limit_mm))
    return warnings


def _of_the_move(found: Found, say: planing_words.Say) -> list[Reason]:
    """The move to make; where the edge stays short, what was tried and what must be seen before more is said."""
    move, edge, warnings = found.sought.move, found.edge, []
    if move:
        reach_mm = float(edge.at_mm[-1] - edge.at_mm[0]) / 2
        moving = planing_words.move_words(say, move, reach_mm=reach_mm, on_plank=found.on_plank)
        warnings.append(planing_words.move_first(moving, short=bool(found.short)))
        if found.sought.unasked:
            warnings.append(planing_words.move_unasked())
    if found.short:
        warnings += [planing_words.slide_tried(say, found.sought.tried_slide_mm), planing_words.tell_further()]
        if not found.on_plank or found.share_seen < LEAST_SEEN:
            warnings.append(planing_words.see_the_rest())
    return warnings
