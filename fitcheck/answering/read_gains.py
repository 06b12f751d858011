"""The gains that are given, or that the hull's settings tell, in the places that the answer counts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fitcheck.answering.given import Given
from fitcheck.contract.gain import GainShape, read_gain
from fitcheck.contract.settings import Settings
from fitcheck.ground.bounds import contradiction
from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.tape_places import parse_place
from fitcheck.reference.kinds import reference_kind

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull


def with_gains(settings: Settings, given: Given, at_mm: float | None, hull: Hull | None) -> Settings:
    """The settings with the gains that are given, else those of the hull's settings.

    Places along the plank are those of the answer with station cards; with one reference they count from its middle,
    which lies at ``at_mm`` of the plank. A hull's gains are left out where that is not told, or no plank is. Raises
    :class:`WrongCall` for a gain that cannot be read.
    """
    gains = _of_text(given.gain, given.gain_ends, settings) if given.gain else _of_hull(given.plank, hull)
    if reference_kind(settings.reference, edge_on=True).joins:
        return replace(settings, gains=gains)
    sign = _along_sign(given.plank, hull)
    if at_mm is not None:
        gains = tuple(gain.moved(at_mm, sign) for gain in gains)
    elif not given.gain:
        gains = ()
    return replace(settings, gains=tuple(gain.facing(0.0) for gain in gains))


def _of_text(text: str, ends: str | None, settings: Settings) -> tuple[GainShape, ...]:
    gain = read_gain(text)
    steps = [(gain.start_mm, gain.finish_mm)]
    astray = contradiction(thickness_mm=settings.thickness_mm, lap_mm=None, gains_mm=steps)
    if astray:
        raise WrongCall(f"--gain {text}: {astray}")
    return (gain,) if ends is None else (replace(gain, end_mm=parse_place(ends), toward=0),)


def _of_hull(plank: str | None, hull: Hull | None) -> tuple[GainShape, ...]:
    """The gains at the ends of a plank of the hull, where the settings tell its ends."""
    if hull is None or plank is None:
        return ()
    from fitcheck.hull.plank_name import extent_mm, read_plank

    name = read_plank(plank, hull)
    low_mm, high_mm = extent_mm(name, hull)
    low_end = hull.stations.end_of(name.side)
    found = []
    for end, gain in (("bow", hull.gains.bow), ("stern", hull.gains.stern)):
        place_mm, toward = (low_mm, -1) if end == low_end else (high_mm, 1)
        if gain is not None and place_mm is not None:
            found.append(GainShape(gain.length_mm, gain.start_mm, gain.finish_mm, gain.form, place_mm, toward))
    return tuple(found)


def _along_sign(plank: str | None, hull: Hull | None) -> int:
    if plank is None:
        return 1
    from fitcheck.fitlog.recording import along_sign
    from fitcheck.hull.plank_name import read_plank

    return along_sign(read_plank(plank, hull).side, hull)


def need_ends(given: Given) -> None:
    """Raise :class:`WrongCall` for a gain without its end, or an end without a gain."""
    if (given.gain is None) != (given.gain_ends is None):
        raise WrongCall("--gain and --gain-ends go together: how the step runs out, and where it ends along the plank")
