"""The answer in three lines at the most, for where a picture follows and the whole of it comes after."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.advice.planing.advice_in_parts import unused
from fitcheck.advice.states import stretches
from fitcheck.contract.measurement import STATES_WITH_VALUE, Measurement
from fitcheck.report.edge.answer import planing_lines
from fitcheck.report.edge.part_words import unused_lines
from fitcheck.report.edge.wording import Wording

MOST_LINES = 3


def gist(measurement: Measurement, wording: Wording) -> tuple[list[str], list[str]]:
    """What to do and which photographs were not used: the lines that come first, and the lines that come after.

    All come first where they are three or fewer. Else they are summed up, and every line comes after.

    >>> fit = Measurement("measured", {}, planing={"verdict": "plane", "short": [], "cuts": [
    ...     {"from_mm": at, "to_mm": at + 100.0, "deepest_mm": 0.9} for at in (0.0, 300.0, 600.0, 900.0)]})
    >>> first, after = gist(fit, Wording())
    >>> first, len(after)
    (['plane in 4 places, 1/32 in at the deepest'], 4)
    """
    every = [*planing_lines(measurement.planing, wording), *unused_lines(measurement)]
    if len(every) <= MOST_LINES:
        return every, []
    planing = measurement.planing or {}
    move = [one["text"] for one in planing.get("warnings", ()) if one["code"] == "move-first"]
    lost = _unused(measurement)
    first = [*move, *_short(measurement, wording), *_cuts(measurement, wording)]
    return [*first[: MOST_LINES - len(lost)], *lost], every


def summed_up(measurement: Measurement, wording: Wording) -> list[str]:
    """What is to be planed, what is short and what was not measured, each in one line at the most.

    >>> advice = {"verdict": "plane", "cuts": [{"deepest_mm": 0.9}, {"deepest_mm": 0.2}], "short": []}
    >>> summed_up(Measurement("measured", {}, planing=advice), Wording())
    ['plane in 2 places, 1/32 in at the deepest']
    """
    unseen = [run for run in stretches(measurement.samples) if run.label not in STATES_WITH_VALUE]
    lines = [*_short(measurement, wording), *_cuts(measurement, wording)]
    if unseen:
        lines.append(f"not measured: {wording.stretch_length(sum(run.length_mm for run in unseen))} in all")
    return lines


def _cuts(measurement: Measurement, wording: Wording) -> list[str]:
    cuts = (measurement.planing or {}).get("cuts", ())
    if not cuts:
        return []
    deepest = wording.depth(max(float(cut["deepest_mm"]) for cut in cuts))
    return [f"plane {_places(cuts)}, {deepest} at the deepest"]


def _short(measurement: Measurement, wording: Wording) -> list[str]:
    planing = measurement.planing or {}
    short = planing.get("short_now", planing.get("short", ()))
    if not short:
        return []
    return [f"short {_places(short)}, by up to {wording.length(max(run['most_mm'] for run in short))}"]


def _unused(measurement: Measurement) -> list[str]:
    names = [str(photo.get("name", "")) for photo in unused(measurement)] if len(measurement.photos) > 1 else []
    return [f"not used: {', '.join(names)}"] if names else []


def _places(runs: Sequence[object]) -> str:
    return "in 1 place" if len(runs) == 1 else f"in {len(runs)} places"
