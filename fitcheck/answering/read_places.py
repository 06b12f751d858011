"""Where the reference and its cards lie along the plank, from text, the hull's settings and the record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.ground.refusal import WrongCall
from fitcheck.reference.kinds import reference_kind

if TYPE_CHECKING:
    from fitcheck.contract.settings import Settings
    from fitcheck.hull.settings_file import Hull
    from fitcheck.plank.connected_parts import Earlier


def place_at(at: str | None, plank: str | None, hull: Hull | None) -> float | None:
    """The place that ``--at`` tells, in mm along the plank; None where it is not told.

    Raises WrongCall for what is no place, or one beyond the ends of the plank.
    """
    from fitcheck.fitlog.ends import need_on_plank
    from fitcheck.ground.tape_places import parse_place
    from fitcheck.hull.plank_name import read_plank

    if at is None:
        return None
    at_mm = parse_place(at)
    if plank is not None and hull is not None:
        need_on_plank(read_plank(plank, hull), hull, at_mm, at_mm, "--at")
    return at_mm


def with_tape(settings: Settings, plank: str | None, at_mm: float | None, hull: Hull | None) -> Settings:
    """The settings with what turns places into the tape's: where the reference lay, the tape's sense, the plank's ends.

    Which way the tape runs goes by the plank's side; where that is not told, places stay left and right of the
    reference.
    """
    from fitcheck.fitlog.recording import along_sign
    from fitcheck.hull.plank_name import extent_mm, read_plank

    settings = replace(settings, tape=hull.tape_style if hull else "")
    try:
        name = None if plank is None else read_plank(plank, hull)
    except WrongCall:
        # Without a hull's settings a plank may be called anything.
        name = None
    if name is None:
        return settings
    low_mm, high_mm = extent_mm(name, hull)
    ends_mm = None if low_mm is None or high_mm is None else (low_mm, high_mm)
    return replace(settings, at_mm=at_mm, along_sign=along_sign(name.side, hull), ends_mm=ends_mm)


def known_places(stations: Path | None, reference: str, hull: Hull | None) -> Mapping[int, float]:
    """Where station cards lie, in mm by number: from the file given, else from the hull's settings; empty if nowhere.

    Raises :class:`WrongCall` for a file that cannot be read, or one that is given where no station cards are.
    """
    from fitcheck.plank.stations_file import read_stations

    if not reference_kind(reference, edge_on=True).joins:
        if stations is not None:
            raise WrongCall(f"--stations {stations} tells where station cards lie, and the reference is {reference}")
        return {}
    path = stations if stations is not None or hull is None else hull.stations_path
    if path is not None:
        return read_stations(path)
    return dict(hull.stations.places_mm) if hull else {}


def earlier_of(hull: Hull | None, settings: Settings) -> Sequence[Earlier]:
    """Where earlier photographs on record of the same plank put its station cards; nothing without any."""
    if hull is None or settings.plank is None or not reference_kind(settings.reference, edge_on=True).joins:
        return []
    from fitcheck.fitlog.recorded_parts import earlier_sets
    from fitcheck.hull.plank_name import read_plank

    return earlier_sets(hull.db_path, read_plank(settings.plank, hull))
