"""How far the plank may move, what its ends do and how wood is taken off, read from text."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from fitcheck.answering.given import GivenMove
from fitcheck.answering.request import PlaningTerms
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: No plank moves further in its clamps than this, in mm and in mm a metre.
MOST_MOVE_MM = 1000.0


def read_planing(given: GivenMove, hull: Hull | None = None, plank: str | None = None) -> PlaningTerms:
    """The terms of planing from what was typed, the hull's limits and the plank's length.

    Raises :class:`WrongCall`, before anything is measured, for what is none of the choices or no move.
    """
    from fitcheck.advice.planing.planing_advice import ENDS, LINE_SHARE, PREFER

    slide, swing = given.may_slide, given.may_swing
    terms = PlaningTerms()
    return PlaningTerms(
        may_slide_mm=None if slide is None else _move("--may-slide", slide, parse_length(slide)),
        may_swing_mm_per_m=None if swing is None else _move("--may-swing", swing, swing_of(swing)),
        ends=_chosen("--ends", given.ends, ENDS),
        prefer=_chosen("--prefer", given.prefer, PREFER),
        edge_takes_line=_chosen("--edge-line", given.edge_line, LINE_SHARE),
        plank_length_mm=_plank_length_mm(hull, plank),
        look_again_mm=terms.look_again_mm if hull is None else hull.limits.unseen_mm,
    )


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


def _plank_length_mm(hull: Hull | None, plank: str | None) -> float | None:
    """How long the plank's lap is, where the hull's settings tell its ends."""
    if hull is None or plank is None:
        return None
    from fitcheck.hull.plank_name import extent_mm, read_plank

    from_mm, to_mm = extent_mm(read_plank(plank, hull), hull)
    return None if from_mm is None or to_mm is None else to_mm - from_mm


def _chosen(option: str, told: str, choices: Iterable[str]) -> str:
    if told not in choices:
        raise WrongCall(f"{option} {told!r}: give {' or '.join(_listed(list(choices)))}")
    return told


def _listed(choices: list[str]) -> list[str]:
    return [", ".join(choices[:-1]), choices[-1]]


def _move(option: str, told: str, move_mm: float) -> float:
    if move_mm >= MOST_MOVE_MM:
        raise WrongCall(f"{option} {told}: no plank moves so far in its clamps")
    return move_mm
