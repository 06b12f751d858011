"""What was found in one of a plank's photographs, lettered by itself: each is a picture of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fitcheck.ground.candidates import Candidate, candidate, lettered
from fitcheck.plank.joint.card_views import View


def of_photo(name: str, found: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """The candidates lettered from A, with the photograph's name.

    >>> [(one.letter, one.photo) for one in of_photo("p4.jpg", [Candidate("edge", ())])]
    [('A', 'p4.jpg')]
    """
    return tuple(replace(one, photo=name) for one in lettered(found))


def of_refused(view: View, found: Sequence[Candidate] = ()) -> tuple[Candidate, ...]:
    """What was found in a refused view, looking at the lap (``found``) or before; its cards with it.

    Station cards are told apart by their numbers, so that none is another's rival: they get no letters.
    """
    every = (*view.found, *found)
    cards = [candidate("card", card.outline_px) for card in view.cards]
    return of_photo(view.name, [*cards, *(one for one in every if one.kind != "card" or not cards)])
