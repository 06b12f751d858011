"""Two fits of one plank on the same places: what moved, what was planed off against what was asked, what got worse."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Any

from fitcheck.advice.cut_depth import told_cut
from fitcheck.fitlog import queries
from fitcheck.fitlog.differ import Changed, Difference, changed, differences, mean_of, sure_factor
from fitcheck.fitlog.fit_profile import Sample
from fitcheck.fitlog.judged_by import Terms
from fitcheck.fitlog.queries import Fit
from fitcheck.fitlog.summary import profiles_of
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.ground.uncertainty import Z95, Line, fit_line
from fitcheck.hull.plank_name import PlankName

#: Wood is taken a little beyond the ends of a cut; places this near to one tell nothing of how the plank was clamped.
CLEAR_OF_CUT_MM = 20.0
#: Places where the edge was left alone are taken together over this length: their errors are alike within it.
BIN_MM = 100.0


@dataclass(frozen=True)
class Movement:
    """How the whole plank lay differently: ``slide_mm`` + toward the keel, at ``about_mm``, and the swing."""

    slide_mm: float
    slide_u95_mm: float
    swing_mm_per_m: float
    swing_u95_mm_per_m: float
    about_mm: float
    span_mm: float
    line: Line

    @property
    def sure(self) -> bool:
        """Whether slide, or what the swing makes of it at the plank's ends, is more than doubt."""
        at_end_mm = abs(self.swing_mm_per_m) * self.span_mm / 2000
        swung = abs(self.swing_mm_per_m) > self.swing_u95_mm_per_m and at_end_mm > self.slide_u95_mm
        return swung or abs(self.slide_mm) > self.slide_u95_mm


@dataclass(frozen=True)
class Planed:
    """One cut: what was asked, what was reported (mean depths, None where not), and what the photographs show."""

    from_mm: float
    to_mm: float
    asked_mm: float | None
    reported_mm: float | None
    taken_mm: float
    u95_mm: float
    #: Whether wood surely came off somewhere in the cut, though its mean may be within the doubt.
    somewhere: bool

    @property
    def word(self) -> str:
        """What was done, in words that claim no more than is seen."""
        if abs(self.taken_mm) <= self.u95_mm:
            return "surely in places, not over its length" if self.somewhere else "no wood off that can be told"
        if self.taken_mm < 0:
            return "wood cannot grow: look again at both fits"
        meant = self.asked_mm if self.asked_mm is not None else self.reported_mm
        if meant is None or abs(self.taken_mm - meant) <= self.u95_mm:
            return "as asked" if self.asked_mm is not None else "as reported"
        return "less than asked" if self.taken_mm < meant else "more than asked"


@dataclass(frozen=True)
class Comparison:
    """What two fits of one plank have to say together; lengths in mm, places in the plank frame."""

    plank: PlankName
    old: Fit
    new: Fit
    raw: tuple[Difference, ...]
    factor: float
    changed: tuple[Changed, ...]
    movement: Movement | None
    planed: tuple[Planed, ...]
    worse: tuple[Changed, ...]
    old_profile: tuple[Sample, ...]
    new_profile: tuple[Sample, ...]

    @property
    def largest(self) -> Difference:
        """The difference that is largest beside its doubt."""
        return max(self.raw, key=lambda difference: abs(difference.by_mm) / max(difference.u95_mm, 1e-6))


def _before(connection: sqlite3.Connection, fit: Fit) -> int:
    """The number of the fit recorded before this one."""
    earlier = [one.number for one in queries.fits(connection, fit.plank) if one.rank < fit.rank]
    if not earlier:
        raise WrongCall(
            f"plank {fit.plank} has no fit on record before fit {fit.number}: two fits are needed to compare"
        )
    return earlier[-1]


def compare(
    connection: sqlite3.Connection,
    plank: PlankName,
    terms: Terms,
    *,
    old: int | None = None,
    new: int | None = None,
    units: str = "in",
) -> Comparison:
    """Compare two fits of a plank by their numbers; the latest with the one before it unless told.

    A cut was asked for as deep as its ticket told it in ``units``, the hull's: so deep it is compared.

    Raises :class:`WrongCall` where a fit is not on record, :class:`Refused` where the two have no places in common.
    """
    second = queries.fit(connection, plank, new)
    first = queries.fit(connection, plank, _before(connection, second) if old is None else old)
    old_profile, new_profile = (_profile(connection, fit, terms) for fit in (first, second))
    raw = differences(old_profile, new_profile)
    if not raw:
        raise Refused(
            "no-common-places",
            f"Fits {first.number} and {second.number} of {plank} have no measured place in common: "
            "photograph the same stretch.",
        )
    # What counts from another card lies nobody knows where along the plank.
    asked = [told_cut(cut, units) for cut in queries.advised_cuts(connection, first.id) if not cut.get("from_card")]
    every = [cut for cut in queries.cuts(connection, plank) if first.rank <= cut.rank < second.rank]
    reported = [cut for cut in every if cut.from_card is None]
    movement = _movement(
        raw, [(cut["from_mm"], cut["to_mm"]) for cut in asked] + [(c.from_mm, c.to_mm) for c in reported]
    )
    return Comparison(
        plank=plank,
        old=first,
        new=second,
        raw=tuple(raw),
        factor=sure_factor(raw),
        changed=tuple(changed(raw)),
        movement=movement,
        planed=tuple(_planed(raw, asked, reported, movement)),
        worse=tuple(_worse(old_profile, new_profile)),
        old_profile=tuple(old_profile),
        new_profile=tuple(new_profile),
    )


