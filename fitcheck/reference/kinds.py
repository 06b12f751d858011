"""The kinds of reference: one entry a kind, with how it is found in a photograph and what it is good for.

A new kind is a function that gives :class:`Found`, and an entry in :data:`KINDS`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitcheck.ground.refusal import WrongCall
from fitcheck.reference.card.card_kind import CARDS, CardKind, card_named
from fitcheck.reference.sighting import Found

if TYPE_CHECKING:
    import numpy as np

    from fitcheck.calibration.camera import Camera

#: Asked with an upright photograph (H, W, 3) BGR and the camera turned the same way; raises Refused where none is seen.
Find = Callable[["np.ndarray", "Camera"], Found]
#: The same, with the places (u, v) that the builder pointed at.
Pointed = Callable[["np.ndarray", "Camera", tuple[tuple[float, float], ...]], Found]
SIZES = "a measured size such as 88.6x50.7mm"


@dataclass(frozen=True, kw_only=True)
class ReferenceKind:
    """A kind of reference, by the name the builder types.

    ``noun`` is what it is in a sentence; places in an answer count from its middle. ``find`` looks for it in one
    photograph and gives its sightings, each with the pose of the face under it; None where one photograph by itself is
    not measured by it. ``pointed`` looks for it where the builder pointed; None where that helps nothing. ``joins`` is
    True for numbered things, whose numbers join photographs into one plank and give its places; ``edge_on_only`` for
    what gives a scale in edge-on photographs alone.
    """

    name: str
    noun: str
    find: Find | None = None
    pointed: Pointed | None = None
    joins: bool = False
    edge_on_only: bool = False


def _card(card: CardKind) -> ReferenceKind:
    def find(pixels: np.ndarray, camera: Camera) -> Found:
        from fitcheck.reference.card.card import all_cards

        return Found(tuple(all_cards(pixels, camera, card)))

    def pointed(pixels: np.ndarray, camera: Camera, at_px: tuple[tuple[float, float], ...]) -> Found:
        from fitcheck.reference.card.card_pointed import card_pointed_at

        return Found((card_pointed_at(pixels, camera, card, at_px),))

    return ReferenceKind(name=card.name, noun="card", find=find, pointed=pointed)


def _rule(name: str) -> ReferenceKind:
    def find(pixels: np.ndarray, camera: Camera) -> Found:
        from fitcheck.reference.rule.rule import rule_and_pose

        return rule_and_pose(pixels, camera, name)

    return ReferenceKind(name=name, noun="rule", find=find)


#: Numbered cards, read in all photographs of a plank together.
STATION = ReferenceKind(name="station", noun="card", joins=True)
#: Nothing of known length lies in the photograph: edge-on the plank's own thickness gives the scale.
THICKNESS = ReferenceKind(name="thickness", noun="plank", edge_on_only=True)
KINDS = {
    kind.name: kind for kind in (*map(_card, CARDS.values()), _rule("rule-mm"), _rule("rule-in"), STATION, THICKNESS)
}
_CARDS = [name for name in KINDS if name in CARDS]
_OTHERS = [kind.name for kind in KINDS.values() if kind.name not in CARDS and not kind.edge_on_only]
#: Every kind that measures, for the help of a command.
NAMED = f"{', '.join([*_CARDS, SIZES, *_OTHERS[:-1]])}, or {_OTHERS[-1]}"


def reference_kind(text: str, *, edge_on: bool = False) -> ReferenceKind:
    """The kind that ``text`` names, by its name or as the measured size of a card.

    Raises :class:`WrongCall` for anything else, and, unless ``edge_on``, for what measures edge-on photographs alone.

    >>> reference_kind("rule-mm").noun, reference_kind("3-1/2x2in").noun, reference_kind("station").joins
    ('rule', 'card', True)
    """
    kind = KINDS.get(text)
    if kind is None:
        card = card_named(text)
        kind = None if card is None else _card(card)
    if kind is None or (kind.edge_on_only and not edge_on):
        known = ", ".join([*_CARDS, *_OTHERS])
        raise WrongCall(f"--reference {text!r} is not known: give one of {known}, or {SIZES}")
    return kind


def noun_of(name: str | None) -> str:
    """What the kind of this name is in a sentence; "reference" where none is named, or one that is not known here.

    >>> noun_of("id1"), noun_of("rule-in"), noun_of(None)
    ('card', 'rule', 'reference')
    """
    try:
        return "reference" if name is None else reference_kind(name, edge_on=True).noun
    except WrongCall:
        return "reference"
