"""Is there another edge in the strip, as good as the one that was found? Then the first was a streak in the wood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.ground.trellis import search
from fitcheck.lap.edge.edge_path import BEND_COST, STEEPEST_ROWS, EdgeWorth
from fitcheck.lap.strip import Strip

#: Another edge is looked for where there is so much room for it, and so far clear of edge, line and the strip's rims.
ROOM_MM, CLEAR_OF_EDGE_MM, CLEAR_OF_LINE_MM = 3.0, 1.0, 0.6
CLEAR_BELOW_MM, CLEAR_ABOVE_MM, CLEAR_OF_RIM_MM = 1.0, 3.0, 1.5
#: Outside of where it may run a path pays this a block.
OUT_OF_BOUNDS = -3.0


@dataclass(frozen=True)
class OtherEdge:
    """The best other edge of a part of the strip: where its face ends, strip rows ``down_mm`` (B,) at ``along_mm``
    (B,), and its evidence as a share of the first one's."""

    along_mm: np.ndarray
    down_mm: np.ndarray
    share: float


def nearer_edge(
    strip: Strip, found: EdgeWorth, along_mm: np.ndarray, edge_mm: np.ndarray, line_mm: np.ndarray
) -> OtherEdge | None:
    """The best edge between the edge and the line, strip rows ``edge_mm`` and ``line_mm`` (N,) at ``along_mm`` (N,).

    None where they are too near each other to hold another.
    """
    edge = np.interp(found.along_mm, along_mm, edge_mm)
    line = np.interp(found.along_mm, along_mm, line_mm)
    return _best_between(strip, found, edge, edge + CLEAR_OF_EDGE_MM, line - CLEAR_OF_LINE_MM)


def edge_elsewhere(
    strip: Strip, found: EdgeWorth, along_mm: np.ndarray, edge_mm: np.ndarray, line_mm: np.ndarray
) -> OtherEdge | None:
    """The best edge sheerward of the edge or keelward of the line.

    As for :func:`nearer_edge`. What lies there may be a shadow's end or the plank's grain, but neither stands out more
    than the edge.
    """
    edge = np.interp(found.along_mm, along_mm, edge_mm)
    line = np.interp(found.along_mm, along_mm, line_mm)
    top, bottom = strip.down_mm[0] + CLEAR_OF_RIM_MM, strip.down_mm[-1] - CLEAR_OF_RIM_MM
    outer = edge - np.maximum(found.shift_mm, 0.0)
    above = _best_between(strip, found, edge, np.full(len(edge), top), outer - CLEAR_ABOVE_MM)
    below = _best_between(strip, found, edge, line + CLEAR_BELOW_MM, np.full(len(edge), bottom))
    return max((other for other in (above, below) if other), key=lambda other: other.share, default=None)


def _best_between(
    strip: Strip, found: EdgeWorth, edge: np.ndarray, low: np.ndarray, high: np.ndarray
) -> OtherEdge | None:
    """The best edge between rows ``low`` and ``high`` (B,), against the one at ``edge`` (B,)."""
    if np.median(high - low) < ROOM_MM:
        return None
    down = strip.down_mm[:, None]
    inside = (down > low) & (down < high)
    window = inside.any(axis=1)
    worth = np.where(inside, found.worth, OUT_OF_BOUNDS)[window]
    path = search(worth, steepest=STEEPEST_ROWS, bend_cost=BEND_COST)
    blocks = np.arange(len(edge))
    outer = np.round(strip.rows(edge - np.maximum(found.shift_mm, 0.0))).astype(int)
    own = found.worth[np.clip(outer, 0, len(strip.down_mm) - 1), blocks].mean()
    return OtherEdge(found.along_mm, strip.down_mm[window][path.rows], float(path.total / len(blocks) / max(own, 1e-6)))
