"""The gains that options or the hull's settings tell, in the places that the answer counts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fitcheck.contract.gain import GainShape, read_gain
from fitcheck.contract.settings import Settings
from fitcheck.ground.bounds import contradiction
from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.tape_places import parse_place

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

GAIN_HELP = (
    "The gain at the plank's end: length, height at its start, at its end, straight or eased, as 14in,1/4in,0in,eased."
)
ENDS_HELP = "Where the gain ends along the plank; without station cards or --at, from the reference's middle (+ right)."


def with_gains(settings: Settings, told: Mapping[str, Any], hull: Hull | None) -> Settings:
    """The settings with the gains that ``told`` has under "gain" and "gain_ends", else those of the hull's settings.

    Places along the plank are those of the answer with station cards; with one reference they count from its middle,
    which lies at ``told["at_mm"]`` of the plank. A hull's gains are left out where that is not told, or no plank is.
    Raises :class:`WrongCall` for a gain that cannot be read.
    """
    gains = _of_options(told, settings) if told.get("gain") else _of_hull(told.get("plank"), hull)
    if settings.reference == "station":
        return replace(settings, gains=gains)
    at_mm, sign = told.get("at_mm"), _along_sign(told.get("plank"), hull)
    if at_mm is not None:
        gains = tuple(gain.moved(at_mm, sign) for gain in gains)
    elif not told.get("gain"):
        gains = ()
    return replace(settings, gains=tuple(gain.facing(0.0) for gain in gains))


def _of_options(told: Mapping[str, Any], settings: Settings) -> tuple[GainShape, ...]:
    gain = read_gain(told["gain"])
    steps = [(gain.start_mm, gain.finish_mm)]
    astray = contradiction(thickness_mm=settings.thickness_mm, lap_mm=None, gains_mm=steps)
    if astray:
        raise WrongCall(f"--gain {told['gain']}: {astray}")
    if told.get("gain_ends") is None:
        return (gain,)
    return (replace(gain, end_mm=parse_place(told["gain_ends"]), toward=0),)


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


def need_ends(told: Mapping[str, Any]) -> None:
    """Raise :class:`WrongCall` for a gain without its end, or an end without a gain."""
    if (told.get("gain") is None) != (told.get("gain_ends") is None):
        raise WrongCall("--gain and --gain-ends go together: how the step runs out, and where it ends along the plank")
