"""What was found for one edge, and the warnings that follow from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.decide import Stretch, span_json
from fitcheck.planing import words
from fitcheck.planing.cuts import Cut
from fitcheck.planing.edge import Edge
from fitcheck.planing.move import Move
from fitcheck.refusal import Reason


@dataclass(frozen=True)
class Found:
    """The move, the edge after it, the cuts, and the lap in runs of one state."""

    move: Move
    edge: Edge
    cuts: list[Cut]
    runs: list[Stretch]
    lap_mm: float | None
    clamp_width_mm: float

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
        inside = (self.edge.at_mm >= run.from_mm) & (self.edge.at_mm <= run.to_mm) & self.edge.seen
        return float(-self.edge.past_mm[inside].min())

    def short_json(self, run: Stretch) -> dict[str, float | None]:
        """A short stretch as the JSON contract writes it, with what is left of the lap where the lap is known."""
        most = self.most_short_mm(run)
        left = None if self.lap_mm is None else round(self.lap_mm - most, 3)
        return {**span_json(run), "most_mm": round(most, 3), "lap_left_mm": left}


def warnings_of(found: Found, say: words.Say, *, on_plank: bool) -> list[Reason]:
    """Everything the builder should know beside the cuts. ``on_plank``: places are a plank's, not one photograph's."""
    edge, short = found.edge, found.short
    warnings = []
    if found.move:
        end = "the higher-numbered end" if on_plank else "the right-hand end, keel down,"
        reach_mm = float(edge.at_mm[-1] - edge.at_mm[0]) / 2
        warnings.append(words.move_first(say, found.move, reach_mm=reach_mm, end=end, cuts=bool(found.cuts)))
    if found.cuts and short:
        warnings.append(words.short_too())
    if short and found.lap_mm is not None:
        left_mm = found.lap_mm - max(found.most_short_mm(run) for run in short)
        warnings.append(words.lap_left(say, left_mm, found.lap_mm))
    if any(cut.stops_unseen for cut in found.cuts):
        warnings.append(words.cut_stops())
    if found.clamps:
        warnings.append(words.under_clamps(say, found.clamps))
    if edge.seen.any():
        doubt_mm = float(np.median(edge.u95_mm[edge.seen]))
        if doubt_mm > edge.limit_mm:
            warnings.append(words.too_wide(say, doubt_mm, edge.limit_mm))
    return warnings
