"""What was found in a photograph that could be the card, the edge or the line, where the program does not choose.

A refused photograph carries them, so that its picture can show what was taken for what, and a measured one those of
the stretches it leaves ambiguous. They are for looking at and for asking "this one or that one?"; nothing is measured
from them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fitcheck.ground.refusal import Refused

if TYPE_CHECKING:
    import numpy as np

#: The order in which letters are given.
KINDS = ("card", "edge", "line")
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True)
class Candidate:
    """One thing that could be the card, the edge or the line of a photograph.

    ``kind`` is "card", "edge" or "line"; ``points_px`` (u, v) are a card's corners in order, else a path along the lap,
    in the picture as a person sees it; a path may be broken into several candidates of one ``rank``. ``rank`` counts
    from 1, the likeliest of its kind; ``odds`` is the chance that it is the right one, where the program has one.
    ``letter`` names it in picture and legend, the same for all that share kind and rank; ``photo`` is the photograph
    in which its pixels are given, where there are several.
    """

    kind: str
    points_px: tuple[tuple[float, float], ...]
    rank: int = 1
    odds: float | None = None
    letter: str = ""
    photo: str = ""

    def as_json(self) -> dict[str, Any]:
        """The candidate as ``measure --json`` and ``gap --json`` write it."""
        return {
            "kind": self.kind,
            "letter": self.letter,
            "rank": self.rank,
            "odds": None if self.odds is None else round(self.odds, 3),
            "points_px": [[round(u, 2), round(v, 2)] for u, v in self.points_px],
            "photo": self.photo,
        }


def candidate(kind: str, points_px: np.ndarray, *, rank: int = 1, odds: float | None = None) -> Candidate:
    """A candidate through points (N, 2) px.

    >>> import numpy as np
    >>> candidate("line", np.array([[1, 2], [3, 4]]), rank=2).points_px
    ((1.0, 2.0), (3.0, 4.0))
    """
    return Candidate(kind, tuple((float(u), float(v)) for u, v in points_px), rank, odds)


def cards(outlines_px: Iterable[np.ndarray]) -> tuple[Candidate, ...]:
    """Candidates for the card, the surest first, from outlines (M, 2) px."""
    return tuple(candidate("card", outline, rank=number + 1) for number, outline in enumerate(outlines_px))


def lettered(candidates: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """The candidates in the order cards, edges, lines, each by rank, with edges and lines lettered A, B, C.

    Cards get a letter only where there are several.

    >>> [one.letter for one in lettered([Candidate("line", ()), Candidate("edge", (), 2), Candidate("edge", ())])]
    ['A', 'B', 'C']
    """
    ordered = sorted(candidates, key=lambda one: (KINDS.index(one.kind), one.rank))
    only_card = len({one.rank for one in ordered if one.kind == "card"}) == 1
    letters: dict[tuple[str, int], str] = {}
    for one in ordered:
        if one.kind != "card" or not only_card:
            letters.setdefault((one.kind, one.rank), LETTERS[len(letters) % len(LETTERS)])
    return tuple(replace(one, letter=letters.get((one.kind, one.rank), "")) for one in ordered)


@contextmanager
def carried(candidates: Sequence[Candidate]) -> Iterator[None]:
    """Whatever is refused inside carries these candidates besides its own, of kinds it has none of.

    >>> try:
    ...     with carried([Candidate("card", ())]):
    ...         raise Refused("no-edge", "No edge is in sight.")
    ... except Refused as refused:
    ...     print([one.kind for one in refused.candidates])
    ['card']
    """
    try:
        yield
    except Refused as refused:
        had = {one.kind for one in refused.candidates}
        refused.candidates += tuple(one for one in candidates if one.kind not in had)
        raise
