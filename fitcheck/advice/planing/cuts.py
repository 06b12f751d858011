"""The cuts an edge needs: each within one measured stretch, guarded at every place, bridging nothing unseen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.advice.planing.fair_cut import fair_cut
from fitcheck.advice.planing.measured_edge import Edge
from fitcheck.advice.states import UNSEEN_STEPS, guarded_cut_mm, usual_step_mm
from fitcheck.ground.runs import runs

#: A cut nowhere deeper than a fine shaving is asked for only where the edge is surely past its limit.
SHAVING_MM = 0.1


@dataclass(frozen=True)
class Cut:
    """One cut: places (N,) in order, depths (N,) off the lower edge, whether it stops against an unseen place."""

    at_mm: np.ndarray
    depth_mm: np.ndarray
    stops_unseen: bool

    def as_json(self) -> dict[str, Any]:
        """The cut as the JSON contract writes it; depths rounded down, so that the guard holds in print too."""
        depth = np.floor(self.depth_mm * 1000.0) / 1000.0
        return {
            "from_mm": round(float(self.at_mm[0]), 1),
            "to_mm": round(float(self.at_mm[-1]), 1),
            "deepest_mm": float(depth.max()),
            "profile": [[round(float(at), 1), float(deep)] for at, deep in zip(self.at_mm, depth, strict=True)],
        }


def find_cuts(edge: Edge, *, prefer: str) -> list[Cut]:
    """The cuts that bring ``edge`` surely within its limit, or as near as the measurement can tell.

    A place is cut only where it is not already good, and never by more than it is surely past the line; far from its
    reference only where the stretch is surely past its limit.
    """
    most = np.array([guarded_cut_mm(v, u) if np.isfinite(v) else 0.0 for v, u in _pairs(edge)])
    labels = np.array(edge.labels)
    most[labels == "on"] = 0.0
    need = np.where(most > 0, np.clip(np.nan_to_num(edge.past_mm - edge.band_mm), 0.0, most), 0.0)
    found = []
    for run in runs(most > 0, _joined(edge)):
        first, last = run.start, run.stop - 1
        surely = bool((labels[run] == "past").any())
        # Far from its reference, at the rim of its photograph, a trace goes astray by more than its doubt now and then.
        clear = np.ones(len(most), bool) if surely else ~edge.far
        if not surely and (need * clear)[run].max() < SHAVING_MM:
            continue
        cut = _cut(edge, need * clear, most * clear, first, last, prefer)
        if surely or cut.depth_mm.max() >= SHAVING_MM:
            found.append(cut)
    return found


def _pairs(edge: Edge) -> zip[tuple[float, float]]:
    return zip(edge.past_mm.tolist(), edge.u95_mm.tolist(), strict=True)


def _joined(edge: Edge) -> np.ndarray:
    """Whether each place (N - 1,) and the next are both measured, and near enough to speak for what lies between."""
    near = np.diff(edge.at_mm) <= UNSEEN_STEPS * usual_step_mm(edge.at_mm)
    return near & edge.seen[:-1] & edge.seen[1:]


def _cut(edge: Edge, need: np.ndarray, most: np.ndarray, first: int, last: int, prefer: str) -> Cut:
    """The cut of one run, tapering into the good place on either side where there is one."""
    joined = _joined(edge)
    opens = first > 0 and bool(joined[first - 1])
    closes = last < len(edge.at_mm) - 1 and bool(joined[last])
    span = slice(first - opens, last + 1 + closes)
    depth = fair_cut(edge.at_mm[span], need[span], most[span], prefer=prefer)
    at = edge.at_mm[span]
    # Depths under a micrometre print as nothing: leave one such place at each end, where the plane comes off the wood.
    deep = np.flatnonzero(depth >= 1e-3)
    if len(deep):
        kept = slice(max(0, deep[0] - 1), deep[-1] + 2)
        at, depth = at[kept], depth[kept]
    inside = (first == 0 or opens) and (last == len(edge.at_mm) - 1 or closes)
    return Cut(at, depth, stops_unseen=not inside)
