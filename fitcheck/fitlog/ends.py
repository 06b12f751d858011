"""Whether what is told of a plank lies on it, by the ends that the hull's settings tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.tape_places import format_place
from fitcheck.hull.plank_name import PlankName, extent_mm

if TYPE_CHECKING:
    from fitcheck.fitlog.recorded_input import Take
    from fitcheck.hull.settings_file import Hull

#: A place read off the tape may lie this far beyond the end it was read at.
TAPE_SLACK_MM = 6.0
#: A photograph of a plank's end may show places as far beyond it as card, tape and the end's own cut are off together.
PHOTO_SLACK_MM = 75.0


def need_on_plank(name: PlankName, hull: Hull | None, from_mm: float, to_mm: float, what: str) -> None:
    """Raise :class:`WrongCall` where ``what``, told from place to place by the tape, lies beyond an end of the plank.

    An end that the settings do not tell bounds nothing.
    """
    low_mm, high_mm = extent_mm(name, hull)
    _need_inside((from_mm, to_mm), (low_mm, high_mm), TAPE_SLACK_MM, f"{what} lies beyond the end of {name}", hull)


def need_lap_on_strake(name: PlankName, hull: Hull | None, take: Take) -> str:
    """What is to be said of a lap that was measured beyond the strake's ends; nothing where it was not.

    Raises :class:`WrongCall` where its places cannot be right: told by ``--at``, or most of them beyond the ends. By
    station cards a plank that is not yet cut to length may run further, which is judged only within its ends. Beside a
    scarf the next plank of the strake may be in the picture, so the whole strake bounds it.
    """
    low_mm, high_mm = _strake_ends_mm(name, hull)
    inside = [low_mm is None or at >= low_mm for at in take.places_mm()]
    inside = [one and (high_mm is None or at <= high_mm) for one, at in zip(inside, take.places_mm(), strict=True)]
    try:
        span = min(take.places_mm()), max(take.places_mm())
        _need_inside(span, (low_mm, high_mm), PHOTO_SLACK_MM, "the lap measured runs past the end", hull)
    except WrongCall as beyond:
        if take.at_mm is not None or sum(inside) < len(inside) / 2:
            raise
        return f"what lies beyond an end is not judged. {beyond}"
    return ""


def _strake_ends_mm(name: PlankName, hull: Hull | None) -> tuple[float | None, float | None]:
    strake = hull.strake(name.strake) if hull else None
    parts = [part.name for part in strake.parts] if strake else []
    ends = [extent_mm(PlankName(name.strake, name.side, part), hull) for part in parts or [name.part]]
    lows, highs = [low for low, _ in ends if low is not None], [high for _, high in ends if high is not None]
    return min(lows) if len(lows) == len(ends) else None, max(highs) if len(highs) == len(ends) else None


def _need_inside(
    told: tuple[float, float], ends: tuple[float | None, float | None], slack_mm: float, fault: str, hull: Hull | None
) -> None:
    (from_mm, to_mm), (low_mm, high_mm) = told, ends
    if (low_mm is None or from_mm >= low_mm - slack_mm) and (high_mm is None or to_mm <= high_mm + slack_mm):
        return

    def said(mm: float | None) -> str:
        return "an end not told" if mm is None else _place(mm, hull)

    where = _place(from_mm, hull) if from_mm == to_mm else f"{_place(from_mm, hull)} to {_place(to_mm, hull)}"
    raise WrongCall(
        f"{where}: {fault}; {hull.path.name if hull else 'the settings'} has it from {said(low_mm)} to "
        f"{said(high_mm)}. Check the place on the tape, or the plank's from and to there"
    )


def _place(mm: float, hull: Hull | None) -> str:
    units, tape = (hull.units, hull.tape_style) if hull else ("in", "")
    return format_place(mm, units=units, tape=tape)
