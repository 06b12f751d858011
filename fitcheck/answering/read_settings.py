"""The settings of a measurement, read once from text and from the hull's settings file."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fitcheck.answering.given import Given
from fitcheck.contract.hints import Hints
from fitcheck.contract.settings import Settings
from fitcheck.ground.bounds import BOUNDS_MM, contradiction
from fitcheck.ground.easing import read_easing
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.small_lengths import format_blade

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: What is given as a length: the setting's name, and between which mm it may lie.
LENGTHS = {name: (f"{name}_mm", *BOUNDS_MM[name]) for name in ("thickness", "lap", "witness", "limit")}


def read_settings(given: Given, hull: Hull | None = None, *, edge_on: bool = False) -> Settings:
    """The settings that are given; what is not is the hull's, then the program's. Gains and the tape are not in them.

    Of an ``edge_on`` view whose reference nobody gives, the plank's thickness is the scale. Raises
    :class:`WrongCall` for a setting that is missing or cannot be.
    """
    from fitcheck.ground.lengths import check_units
    from fitcheck.reference.kinds import reference_kind

    found = _hull_defaults(hull, given.plank)
    for option, (name, least_mm, most_mm) in LENGTHS.items():
        text = getattr(given, option)
        if text is not None:
            found[name] = sized(option, text, least_mm, most_mm)
    if given.bevel is not None:
        found["bevel_deg"] = bevel_of(given.bevel)
    if given.eased is not None:
        found["eased_mm"] = read_easing(given.eased)
    found |= _as_given(given)
    found["hints"] = _hints(given.hints, found.get("hints", Hints()))
    _need(found, hull, edge_on=edge_on)
    settings = Settings(**{name: value for name, value in found.items() if value is not None})
    check_units(settings.units, settings.fraction)
    reference_kind(settings.reference, edge_on=edge_on)
    astray = contradiction(thickness_mm=settings.thickness_mm, lap_mm=settings.lap_mm, limit_mm=settings.limit_mm)
    if astray:
        raise WrongCall(f"this cannot be: {astray}")
    return settings


def _as_given(given: Given) -> dict[str, Any]:
    taken = {name: getattr(given, name) for name in ("reference", "units", "fraction", "plank")}
    return {name: value for name, value in taken.items() if value is not None}


def _hints(given: Hints, of_hull: Hints) -> Hints:
    return given if given.keel is not None else replace(given, keel=of_hull.keel)


def _need(found: dict[str, Any], hull: Hull | None, *, edge_on: bool) -> None:
    from fitcheck.reference.kinds import THICKNESS

    if edge_on and found.get("reference") is None:
        found["reference"] = THICKNESS.name
    for option, name in (("reference", "reference"), ("thickness", "thickness_mm")):
        if found.get(name) is None:
            where = f"{option!r} in {hull.path}" if hull else "a hull's settings file here: fitcheck new writes one"
            raise WrongCall(f"--{option} is needed, or {where}")


def _hull_defaults(hull: Hull | None, plank: str | None) -> dict[str, Any]:
    if hull is None:
        return {}
    from fitcheck.hull.plank_name import read_plank

    return hull.defaults(read_plank(plank, hull).strake if plank else None)


def sized(option: str, text: str, least_mm: float, most_mm: float) -> float:
    """A length in mm from an option's text, within bounds. Raises WrongCall outside them.

    >>> sized("lap", "1in", 5.0, 200.0)
    25.4
    """
    size = parse_length(text)
    if not least_mm <= size <= most_mm:
        # Said in the units it was told in.
        units = "mm" if "m" in text.lower() else "in"
        low, high = (format_blade(bound, units=units) for bound in (least_mm, most_mm))
        raise WrongCall(f"--{option} {text}: between {low} and {high} is needed")
    return size


def bevel_of(text: str) -> float:
    """A bevel in degrees from text such as ``6deg``, ``6°`` or ``6``. Raises WrongCall beyond 0 to 30 degrees.

    >>> bevel_of("6.5deg")
    6.5
    """
    try:
        bevel = float(text.strip().removesuffix("deg").removesuffix("°"))
    except ValueError:
        raise WrongCall(f"--bevel {text!r}: give an angle such as 6deg") from None
    if not 0.0 <= bevel <= 30.0:
        raise WrongCall(f"--bevel {text}: between 0 and 30 degrees is needed; laps lie between 2 and 12")
    return bevel
