"""The connected parts of a plank: runs of photographs on one tape, and runs that nothing ties to the others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fitcheck.contract.measurement import Part
from fitcheck.ground.refusal import Reason
from fitcheck.plank.joint.joint_solution import Joint
from fitcheck.plank.places import from_card_0

#: Cards that were not moved lie as far apart in an earlier set of photographs as now, to within so much and this many
#: standard uncertainties.
SAME_MM, SAME_TIMES = 2.0, 3.0
#: One card alone shows nothing of having been moved.
FEWEST_CARDS = 2


@dataclass(frozen=True)
class Earlier:
    """Where an earlier set of photographs of the plank put its cards: ``places`` in mm from card 0 and their u95."""

    name: str
    places: Mapping[int, tuple[float, float]]


@dataclass(frozen=True)
class Known:
    """Known places in mm by card number, and where they are from an earlier set, its name and its cards."""

    places_mm: Mapping[int, float]
    earlier: str | None = None
    of_earlier: frozenset[int] = frozenset()

    def tie(self, numbers: Sequence[int]) -> str | None:
        """What puts cards with these numbers on the plank's own tape, or None."""
        if 0 in numbers:
            return "card 0"
        tied = [number for number in numbers if number in self.places_mm]
        if not tied:
            return None
        return "record" if set(tied) <= self.of_earlier else "stations"


def with_earlier(joints: Sequence[Joint], known_mm: Mapping[int, float], earlier: Sequence[Earlier]) -> Known:
    """The known places, and those of an earlier set for what nothing else ties: the first set that fits.

    A set fits where each part shares two cards or more with it that lie as far apart as they did. A part that has
    card 0, or a told place, must fit too: else its cards were laid anew.
    """
    known_mm = from_card_0(known_mm)
    told = Known(known_mm)
    untied = [joint for joint in joints if told.tie(joint.numbers) is None]
    for one in earlier if untied else ():
        others = [joint for joint in joints if joint not in untied]
        fitting = [joint for joint in untied if _fits(joint, one)]
        if fitting and all(_fits(joint, one) for joint in others):
            cards = frozenset(number for joint in fitting for number in joint.numbers if number in one.places)
            places = {number: one.places[number][0] for number in cards}
            return Known({**known_mm, **places}, one.name, cards)
    return told


def _fits(joint: Joint, earlier: Earlier) -> bool:
    rows = [row for row, number in enumerate(joint.numbers) if number in earlier.places]
    if len(rows) < FEWEST_CARDS:
        return False
    u = joint.place_covariance().diagonal() ** 0.5
    for before, after in pairwise(rows):
        then, now = (earlier.places[joint.numbers[row]] for row in (before, after))
        apart = (now[0] - then[0]) - float(joint.cards[after, 0] - joint.cards[before, 0])
        spread = (u[after] ** 2 + u[before] ** 2 + (now[1] ** 2 + then[1] ** 2) / 4.0) ** 0.5
        if abs(apart) > SAME_MM + SAME_TIMES * spread:
            return False
    return True


def frames(runs: Iterable[tuple[int, ...]], known: Known) -> list[list[int]]:
    """Indices of runs, given by their cards, that share one tape: all that are tied, and each other by itself.

    In the order of their lowest cards.

    >>> frames([(4, 5), (0, 1), (7,)], Known({}))
    [[1], [0], [2]]
    >>> frames([(4, 5), (0, 1), (7,)], Known({4: 1222.0}))
    [[1, 0], [2]]
    """
    numbers = list(runs)
    order = sorted(range(len(numbers)), key=lambda at: min(numbers[at]))
    tied = [at for at in order if known.tie(numbers[at]) is not None]
    alone = [[at] for at in order if at not in tied]
    return sorted(([tied] if tied else []) + alone, key=lambda group: min(min(numbers[at]) for at in group))


def part_of(number: int, of: int, cards: Iterable[int], photos: Iterable[str], known: Known) -> Part:
    """A part with these cards, its places counted from card 0 where it is tied to it, else from its lowest card."""
    cards = tuple(sorted(cards))
    tied_by = known.tie(cards)
    return Part(number, of, 0 if tied_by else cards[0], cards, tuple(photos), tied_by)


def apart_warnings(parts: Sequence[Part], known: Known) -> list[Reason]:
    """What is to be said of a plank in parts, of one that does not begin at card 0, and of an earlier set's places."""
    warnings = []
    for part in parts[1:]:
        first = part.cards[0]
        last = max(card for other in parts for card in other.cards if card < first)
        text = (
            f"How card {last} and card {first} lie to each other is not known: no photograph that could be used ties "
            f"them. Each part counts from its own card. Photograph from card {last} to card {first}, two cards in "
            "each, and measure all photographs of this clamping together; or tell the cards' places with --stations."
        )
        warnings.append(Reason("parts-apart", text))
    first_part = parts[0]
    if first_part.tied_by is None:
        card = first_part.from_card
        text = (
            f"Nothing tells how far card {card} lies from station card 0: places count from card {card}. Photograph "
            "from card 0 on, two cards in each, or tell the cards' places with --stations."
        )
        warnings.append(Reason("no-card-0", text))
    if known.earlier is not None:
        text = (
            f"{known.earlier} tells how the cards lie to each other where the photographs do not. It holds only if no "
            "card was moved since."
        )
        warnings.append(Reason("places-from-record", text))
    return warnings
