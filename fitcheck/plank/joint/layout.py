"""A rough layout of the cards from each photograph by itself, which photographs hang together, and which disagree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from fitcheck.plank.joint.card_views import View

#: Cards that two ways through the photographs put further apart than this are not the same cards, or were moved.
MOST_APART_MM, MOST_APART_SHARE = 6.0, 0.02


class Lies(NamedTuple):
    """How a card lies on the laid-out face: s along and w across in mm, and its turn in radians."""

    s: float
    w: float
    turn: float


@dataclass(frozen=True)
class Layout:
    """Cards by number on the laid-out face, s rising with the numbers."""

    cards: Mapping[int, Lies]


def groups(views: Sequence[View]) -> list[list[int]]:
    """Indices of the views in groups that hang together by shared cards."""
    from scipy.sparse.csgraph import connected_components

    if not views:
        return []
    shared = [[not set(one.numbers).isdisjoint(other.numbers) for other in views] for one in views]
    count, label = connected_components(np.array(shared), directed=False)
    found = [np.flatnonzero(label == number).tolist() for number in range(count)]
    return sorted(found)


def strangers(views: Sequence[View]) -> list[int]:
    """Indices of views to leave out, so that the rest put every card in one place and the numbers rise along the plank.

    The fewest are left out, and of these what loses the fewest cards. Where as much speaks for one as for another,
    neither can be believed and both are left out.
    """
    out: list[int] = []
    while True:
        left = [index for index in range(len(views)) if index not in out]
        if not _cost(views, left)[0]:
            return sorted(out)
        costs = {index: _cost(views, [other for other in left if other != index]) for index in left}
        least = min(costs.values())
        out += [index for index, cost in costs.items() if cost == least]


def _cost(views: Sequence[View], left: Sequence[int]) -> tuple[int, int]:
    """The discord in views ``left``, and the number of their cards, negative."""
    kept = [views[index] for index in left]
    numbers = {number for view in kept for number in view.numbers}
    return sum(_discord([kept[k] for k in group]) for group in groups(kept)), -len(numbers)


def _discord(views: Sequence[View]) -> int:
    """How many pairs of cards, in views that hang together, lie elsewhere than laid out or in the wrong order."""
    layout = lay_out(views).cards
    order = [layout[number].s for number in sorted(layout)]
    wrong = sum(1 for before, after in pairwise(order) if after <= before)
    for view in views:
        for a, b in pairwise(view.numbers):
            laid = np.subtract(layout[b][:2], layout[a][:2])
            apart = float(np.linalg.norm(_between(view, a, b)[0]))
            wrong += abs(apart - float(np.linalg.norm(laid))) > MOST_APART_MM + MOST_APART_SHARE * apart
    return int(wrong)


def lay_out(views: Sequence[View]) -> Layout:
    """The rough layout of views that hang together, from card to card, turned so that the row of cards runs along s."""
    start = min(number for view in views for number in view.numbers)
    placed = {start: Lies(0.0, 0.0, 0.0)}
    grown = True
    while grown:
        grown = False
        for view in views:
            known = [number for number in view.numbers if number in placed]
            for b in view.numbers if known else ():
                if b not in placed:
                    a = known[0]
                    placed[b] = _carried(placed[a], *_between(view, a, b))
                    grown = True
    return _straightened(placed)


def _carried(start: Lies, off: np.ndarray, more: float) -> Lies:
    c, sn = np.cos(start.turn), np.sin(start.turn)
    s, w = start.s + c * off[0] - sn * off[1], start.w + sn * off[0] + c * off[1]
    return Lies(float(s), float(w), float(start.turn + more))


def _straightened(placed: Mapping[int, Lies]) -> Layout:
    first, last = placed[min(placed)], placed[max(placed)]
    angle = -np.arctan2(last.w - first.w, last.s - first.s) if len(placed) > 1 else 0.0
    turned = Lies(0.0, 0.0, float(angle))
    return Layout({number: _carried(turned, np.array([at.s, at.w]), at.turn) for number, at in placed.items()})


def _between(view: View, a: int, b: int) -> tuple[np.ndarray, float]:
    """Card b's centre (2,) in card a's frame, and its turn against it, as if the face were flat under both."""
    one, other = (view.poses[view.numbers.index(number)] for number in (a, b))
    off = one.rotation.T @ (other.translation_mm - one.translation_mm)
    along = one.rotation.T @ other.rotation[:, 0]
    flat = off[:2] * np.linalg.norm(off) / max(float(np.linalg.norm(off[:2])), 1e-9)
    return flat, float(np.arctan2(along[1], along[0]))
