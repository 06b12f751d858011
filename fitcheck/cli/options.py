"""Settings from options and from the hull's settings file, as text read once at the rim."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.contract.settings import Settings
from fitcheck.ground.bounds import BOUNDS_MM, contradiction
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.small_lengths import format_blade

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull
    from fitcheck.plank.connected_parts import Earlier

#: Options that are lengths: the setting's name, and between which mm it may lie.
LENGTHS = {name: (f"{name}_mm", *BOUNDS_MM[name]) for name in ("thickness", "lap", "witness", "limit")}


#: Where station cards lie, in mm by number; None where nobody told.
Known = Mapping[int, float] | None

SWING_HELP = 'How far one end may still swing, as "1/8in over 10ft"; a length alone is for a metre of plank.'


def settings_of(told: Mapping[str, Any], hull: Hull | None = None) -> Settings:
    """The settings that options ask for; what is not told is the hull's, then the program's.

    Raises WrongCall for one that is missing or cannot be.
    """
    from fitcheck.ground.lengths import check_units
    from fitcheck.reference.kinds import card_kind

    told = {name: value for name, value in told.items() if value is not None}
    found = _hull_defaults(hull, told.get("plank"))
    for option, (name, least_mm, most_mm) in LENGTHS.items():
        if option in told:
            found[name] = sized(option, told[option], least_mm, most_mm)
    found |= {name: told[name] for name in ("reference", "keel", "units", "fraction", "plank") if name in told}
    if "bevel" in told:
        found["bevel_deg"] = bevel_of(told["bevel"])
    found["line_at_px"] = tuple(_place(text, "--line-at") for text in told.get("line_at", ()))
    found["edge_at_px"] = tuple(_place(text, "--edge-at") for text in told.get("edge_at", ()))
    for option, name in (("reference", "reference"), ("thickness", "thickness_mm")):
        if found.get(name) is None:
            where = f"{option!r} in {hull.path}" if hull else "a hull's settings file here: fitcheck new writes one"
            raise WrongCall(f"--{option} is needed, or {where}")
    settings = Settings(**{name: value for name, value in found.items() if value is not None})
    if settings.keel not in ("auto", "down", "up"):
        raise WrongCall(f"--keel {settings.keel!r}: give down, up or auto")
    check_units(settings.units, settings.fraction)
    card_kind(settings.reference)
    astray = contradiction(thickness_mm=settings.thickness_mm, lap_mm=settings.lap_mm, limit_mm=settings.limit_mm)
    if astray:
        raise WrongCall(f"this cannot be: {astray}")
    return settings


def hull_or_none() -> Hull | None:
    """The hull whose settings file lies here or above, if there is one."""
    from fitcheck.hull.settings_file import find_hull, load_hull

    path = find_hull()
    return None if path is None else load_hull(path)


def earlier_of(hull: Hull | None, plank: str | None, reference: str) -> Sequence[Earlier]:
    """Where earlier photographs on record of the plank told put its station cards; nothing without any."""
    if hull is None or plank is None or reference != "station":
        return []
    from fitcheck.fitlog.recorded_parts import earlier_sets
    from fitcheck.hull.plank_name import read_plank

    return earlier_sets(hull.db_path, read_plank(plank, hull))


def file_option(told: Path | None, of_hull: Path | None) -> Path | None:
    """A file told on the command line, else the hull's."""
    return told if told is not None else of_hull


def known_places(told: Path | None, reference: str, hull: Hull | None) -> Known:
    """Where station cards lie, in mm by number: from a file told on the command line, else from the hull's settings.

    Raises :class:`WrongCall` for a file that cannot be read, or one that is told where no station cards are.
    """
    from fitcheck.plank.stations_file import read_stations

    if reference != "station":
        if told is not None:
            raise WrongCall(f"--stations {told} tells where station cards lie, and the reference is {reference}")
        return None
    path = file_option(told, hull.stations_path if hull else None)
    if path is not None:
        return read_stations(path)
    return dict(hull.stations.places_mm) or None if hull else None


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


def swing_of(text: str) -> float:
    """How far an end may swing, in mm a metre, from text such as ``1/8in over 10ft``; alone it is for a metre.

    >>> swing_of("2mm"), swing_of("1/8in over 10ft")
    (2.0, 1.0416666666666667)
    """
    much, over, length = text.partition(" over ")
    reach_mm = parse_length(length) if over else 1000.0
    if reach_mm <= 0:
        raise WrongCall(f"--may-swing {text!r}: tell how far over how much plank, as 1/8in over 10ft")
    return parse_length(much) * 1000.0 / reach_mm


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


def _place(text: str, option: str) -> tuple[float, float]:
    try:
        u, v = (float(part) for part in text.split(","))
    except ValueError:
        u = v = math.nan
    if not (math.isfinite(u) and math.isfinite(v)):
        raise WrongCall(f"{option} {text!r}: give a place in pixels, as 1020,766")
    return u, v
