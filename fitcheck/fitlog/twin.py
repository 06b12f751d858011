"""Port against starboard: the two sides of one strake, mirrored, as seen from the bow."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from fitcheck.fitlog import queries
from fitcheck.fitlog.differ import Changed, Difference, changed, differences, sure_factor
from fitcheck.fitlog.fit_profile import Sample, grid_mm, nearest
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.queries import Fit
from fitcheck.fitlog.summary import profiles_of
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.hull.plank_name import PlankName, extent_mm
from fitcheck.hull.settings_file import Hull


@dataclass(frozen=True)
class Twin:
    """The latest fits of both sides at the same distance from the bow; differences are starboard less port."""

    port: Fit
    starboard: Fit
    raw: tuple[Difference, ...]
    factor: float
    changed: tuple[Changed, ...]
    port_profile: tuple[Sample, ...]
    starboard_profile: tuple[Sample, ...]


def twin(connection: sqlite3.Connection, plank: PlankName, hull: Hull) -> Twin:
    """Lay the latest fit of a plank beside that of its twin; either side may be named.

    Places are distances from the bow: where a side's cards are numbered from the stern they are turned about the
    plank's far end, which must be told. Past and short need no turning, being told toward keel and sheer. Raises
    :class:`WrongCall` where a side is not on record, :class:`Refused` where the two have no places in common.
    """
    sides = {name.side: name for name in (plank, plank.twin())}
    fits, profiles = {}, {}
    for side, name in sides.items():
        fits[side] = queries.fit(connection, name)
        profiles[side] = _from_bow(connection, fits[side], hull)
    raw = differences(profiles["port"], profiles["starboard"])
    if not raw:
        raise Refused(
            "no-common-places",
            f"Strake {plank.strake} has no measured place in common on both sides: photograph the same stretch.",
        )
    both = (tuple(profiles["port"]), tuple(profiles["starboard"]))
    return Twin(fits["port"], fits["starboard"], tuple(raw), sure_factor(raw), tuple(changed(raw)), *both)


def _from_bow(connection: sqlite3.Connection, fit: Fit, hull: Hull) -> list[Sample]:
    frame, profiles = profiles_of(connection, fit.id, terms_of(fit.plank, hull))
    if frame == "photo":
        raise Refused(
            "places-not-known",
            f"The latest fit of {fit.plank} has no places along the plank: photograph with station cards, "
            "or tell where the reference lay (--at) when recording.",
        )
    profile = profiles[0] if profiles else []
    if hull.stations.end_of(fit.plank.side) == "bow":
        return profile
    end_mm = extent_mm(fit.plank, hull)[1]
    if end_mm is None:
        raise WrongCall(
            f"the cards of {fit.plank} are numbered from the stern: tell its 'to' in {hull.path.name} to turn it about"
        )
    return _turned(profile, end_mm)


def _turned(profile: list[Sample], end_mm: float) -> list[Sample]:
    turned = [Sample(end_mm - s.place_mm, s.past_line_mm, s.u95_mm, s.state) for s in reversed(profile)]
    keys = [sample.place_mm for sample in turned]
    if not keys:
        return []
    near = [(place_mm, nearest(turned, keys, place_mm)) for place_mm in grid_mm(keys[0], keys[-1])]
    return [Sample(place_mm, s.past_line_mm, s.u95_mm, s.state) for place_mm, s in near if s is not None]
