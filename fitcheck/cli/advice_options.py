"""What the builder tells of the planing: how far the plank may move, what its ends do, how wood is taken off."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from fitcheck.cli.options import swing_of
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from fitcheck.hull.settings_file import Hull

#: No plank moves further in its clamps than this, in mm and in mm a metre.
MOST_MOVE_MM = 1000.0


def advice_options(
    *, may_slide: str | None, may_swing: str | None, ends: str, prefer: str, edge_line: str, hull: Hull | None
) -> dict[str, Any]:
    """Keywords of :func:`fitcheck.advice.planing.planing_advice.advise` from what was typed and the hull's limits.

    Raises :class:`WrongCall`, before anything is measured, for what is none of the choices or no move.
    """
    from fitcheck.advice.planing.planing_advice import ENDS, LINE_SHARE, PREFER

    options = {
        "may_slide_mm": None if may_slide is None else _move("--may-slide", may_slide, parse_length(may_slide)),
        "may_swing_mm_per_m": None if may_swing is None else _move("--may-swing", may_swing, swing_of(may_swing)),
        "ends": _chosen("--ends", ends, ENDS),
        "prefer": _chosen("--prefer", prefer, PREFER),
        "edge_takes_line": _chosen("--edge-line", edge_line, LINE_SHARE),
    }
    return options if hull is None else {**options, "look_again_mm": hull.limits.unseen_mm}


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
