"""Repeatability: the same clamp-up photographed several times by several people, taken apart by analysis of variance.

A crossed two-way layout with repeats: parts of the plank, people, and trials. Source of the method: AIAG, Measurement
Systems Analysis, 4th ed., ANOVA method; people by parts is pooled into the repeat where it is not significant.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.fitlog import queries
from fitcheck.fitlog.fit_profile import merge
from fitcheck.fitlog.judged_by import Terms
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.ground.uncertainty import Z95
from fitcheck.hull.plank_name import PlankName

#: The interaction is pooled where its chance under no interaction is above this (AIAG's own level).
POOL_ABOVE = 0.25
#: Places along the plank taken as parts lie this far apart: nearer ones share their errors.
PART_MM = 50.0


@dataclass(frozen=True)
class Source:
    """One line of the table of variance."""

    squares: float
    dof: int

    @property
    def mean_square(self) -> float:
        """Sum of squares per degree of freedom."""
        return self.squares / self.dof


@dataclass(frozen=True)
class Spread:
    """What the readings differ by, as standard deviations in the unit of the readings, and the table behind them."""

    parts_source: Source
    people_source: Source
    interaction_source: Source
    repeat_source: Source
    pooled: bool
    repeat: float
    people: float
    interaction: float
    parts: float

    @property
    def system(self) -> float:
        """Repeat, people and their interaction together: what one reading by anyone is worth."""
        return math.sqrt(self.repeat**2 + self.people**2 + self.interaction**2)

    @property
    def total(self) -> float:
        """All spread together."""
        return math.hypot(self.system, self.parts)

    @property
    def system_share(self) -> float:
        """The system's share of all spread, as a ratio of standard deviations."""
        return self.system / self.total if self.total else 0.0

    @property
    def categories(self) -> int:
        """How many classes of parts the system tells apart, 1.41 parts / system, rounded down."""
        return int(math.sqrt(2) * self.parts / self.system) if self.system else 0


def spread(readings: Sequence[Sequence[Sequence[float]]]) -> Spread:
    """Take readings[person][trial][part] apart; all people have equally many trials, and every trial all parts.

    Raises :class:`WrongCall` for fewer than two people, trials or parts, or a layout with holes.
    """
    people, trials = len(readings), len(readings[0]) if readings else 0
    parts = len(readings[0][0]) if trials else 0
    if min(people, trials, parts) < 2:
        raise WrongCall(
            "repeatability asks for two people or more, two sets of photographs or more each, and two places or more"
        )
    if any(len(person) != trials or any(len(trial) != parts for trial in person) for person in readings):
        raise WrongCall("everyone must have photographed the same places the same number of times")
    grand = _mean([value for person in readings for trial in person for value in trial])
    by_part = [_mean([trial[k] for person in readings for trial in person]) for k in range(parts)]
    by_person = [_mean([value for trial in person for value in trial]) for person in readings]
    cells = [[_mean([trial[k] for trial in person]) for k in range(parts)] for person in readings]
    part_squares = people * trials * sum((mean - grand) ** 2 for mean in by_part)
    person_squares = parts * trials * sum((mean - grand) ** 2 for mean in by_person)
    cell_squares = trials * sum((mean - grand) ** 2 for row in cells for mean in row)
    repeat_squares = sum(
        (trial[k] - cells[i][k]) ** 2 for i, person in enumerate(readings) for trial in person for k in range(parts)
    )
    sources = (
        Source(part_squares, parts - 1),
        Source(person_squares, people - 1),
        Source(max(0.0, cell_squares - part_squares - person_squares), (parts - 1) * (people - 1)),
        Source(repeat_squares, parts * people * (trials - 1)),
    )
    return _components(*sources, people, trials, parts)


@dataclass(frozen=True)
class Study:
    """A repeatability study from the record: who took part, at which places, the spread, and what was stated.

    ``stated_u_mm`` is the mean stated standard uncertainty. It also holds what no repeating shows (thickness, bevel,
    the reference's size), so the system's spread belongs below it.
    """

    plank: PlankName
    fit_number: int
    people: tuple[str, ...]
    trials: int
    places_mm: tuple[float, ...]
    spread: Spread
    stated_u_mm: float

    @property
    def word(self) -> str:
        """How spread and statement go together."""
        if self.spread.system > self.stated_u_mm:
            return "the readings differ by more than the stated uncertainty: do not trust it before the cause is found"
        return "the stated uncertainty covers how the readings differ"


def study(connection: sqlite3.Connection, plank: PlankName, terms: Terms, *, number: int | None = None) -> Study:
    """Take one fit apart that several people photographed several times (each set recorded with --who, --same-fit).

    Where someone has more sets than others the last ones are left out. Raises :class:`WrongCall` where people, sets or
    places are fewer than two, :class:`Refused` where the sets have no places in common.
    """
    fit = queries.fit(connection, plank, number)
    sets: dict[str, list[dict[float, tuple[float, float]]]] = {}
    for who, samples in queries.edge_takes_by_person(connection, fit.id):
        valued = {
            place.place_mm: (place.past_line_mm, place.u95_mm)
            for place in merge([samples], terms)
            if place.past_line_mm is not None and place.u95_mm is not None and place.place_mm % PART_MM == 0
        }
        sets.setdefault(who, []).append(valued)
    trials = min(map(len, sets.values()), default=0)
    if len(sets) < 2 or trials < 2:
        raise WrongCall(
            f"fit {fit.number} of {plank} has {_counted(len(sets), 'person', 'people')} with "
            f"{_counted(trials, 'set', 'sets')} of photographs each: "
            "two people and two sets each are needed, recorded with --same-fit --who NAME"
        )
    used = {who: found[:trials] for who, found in sorted(sets.items())}
    places = sorted(set.intersection(*(set(valued) for found in used.values() for valued in found)))
    if len(places) < 2:
        raise Refused(
            "no-common-places", "The sets have numbers at fewer than two places in common: photograph the same stretch."
        )
    readings = [[[valued[place][0] for place in places] for valued in found] for found in used.values()]
    stated = _mean([valued[place][1] / Z95 for found in used.values() for valued in found for place in places])
    return Study(
        plank=plank,
        fit_number=fit.number,
        people=tuple(used),
        trials=trials,
        places_mm=tuple(places),
        spread=spread(readings),
        stated_u_mm=stated,
    )


def _components(
    by_part: Source, by_person: Source, crossed: Source, repeat: Source, people: int, trials: int, parts: int
) -> Spread:
    pooled = _chance(crossed, repeat) > POOL_ABOVE
    noise = Source(repeat.squares + crossed.squares, repeat.dof + crossed.dof) if pooled else repeat
    beside = noise if pooled else crossed
    variance = {
        "repeat": noise.mean_square,
        "people": (by_person.mean_square - beside.mean_square) / (parts * trials),
        "interaction": 0.0 if pooled else (crossed.mean_square - noise.mean_square) / trials,
        "parts": (by_part.mean_square - beside.mean_square) / (people * trials),
    }
    deviations = {name: math.sqrt(max(0.0, value)) for name, value in variance.items()}
    return Spread(by_part, by_person, crossed, repeat, pooled, **deviations)


def _chance(crossed: Source, repeat: Source) -> float:
    """The chance of an interaction as large as this where there is none, by the F distribution."""
    if repeat.squares == 0:
        return 1.0 if crossed.squares == 0 else 0.0
    from scipy.special import fdtrc

    return float(fdtrc(crossed.dof, repeat.dof, crossed.mean_square / repeat.mean_square))


def _counted(count: int, one: str, several: str) -> str:
    return f"{count} {one if count == 1 else several}"


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)
