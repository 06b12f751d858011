"""What a look by the trained score found, as candidates to be shown: edges and lines in the picture's pixels."""

from __future__ import annotations

import numpy as np

from fitcheck.ground.candidates import Candidate, candidate
from fitcheck.lap.shown import stretches_px
from fitcheck.lap.square_on.scored_look import ScoredLook

#: A place is drawn as a candidate from this chance.
LEAST_CHANCE = 0.05


def scored_shown(look: ScoredLook, where: np.ndarray | None = None) -> tuple[Candidate, ...]:
    """Candidates for edge and line from a look, in the windows ``where`` (N,) alone if given, likeliest first.

    What lies under a clamp is left out.
    """
    windows = ~look.covered & (np.ones(len(look.along_mm), bool) if where is None else where)
    seen_below = look.edge_down_mm - look.marks.edge.down_mm
    found: list[Candidate] = []
    for kind, path, lower in (("edge", look.marks.edge, seen_below), ("line", look.marks.line, np.zeros(1))):
        for rank, one in enumerate(path.likeliest(look.strip.down_mm), start=1):
            there = windows & (one.chance > LEAST_CHANCE)
            odds = float(np.median(one.chance[there])) if there.any() else None
            stretches = stretches_px(look.pose, look.strip, look.along_mm, one.down_mm + lower, there)
            found += [candidate(kind, part, rank=rank, odds=odds) for part in stretches]
    return tuple(found)


def ambiguous_scored(look: ScoredLook) -> tuple[Candidate, ...]:
    """Candidates of the stretches that a measured photograph leaves ambiguous: the edge only where it is unclear."""
    edges = [one for one in scored_shown(look, ~look.edge_sure) if one.kind == "edge"]
    return (*edges, *(one for one in scored_shown(look, ~look.measured) if one.kind == "line"))
