"""Which move of the plank to advise: within what the builder allows, or, untold, one that mends a short edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.advice.planing.measured_edge import Edge
from fitcheck.advice.planing.slide_and_swing import Move, best_move

#: Untold, a plank is moved by no more than this share of its lap, since its upper edge gives up as much
#: (common practice, no source); and by no more than this where the lap's width is not told.
UNTOLD_LAP_SHARE, UNTOLD_SLIDE_MM = 0.25, 6.0
#: A swing is worth its trouble where it spares this much more wood than a slide, on average.
SPARED_MM = 0.1


@dataclass(frozen=True)
class May:
    """How far the plank may slide and swing, None where the builder did not tell; ``held`` ends allow neither."""

    slide_mm: float | None
    swing_mm_per_m: float | None
    held: bool = False

    @property
    def told(self) -> bool:
        """Whether the builder said what the plank allows."""
        return self.held or self.slide_mm is not None or self.swing_mm_per_m is not None


@dataclass(frozen=True)
class Sought:
    """The move to advise, and how far a slide was looked for; ``unasked``: the builder has not allowed it yet."""

    move: Move
    tried_slide_mm: float
    unasked: bool


def seek_move(edge: Edge, may: May, *, about_mm: float, prefer: str, lap_mm: float | None, may_swing: bool) -> Sought:
    """The best move within what the builder allows.

    Where nothing was told and the edge is surely short somewhere: the smallest move that leaves it nowhere surely
    short, a slide, or one with a swing where that spares wood and ``may_swing`` says that the plank was seen well
    enough to tell one. No move where none within reach mends it.
    """
    if may.told:
        slide_mm, swing = (0.0, 0.0) if may.held else (may.slide_mm or 0.0, may.swing_mm_per_m or 0.0)
        move = best_move(edge, may_slide_mm=slide_mm, may_swing_mm_per_m=swing, about_mm=about_mm, prefer=prefer)
        return Sought(move, slide_mm, unasked=False)
    still = Move(0.0, 0.0, about_mm)
    if "short" not in edge.labels:
        return Sought(still, 0.0, unasked=False)
    most_mm = UNTOLD_SLIDE_MM if lap_mm is None else UNTOLD_LAP_SHARE * lap_mm
    half_m = float(edge.at_mm[-1] - edge.at_mm[0]) / 2000.0
    mending = []
    for swing in (0.0, most_mm / half_m) if may_swing and half_m > 0 else (0.0,):
        move = best_move(edge, may_slide_mm=most_mm, may_swing_mm_per_m=swing, about_mm=about_mm, prefer=prefer)
        moved = edge.moved(move.shift_mm(edge.at_mm))
        if move and "short" not in moved.labels:
            mending.append((_wood_mm(moved), move))
    if not mending:
        return Sought(still, most_mm, unasked=False)
    least = min(mending, key=lambda one: one[0])
    slide = mending[0]
    return Sought((slide if slide[0] - least[0] < SPARED_MM else least)[1], most_mm, unasked=True)


def _wood_mm(edge: Edge) -> float:
    """The wood there would be to come off, on average along what was seen."""
    return float(np.maximum(0.0, edge.past_mm - edge.band_mm)[edge.seen].mean())