def _profile(connection: sqlite3.Connection, fit: Fit, terms: Terms) -> list[Sample]:
    frame, profiles = profiles_of(connection, fit.id, terms)
    if frame == "photo":
        raise Refused(
            "places-not-known",
            f"Fit {fit.number} of {fit.plank} has no places along the plank, so it cannot be laid beside another: "
            "photograph with station cards, or tell where the reference lay (--at) when recording.",
        )
    return profiles[0] if profiles else []


def _movement(raw: Sequence[Difference], cuts: Sequence[tuple[float, float]]) -> Movement | None:
    """The straight line through the places where no wood came off; None where those are too few to draw one."""
    left = [d for d in raw if not any(a - CLEAR_OF_CUT_MM <= d.place_mm <= b + CLEAR_OF_CUT_MM for a, b in cuts)]
    bins = [list(group) for _, group in groupby(left, key=lambda d: d.place_mm // BIN_MM)]
    means = [mean_of(group, sum(d.place_mm for d in group) / len(group)) for group in bins]
    if len(means) < 2 or means[-1].place_mm - means[0].place_mm < 2 * BIN_MM:
        return None
    about_mm = (raw[0].place_mm + raw[-1].place_mm) / 2
    x = [mean.place_mm - about_mm for mean in means]
    line = fit_line(x, [mean.by_mm for mean in means], [max(mean.u95_mm, 1e-3) / Z95 for mean in means])
    # Errors common to all bins do not shrink with their number: the slide is no better known than one place.
    common = min(mean.u95_mm for mean in means)
    slide_u95 = max(Z95 * line.u_intercept, common)
    span_mm = raw[-1].place_mm - raw[0].place_mm
    return Movement(
        slide_mm=line.intercept,
        slide_u95_mm=slide_u95,
        swing_mm_per_m=1000 * line.slope,
        swing_u95_mm_per_m=1000 * Z95 * line.u_slope,
        about_mm=about_mm,
        span_mm=span_mm,
        line=line,
    )


def _planed(
    raw: Sequence[Difference],
    asked: Sequence[dict[str, Any]],
    reported: Sequence[queries.Cut],
    movement: Movement | None,
) -> list[Planed]:
    found = []
    off = [s for s in changed([_less(difference, movement) for difference in raw]) if s.by_mm < 0]
    wanted = [(cut["from_mm"], cut["to_mm"], cut, _reported_in(cut, reported)) for cut in asked]
    beside = [cut for cut in reported if not any(cut.from_mm < b and a < cut.to_mm for a, b, _, _ in wanted)]
    for from_mm, to_mm, cut, done in [*wanted, *((c.from_mm, c.to_mm, None, c) for c in beside)]:
        inside = [d for d in raw if from_mm <= d.place_mm <= to_mm]
        if not inside:
            continue
        mean = mean_of(inside, sum(d.place_mm for d in inside) / len(inside))
        moved_mm, moved_u95_mm = _moved(movement, mean)
        places = [d.place_mm for d in inside]
        found.append(
            Planed(
                from_mm=from_mm,
                to_mm=to_mm,
                asked_mm=None if cut is None else _mean_depth(cut.get("profile"), cut["deepest_mm"], places),
                reported_mm=None if done is None else _mean_depth(done.profile, done.deepest_mm, places),
                taken_mm=moved_mm - mean.by_mm,
                u95_mm=(mean.u95_mm**2 + moved_u95_mm**2) ** 0.5,
                somewhere=any(stretch.from_mm < to_mm and from_mm < stretch.to_mm for stretch in off),
            )
        )
    return found


def _less(difference: Difference, movement: Movement | None) -> Difference:
    """A difference without what the movement of the whole plank makes of it."""
    moved_mm, moved_u95_mm = _moved(movement, difference)
    return Difference(difference.place_mm, difference.by_mm - moved_mm, (difference.u95_mm**2 + moved_u95_mm**2) ** 0.5)


def _moved(movement: Movement | None, mean: Difference) -> tuple[float, float]:
    """How far the plank as a whole lay differently there; not told from planing, it may be as much as the doubt."""
    if movement is None:
        return 0.0, 0.0
    value, u = movement.line.at(mean.place_mm - movement.about_mm)
    return value, Z95 * u


def _reported_in(cut: dict[str, Any], reported: Sequence[queries.Cut]) -> queries.Cut | None:
    return next((r for r in reversed(reported) if r.from_mm < cut["to_mm"] and cut["from_mm"] < r.to_mm), None)


def _mean_depth(profile: Sequence[Sequence[float]] | None, deepest_mm: float, places_mm: Sequence[float]) -> float:
    """The mean depth of a cut over some places; without a profile it is taken as even."""
    if not profile:
        return float(deepest_mm)
    return sum(_depth(profile, place_mm) for place_mm in places_mm) / len(places_mm)


def _depth(profile: Sequence[Sequence[float]], place_mm: float) -> float:
    points = sorted((float(at), float(depth)) for at, depth in profile)
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= place_mm <= x1:
            return y0 if x1 == x0 else y0 + (y1 - y0) * (place_mm - x0) / (x1 - x0)
    return 0.0


def _worse(old_profile: Sequence[Sample], new_profile: Sequence[Sample]) -> list[Changed]:
    """Stretches that surely lie further from the line than before, and are not inside the limits now."""
    off = differences([_off(place) for place in old_profile], [_off(place) for place in new_profile])
    outside = {place.place_mm for place in new_profile if place.state in ("past", "short", "unsure")}
    return [
        stretch
        for stretch in changed(off)
        if stretch.by_mm > 0 and any(stretch.from_mm <= place <= stretch.to_mm for place in outside)
    ]


def _off(place: Sample) -> Sample:
    past_mm = place.past_line_mm
    return Sample(place.place_mm, None if past_mm is None else abs(past_mm), place.u95_mm, place.state)
