"""Whether photographs that share a station card's number show one plank: by where lap line and edge lie beside it.

Another plank may have a card of the same number, and one shared card ties any two photographs together without a
contradiction. But no two planks have it lying alike: on one plank two photographs put the lap line in the same place
beside the card to a few tenths of a millimetre, on two planks they differ by millimetres or by a degree or more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fitcheck.ground.refusal import Reason
from fitcheck.lap.line.fair_line import BELIEVED
from fitcheck.lap.square_on.square_look import Look
from fitcheck.plank.joint.curved_pose import CurvedPose
from fitcheck.plank.photo_values import edge_on_plank, line_on_plank
from fitcheck.plank.square_looks import Looked

#: Line and edge of one plank agree at least so well (mm, and mm in a millimetre). Over the photographs at hand lines
#: differed by 0.05 mm and 0.0002 at most, edges by 0.4 mm.
MOST_ASIDE_MM, MOST_ASKEW = 1.0, 0.008
#: How much both must show, and how far from the shared card they are compared.
LEAST_COMMON_MM, REACH_MM, STEP_MM = 40.0, 200.0, 5.0


@dataclass(frozen=True)
class Kinship:
    """What two looks that share cards say of each other: ``alike`` is None where they show too little in common."""

    alike: bool | None
    aside_mm: float


def foreign(looked: Sequence[Looked], drop_mm: float) -> dict[str, Reason]:
    """The views by name that show another plank than the most do, with the reason.

    Where as much speaks for one as for another, neither can be believed and both are named.
    """
    pairs = _pairs(looked, drop_mm)
    apart = {pair: kin for pair, kin in pairs.items() if kin.alike is False}
    return {looked[k].view.name: _told(looked, k, apart) for k in sorted(_odd_ones(pairs, len(looked)))}


def _odd_ones(pairs: Mapping[tuple[int, int], Kinship], count: int) -> set[int]:
    """Which of ``count`` views to leave out, so that no pair of the rest contradicts each other.

    The one goes that most speak against; of equals the one that fewest agree with, and where that is equal too, both.
    Only a neighbour that surely shows the same lap speaks for a view: a row of photographs that hang on a stranger by
    a card it happens to share does not.
    """
    apart = [pair for pair, kin in pairs.items() if kin.alike is False]
    out: set[int] = set()
    while left := [pair for pair in apart if not set(pair) & out]:
        against = [sum(k in pair for pair in left) for k in range(count)]
        kin = [sum(k in pair for pair, one in pairs.items() if one.alike and not set(pair) & out) for k in range(count)]
        most = [k for k in range(count) if against[k] == max(against)]
        out.update(k for k in most if kin[k] == min(kin[other] for other in most))
    return out


def on_one_card(looked: Sequence[Looked], drop_mm: float) -> list[Reason]:
    """A warning for each photograph tied to the others by one card, beside which nothing shows that it is their
    plank."""
    pairs = _pairs(looked, drop_mm)
    warnings = []
    for k, one in enumerate(looked):
        kin = {pair: found for pair, found in pairs.items() if k in pair}
        shared = {number for pair in kin for number in _shared(looked, pair)}
        if one.reason is None and len(shared) == 1 and all(found.alike is None for found in kin.values()):
            text = (
                f"{one.view.name} rests on station card {shared.pop()} alone, and the lap beside it cannot be compared "
                "with the other photographs: see that it shows this plank. Photograph with two cards in common to be "
                "sure."
            )
            warnings.append(Reason("rests-on-one-card", text))
    return warnings


def _pairs(looked: Sequence[Looked], drop_mm: float) -> dict[tuple[int, int], Kinship]:
    return {
        pair: _kinship(looked, pair, drop_mm) for pair in combinations(range(len(looked)), 2) if _shared(looked, pair)
    }


def _shared(looked: Sequence[Looked], pair: tuple[int, int]) -> set[int]:
    one, other = (set(looked[k].view.numbers) for k in pair)
    return one & other


def _kinship(looked: Sequence[Looked], pair: tuple[int, int], drop_mm: float) -> Kinship:
    looks = [look for k in pair if (look := looked[k].look) is not None]
    if len(looks) < 2:
        return Kinship(None, 0.0)
    at_mm = float(np.mean([_card_place(looked[pair[0]], number) for number in _shared(looked, pair)]))
    line = _alike([_sure_line(look, drop_mm) for look in looks], at_mm, MOST_ASIDE_MM, MOST_ASKEW)
    edge = _alike([_clear_edge(look) for look in looks], at_mm, MOST_ASIDE_MM, MOST_ASKEW)
    if line.alike:
        return line
    # The line may be mistaken in one photograph, so they are not apart; but the edges of two planks may agree by
    # chance, so they are not surely alike either.
    return Kinship(True if line.alike is None else None, line.aside_mm) if edge.alike else line


def _card_place(one: Looked, number: int) -> float:
    """The s of one of a view's cards."""
    assert one.look is not None
    pose = one.look.pose
    assert isinstance(pose, CurvedPose)
    corners = pose.face_from_px(one.view.cards[one.view.numbers.index(number)].outline_px)
    return float(pose.plank_from_face(corners)[:, 0].mean())


def _sure_line(look: Look, drop_mm: float) -> np.ndarray:
    sure = (look.line.chance >= BELIEVED) & ~look.covered & ~look.line.at_edge
    return line_on_plank(look, look.aligned.along_mm[sure], drop_mm)


def _clear_edge(look: Look) -> np.ndarray:
    return edge_on_plank(look)[~look.covered & ~look.edge_unclear]


def _alike(curves: Sequence[np.ndarray], at_mm: float, most_mm: float, most_askew: float) -> Kinship:
    """Whether two curves (N, 2) of s and w lie together near a place."""
    one, other = (curve[np.argsort(curve[:, 0])] for curve in curves)
    if not len(one) or not len(other):
        return Kinship(None, 0.0)
    s = np.arange(at_mm - REACH_MM, at_mm + REACH_MM, STEP_MM)
    s = s[_shown(one, s) & _shown(other, s)]
    if len(s) * STEP_MM < LEAST_COMMON_MM:
        return Kinship(None, 0.0)
    off = np.interp(s, *one.T) - np.interp(s, *other.T)
    third = max(1, len(s) // 3)
    askew = float(np.median(off[-third:]) - np.median(off[:third])) / float(s[-third:].mean() - s[:third].mean())
    aside = float(np.median(off))
    return Kinship(abs(aside) < most_mm and abs(askew) < most_askew, abs(aside))


def _shown(curve: np.ndarray, s: np.ndarray) -> np.ndarray:
    """At which places (N,) a curve (M, 2) was seen, or just beside them."""
    after = np.clip(np.searchsorted(curve[:, 0], s), 1, len(curve) - 1) if len(curve) > 1 else np.zeros(len(s), int)
    return np.asarray(np.minimum(np.abs(curve[after, 0] - s), np.abs(curve[after - 1, 0] - s)) < STEP_MM)


def _told(looked: Sequence[Looked], k: int, apart: dict[tuple[int, int], Kinship]) -> Reason:
    pair = max((pair for pair in apart if k in pair), key=lambda pair: apart[pair].aside_mm)
    other = looked[pair[0] if pair[1] == k else pair[1]].view.name
    numbers = ", ".join(map(str, sorted(_shared(looked, pair))))
    return Reason(
        "other-plank",
        f"{looked[k].view.name} shows the lap elsewhere beside station card {numbers} than {other} does: it is a card "
        "of another plank with the same number, card or plank was moved between them, or the line was mistaken. "
        "Photograph it again with the cards and the plank as they lie now.",
    )
