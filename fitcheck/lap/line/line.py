"""The lap line or the witness line: found as a fair dark ridge where it must be, and believed only against its rivals.

Grain runs along the lap as the line does, and some of it is as dark and thin for a while. What the wood's own best
ridges score,
beside the line and on the plank's face, is the measure of how much more a line must score to be one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from fitcheck.ground.trellis import Trellis
from fitcheck.lap.line.centre import Centres, line_centres
from fitcheck.lap.line.chance import at_its_place, local_chance
from fitcheck.lap.line.fair_line import BELIEVED, held_fair
from fitcheck.lap.line.line_band import ROW_MM, Band, cut_band
from fitcheck.lap.line.old_line import may_be_old
from fitcheck.lap.line.ridge import best_ridges, ridge_gain
from fitcheck.lap.line.speckle import Speckle, speckle
from fitcheck.lap.line.two_sides import two_sided
from fitcheck.lap.strip import Strip

#: Nearer the edge than this, crease, eased corner and line cannot be told apart.
CLEAR_MM = 0.45
FAR_MM = 13.0
#: The dark rim of the crease is wider the coarser the pixels.
RIM_PX = 1.2
#: The crease's own shade keeps its distance from the edge, this near to it and this evenly; a line hardly does.
CREASE_MM, CREASE_EVEN_MM = 1.25, 0.45
#: A line further off than a builder clamps a plank is an old line; its evidence is discounted by the millimetre.
LIKELY_MM, DISCOUNT = 7.0, 0.25
#: Chance of a line that may be an old one.
OLD_CHANCE = 0.5
AWAY_ROWS = round(0.8 / ROW_MM)
#: How far a place pointed at speaks along the lap, how far apart two may be to speak for what lies between, and
#: how far off the line may pass; passing further off costs more than any path can gain.
POINTED_MM, SPANNED_MM = 15.0, 100.0
POINTED_OFF_MM, FORBIDDEN = 0.6, 50.0
#: A finger or a pointer in a photograph is good to this.
U_POINTED_MM = 0.35


@dataclass(frozen=True)
class Line:
    """A line found along the lap: ``down_mm`` strip rows at ``along_mm`` (N,), its uncertainty, and the chance of
    being the right one.

    ``score`` is its mean evidence, ``rival`` the best of the wood's, ``speckle`` its flicker along; ``other_down_mm``
    (N,) the next candidate, to be shown when in doubt.
    """

    along_mm: np.ndarray
    down_mm: np.ndarray
    u_mm: np.ndarray
    chance: np.ndarray
    score: float
    rival: float
    speckle: float
    other_down_mm: np.ndarray
    at_edge: np.ndarray


def find_line(
    strip: Strip,
    lightness: np.ndarray,
    edge_mm: np.ndarray,
    along_mm: np.ndarray,
    *,
    expected_mm: float,
    face_above_mm: float,
    px_mm: float,
    anchors: list[tuple[float, float]],
) -> Line:
    """Find the line below the edge.

    ``edge_mm`` (C,) is the strip row of the boundary between plank and strake, ``along_mm`` (N,) the places wanted.
    ``expected_mm`` is
    0 for the lap line, the witness distance for a witness line; ``face_above_mm`` how far above the edge the plank's
    face begins.
    ``anchors`` are (along, down) places the builder pointed at: the line passes within a millimetre of each.
    """
    low = expected_mm - 5.0 if expected_mm > 0 else CLEAR_MM
    high = expected_mm + 9.0 if expected_mm > 0 else FAR_MM
    band = cut_band(strip, lightness, edge_mm, max(CLEAR_MM, low) - 0.6, high)
    gain, blocks = ridge_gain(band, px_mm)
    gain[band.off_mm < max(CLEAR_MM, low)] = -1.0
    gain -= DISCOUNT * np.maximum(band.off_mm - expected_mm - LIKELY_MM, 0.0)[:, None]
    _pull_to_anchors(gain, band, blocks, anchors)
    first, second = best_ridges(gain, 2)
    rival = max(second.total / len(blocks), _wood_rival(strip, lightness, edge_mm, face_above_mm, px_mm))
    flicker = speckle(band, blocks, band.off_mm[first.rows], px_mm)
    evidence = gain[first.rows, np.arange(len(blocks))]
    both = two_sided(band, blocks, band.off_mm[first.rows], px_mm)
    chance = local_chance(evidence, rival, flicker, first.margin(AWAY_ROWS), both)
    off = band.off_mm[first.rows]
    down = off + np.interp(blocks, band.along_mm, band.edge_mm)
    chance = held_fair(blocks, down, evidence, rival, at_its_place(chance, off, expected_mm, flicker.whole))
    if may_be_old(gain, first, off - expected_mm):
        chance = np.minimum(chance, OLD_CHANCE)
    chance = np.where(_pointed_out(blocks, anchors), 1.0, chance)
    centres = line_centres(band, blocks, band.off_mm[first.rows], px_mm)
    if anchors:
        centres = replace(centres, u_mm=np.hypot(centres.u_mm, U_POINTED_MM))
    return _line(strip, edge_mm, along_mm, band, blocks, first, second, centres, chance, rival, flicker, px_mm)


def _line(
    strip: Strip,
    edge_mm: np.ndarray,
    along_mm: np.ndarray,
    band: Band,
    blocks: np.ndarray,
    first: Trellis,
    second: Trellis,
    centres: Centres,
    chance: np.ndarray,
    rival: float,
    flicker: Speckle,
    px_mm: float,
) -> Line:
    edge = np.interp(along_mm, strip.along_mm, edge_mm)
    low, rim = band.off_mm[0] + 0.6, max(3 * ROW_MM, RIM_PX * px_mm)
    off = band.off_mm[first.rows]
    return Line(
        along_mm=along_mm,
        down_mm=edge + np.interp(along_mm, centres.along_mm, centres.off_mm),
        u_mm=np.interp(along_mm, centres.along_mm, centres.u_mm),
        chance=np.interp(along_mm, blocks, chance),
        score=first.total / len(blocks),
        rival=rival,
        speckle=flicker.whole,
        other_down_mm=edge + np.interp(along_mm, blocks, band.off_mm[second.rows]),
        at_edge=_at_edge(np.interp(along_mm, blocks, off), low + rim, off[chance >= BELIEVED]),
    )


def _at_edge(off_mm: np.ndarray, rim_mm: float, believed_mm: np.ndarray) -> np.ndarray:
    """Whether a path ``off_mm`` (N,) below the edge may be the crease: within its rim, or near and even all along.

    ``believed_mm`` (K,) are the places where the path passes for a line.
    """
    if len(believed_mm):
        low, middle, high = np.percentile(believed_mm, [5.0, 50.0, 95.0])
        if middle < CREASE_MM and high - low < CREASE_EVEN_MM:
            return np.ones(len(off_mm), bool)
    return np.asarray(off_mm < rim_mm)


def _wood_rival(strip: Strip, lightness: np.ndarray, edge_mm: np.ndarray, face_above_mm: float, px_mm: float) -> float:
    """The best ridge on the plank's face, where no line is drawn."""
    high = -face_above_mm - 1.5
    low = max(high - (FAR_MM - CLEAR_MM), float(strip.down_mm[0] - edge_mm.min()))
    if high - low < 4.0:
        return -np.inf
    gain, blocks = ridge_gain(cut_band(strip, lightness, edge_mm, low, high), px_mm)
    return float(best_ridges(gain, 1)[0].total / len(blocks))


