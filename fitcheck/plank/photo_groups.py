"""Photographs that hang together by their cards, solved as one run of plank; usually there is just one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.line.fair_line import BELIEVED
from fitcheck.lap.shown import look_shown
from fitcheck.one_photo.edge import refuse_if_nothing
from fitcheck.plank.connected_parts import Earlier, Known, with_earlier
from fitcheck.plank.joint.card_views import View
from fitcheck.plank.joint.joint_solution import Joint, solve
from fitcheck.plank.joint.lap_curve import LapCurve, fit_curve
from fitcheck.plank.joint.layout import groups, lay_out, strangers
from fitcheck.plank.photo_values import PlaceOf, Strand, line_on_plank, strand_of
from fitcheck.plank.places import Places, lowest_place, place_cards
from fitcheck.plank.plank_band import Band, band_of
from fitcheck.plank.same_plank import foreign, on_one_card
from fitcheck.plank.square_looks import Looked, look_at_all

#: A view whose cards miss the joint solution by more than this many times what their points promise is none of it.
MOST_MISFIT = 9.0
#: Fewer windows with a sure line than this do not tell how the lap runs.
FEWEST_WINDOWS = 8


@dataclass(frozen=True, eq=False)
class Run:
    """Views that hang together, solved: their looks, where the cards lie, and their values.

    ``places`` is None, and ``strands`` and ``bands`` are empty, where no view shows the line.
    """

    joint: Joint
    looked: tuple[Looked, ...]
    places: Places | None = None
    strands: tuple[Strand, ...] = ()
    bands: tuple[Band, ...] = ()
    warnings: tuple[Reason, ...] = ()


def solve_runs(
    views: Sequence[View],
    settings: Settings,
    known_mm: Mapping[int, float],
    done: Callable[[], None],
    *,
    earlier: Sequence[Earlier] = (),
) -> tuple[list[View], list[Run]]:
    """The views, those that cannot be used with the reason, and the runs, the largest first."""
    views, solved = solve_joints(views)
    drop_mm = settings.witness_mm or 0.0
    known = with_earlier([joint for _, joint in solved], known_mm, earlier)
    runs = [_run(some, joint, settings, known, done) for some, joint in solved]
    other = {name: reason for run in runs for name, reason in foreign(run.looked, drop_mm).items()}
    if not other:
        return views, runs
    shown = {one.view.name: look_shown(one.look) for run in runs for one in run.looked if one.look is not None}
    # Their cards bent the joint solution: it is made again without them.
    views = [view.refused(other[view.name], shown.get(view.name, ())) if view.name in other else view for view in views]
    return solve_runs(views, settings, known_mm, lambda: None, earlier=earlier)


def solve_joints(views: Sequence[View]) -> tuple[list[View], list[tuple[list[View], Joint]]]:
    """The views, those that cannot be used with the reason, and the groups that hang together, solved, largest first.

    Sums differ in their last digit with the order of their parts, and a place whose line is just sure enough then
    falls either way; so the same photographs are solved in the same order, however they were given.
    """
    order = sorted(range(len(views)), key=lambda at: _content(views[at]))
    ordered, solved = _solved([views[at] for at in order])
    back = dict(zip(order, ordered, strict=True))
    return [back[at] for at in range(len(views))], solved


def _content(view: View) -> tuple[tuple[int, ...], str, str]:
    """What a view is, whatever its place among the others."""
    return view.numbers, "" if view.photo is None else view.photo.digest, view.name


def _solved(views: Sequence[View]) -> tuple[list[View], list[tuple[list[View], Joint]]]:
    views = _without_strangers(views)
    solved: list[tuple[list[View], Joint]] = []
    for at in _grouped(views):
        joint, left_out = _joint([views[index] for index in at])
        for k in left_out:
            views[at[k]] = views[at[k]].refused(_stranger(views[at[k]]))
        solved.append(([views[index] for k, index in enumerate(at) if k not in left_out], joint))
    return views, solved


def _grouped(views: Sequence[View]) -> list[list[int]]:
    """Indices of the usable views in groups that share cards, the largest first, of equals that of the lowest card."""
    usable = [index for index, view in enumerate(views) if view.reason is None]
    found = [[usable[k] for k in group] for group in groups([views[index] for index in usable])]
    return sorted(found, key=lambda group: (-len(group), min(min(views[index].numbers) for index in group)))


def _without_strangers(views: Sequence[View]) -> list[View]:
    views = list(views)
    for at in _grouped(views):
        for k in strangers([views[index] for index in at]):
            views[at[k]] = views[at[k]].refused(_stranger(views[at[k]]))
    return views


def in_frame(settings: Settings, joint: Joint, known_mm: Mapping[int, float]) -> Settings:
    """The settings with the gains' ends counted from the run's lowest card, as its poses count."""
    if not settings.gains:
        return settings
    start_mm = lowest_place(joint, known_mm)
    wood_mm = start_mm + float(np.mean(joint.cards[:, 0] - joint.cards[0, 0]))
    return replace(settings, gains=tuple(gain.facing(wood_mm).moved(start_mm) for gain in settings.gains))


def _joint(views: Sequence[View]) -> tuple[Joint, set[int]]:
    """The joint solution, and the indices of views that do not fit it, left out while the rest hangs together."""
    left_out: set[int] = set()
    while True:
        kept = [k for k in range(len(views)) if k not in left_out]
        joint = solve([views[k] for k in kept], lay_out([views[k] for k in kept]))
        worst = kept[int(np.argmax(joint.misfit))]
        rest = [views[k] for k in kept if k != worst]
        if joint.misfit.max() <= MOST_MISFIT or len(kept) < 3 or len(groups(rest)) > 1:
            return joint, left_out
        left_out.add(worst)


def _run(views: Sequence[View], joint: Joint, settings: Settings, known: Known, done: Callable[[], None]) -> Run:
    if settings.gains and known.tie(joint.numbers) is None:
        return Run(joint, tuple(Looked(view, reason=_gain_unplaced(view)) for view in views))
    known_mm = known.places_mm
    settings = in_frame(settings, joint, known_mm)
    looked = look_at_all(views, joint.poses, settings, done)
    drop_mm = settings.witness_mm or 0.0
    curve = _lap_curve(looked, drop_mm)
    if curve is None:
        return Run(joint, tuple(_why_not(one, settings) for one in looked))
    places = place_cards(joint, curve, known_mm, units=settings.units)
    place_of = PlaceOf(curve, places.tape, drop_mm)
    at_mm = dict(zip(places.numbers, places.plank_mm, strict=True))
    strands, bands = [], []
    for row, one in enumerate(looked):
        if one.look is None:
            continue
        cards_mm = np.array([at_mm[number] for number in one.view.numbers])
        strand = strand_of(one.view.name, one.look, settings, place_of, cards_mm)
        try:
            refuse_if_nothing(strand.samples, one.look, settings)
        except Refused as refused:
            looked[row] = replace(one, reason=refused.reason, found=look_shown(one.look))
            strand = strand.without(np.isfinite(strand.past_mm))
        strands.append(strand)
        bands.append(band_of(one.view.name, one.look, place_of, curve))
    warnings = tuple(on_one_card(looked, drop_mm))
    return Run(joint, tuple(looked), places, tuple(strands), tuple(bands), warnings)


def _lap_curve(looked: Sequence[Looked], drop_mm: float) -> LapCurve | None:
    """The lap line through all views where it is surely seen."""
    points = []
    for one in looked:
        if one.look is not None:
            sure = (one.look.line.chance >= BELIEVED) & ~one.look.covered & ~one.look.line.at_edge
            points.append(line_on_plank(one.look, one.look.aligned.along_mm[sure], drop_mm))
    every = np.concatenate(points) if points else np.empty((0, 2))
    return fit_curve(every[:, 0], every[:, 1]) if len(every) >= FEWEST_WINDOWS else None


def _why_not(one: Looked, settings: Settings) -> Looked:
    """A look without a line, with the reason."""
    if one.look is None:
        return one
    try:
        refuse_if_nothing((), one.look, settings)
    except Refused as refused:
        return Looked(one.view, one.look, refused.reason, look_shown(one.look))
    return one


def _stranger(view: View) -> Reason:
    return Reason(
        "cards-elsewhere",
        f"{view.name} shows station cards {_listed(view.numbers)} in other places than the other photographs do: they "
        "were moved, a number was used twice, or they lie on another plank. Photograph it again with the cards as they "
        "lie now.",
    )


def _gain_unplaced(view: View) -> Reason:
    return Reason(
        "gain-unplaced",
        f"Nothing tells how far the cards of {view.name} ({_listed(view.numbers)}) lie from station card 0, so nobody "
        "knows whether a gain begins there, where the plank stands less proud. Photograph from card 0 on, two cards in "
        "each, or tell the cards' places with --stations.",
    )


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, sorted(numbers)))