def _pointed_out(blocks: np.ndarray, anchors: list[tuple[float, float]]) -> np.ndarray:
    """Blocks (B,) that the builder's own pointing answers for: near a place, or between two not far apart."""
    near = np.zeros(len(blocks), bool)
    for along, _ in anchors:
        near |= np.abs(blocks - along) <= POINTED_MM
    for (left, _), (right, _) in _neighbours(anchors):
        near |= (blocks >= left) & (blocks <= right)
    return near


def _neighbours(anchors: list[tuple[float, float]]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Pairs of places next to each other that answer for what lies between them."""
    return [(one, other) for one, other in pairwise(sorted(anchors)) if other[0] - one[0] <= SPANNED_MM]


def _pull_to_anchors(gain: np.ndarray, band: Band, blocks: np.ndarray, anchors: list[tuple[float, float]]) -> None:
    """Hold the path to the places pointed at, and to the straight way between two that are near each other."""
    down = band.off_mm[:, None] + np.interp(blocks, band.along_mm, band.edge_mm)
    held = np.full(len(blocks), np.nan)
    for along, row in anchors:
        held[np.abs(blocks - along) <= POINTED_MM] = row
    for (left, low), (right, high) in _neighbours(anchors):
        between = (blocks >= left) & (blocks <= right)
        held[between] = np.interp(blocks[between], (left, right), (low, high))
    gain[np.abs(down - held) > POINTED_OFF_MM] -= FORBIDDEN
