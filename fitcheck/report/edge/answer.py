"""The answer in sentences and rows: what every face of the report says, said once here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fitcheck.advice.cut_depth import depth_at
from fitcheck.advice.headline import HEADLINES, headline_of
from fitcheck.advice.states import WHY, Summary, stretches, summary
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.report.edge.seen import measured_line, unseen_line
from fitcheck.report.edge.wording import Wording

#: How wood is told that is not asked for yet.
LATER = "only after that, there might come off"
#: Warnings that stand among the lines of the answer, not below among the notes.
_TOLD_ABOVE = ("move-first", "slide-tried", "see-the-rest", "short-too")
#: Rows of a table, from close to wide: the first that keeps it short enough to read at the bench is taken.
ROW_STEPS = {"in": (25.4, 50.8, 76.2, 152.4, 304.8, 609.6), "mm": (25.0, 50.0, 100.0, 200.0, 500.0)}
MOST_ROWS = 26


@dataclass(frozen=True)
class Row:
    """One line of the table: the place, how the edge lies there, what follows, and the state behind it."""

    at_mm: float
    place: str
    edge: str
    means: str
    state: str


def verdict_words(planing: Mapping[str, Any] | None) -> tuple[str, str]:
    """The verdict as a headline and what it asks of the builder.

    >>> verdict_words({"verdict": "plane"})[0]
    'PLANE'
    """
    headline = headline_of(planing) if planing else None
    return HEADLINES[headline] if headline else ("MEASURED", "No planing advice was worked out.")


def planing_lines(planing: Mapping[str, Any] | None, wording: Wording) -> list[str]:
    """What move comes first, where the edge is short, and what is or might then be planed, a line each.

    >>> planing_lines({"cuts": [{"from_mm": 50.8, "to_mm": 133.35, "deepest_mm": 0.8}], "short": []}, Wording())
    ['plane 1/32 in at the deepest, from 2 in to 5-1/4 in']
    """
    if not planing:
        return []
    said = planing.get("warnings", ())
    first = planing.get("first")
    short = [
        f"short by up to {_most_short(run, wording)}, {_counted(run, wording)}"
        for run in _in_order(planing.get("short_now", planing["short"]), wording)
    ]
    then = "then plane" if first == "short" else "plane"
    cuts = [f"{then} {_deepest(cut, wording)}" for cut in _in_order(planing["cuts"], wording)]
    later = _in_order(planing.get("might_plane", ()), wording)
    might = [f"{LATER} about {_deepest(cut, wording)}" for cut in later]
    tried = [one["text"] for code in ("slide-tried", "see-the-rest") for one in said if one["code"] == code]
    move = [one["text"] for one in said if one["code"] == "move-first"]
    return [*move, *short, *cuts, *might] if first == "slide" else [*short, *tried, *move, *cuts, *might]


def _in_order(stretches: Sequence[Mapping[str, Any]], wording: Wording) -> list[Mapping[str, Any]]:
    """The stretches in the order in which the rows of the table run."""
    return sorted(stretches, key=lambda one: (one.get("part") or 0, float(one["from_mm"])), reverse=not wording.rising)


def _most_short(run: Mapping[str, Any], wording: Wording) -> str:
    """How far short a stretch is at its worst place, as the row of that place says it."""
    u95_mm = run.get("most_u95_mm")
    said = "" if u95_mm is None else wording.past(-run["most_mm"], u95_mm)
    return said.removeprefix("short ") if said.startswith("short ") else wording.length(run["most_mm"])


def _deepest(cut: Mapping[str, Any], wording: Wording) -> str:
    return f"{wording.depth(cut['deepest_mm'])} at the deepest, {_counted(cut, wording)}"


def _counted(stretch: Mapping[str, Any], wording: Wording) -> str:
    """From where to where, and from which card that counts where a plank is in parts or nothing ties it to card 0."""
    card = stretch.get("from_card")
    said = replace(wording, from_card=card or 0).span(stretch["from_mm"], stretch["to_mm"])
    return said if card is None else f"{said}, counted from card {card}"


def summary_lines(measurement: Measurement, wording: Wording) -> list[str]:
    """The extremes, the share measured, and what is unseen and why, a line each."""
    lines = extreme_lines(measurement, wording)
    if measurement.samples:
        lines.append(measured_line(measurement, wording))
        lines.append(unseen_line(measurement, wording))
    return [line for line in lines if line]


def extreme_lines(measurement: Measurement, wording: Wording) -> list[str]:
    """Where the edge is furthest past the line and where furthest short of it, a line each."""
    fit = summary(measurement.samples)
    return [_extreme_line(fit, wording, side) for side in ("past", "short")]


def _extreme_line(fit: Summary, wording: Wording, side: str) -> str:
    extreme = fit.longest_past if side == "past" else fit.longest_short
    if extreme is None:
        return f"nowhere {side} of the line" if side == "short" else "nowhere past the line"
    name = "longest" if side == "past" else "shortest"
    return f"{name}: {wording.past(extreme.past_line_mm, extreme.u95_mm)}, at {wording.place(extreme.at_mm)}"


def rows(
    measurement: Measurement, wording: Wording, *, step_mm: float | None = None, also_mm: Sequence[float] = ()
) -> list[Row]:
    """The table along the lap: a row each ``step_mm`` (chosen by the length unless given), and at the extremes.

    Places ``also_mm`` get a row too, instead of one close by. A row takes the sample nearest its place. Rows run as the
    picture shows the lap, left to right, or up from card 0.
    """
    samples = sorted(measurement.samples, key=Sample.place_mm)
    if not samples:
        return []
    places = np.array([sample.place_mm() for sample in samples])
    fit = summary(samples)
    extremes = [e.at_mm for e in (fit.longest_past, fit.longest_short) if e is not None]
    wanted = [*_row_places(places, wording, step_mm, also_mm), *extremes, *also_mm]
    chosen = {int(np.abs(places - at).argmin()) for at in wanted}
    order = [samples[i] for i in sorted(chosen, reverse=not wording.rising)]
    return _told_apart([_row(sample, measurement.planing, wording) for sample in order], order, wording)


def _told_apart(found: list[Row], samples: Sequence[Sample], wording: Wording) -> list[Row]:
    """The rows, those that would print alike but do not follow alike said more finely."""
    follow: dict[str, set[str]] = {}
    for row in found:
        follow.setdefault(row.edge, set()).add(row.means)
    return [
        row
        if len(follow[row.edge]) == 1 or sample.past_line_mm is None or sample.u95_mm is None
        else replace(row, edge=wording.past_finely(sample.past_line_mm, sample.u95_mm))
        for row, sample in zip(found, samples, strict=True)
    ]


def _row_places(places: np.ndarray, wording: Wording, step_mm: float | None, also_mm: Sequence[float]) -> list[float]:
    low, high = float(places[0]), float(places[-1])
    steps = (step_mm,) if step_mm else ROW_STEPS[wording.units]
    step = next((s for s in steps if (high - low) / s < MOST_ROWS), steps[-1])
    regular = wording.round_places(low, high, step)
    return [at for at in regular if all(abs(at - other) > step / 4 for other in also_mm)]


def _row(sample: Sample, planing: Mapping[str, Any] | None, wording: Wording) -> Row:
    at = sample.place_mm()
    if sample.past_line_mm is None or sample.u95_mm is None:
        return Row(at, wording.place(at), "—", f"{sample.state}: {WHY[sample.state]}", sample.state)
    edge = wording.past(sample.past_line_mm, sample.u95_mm)
    depth = depth_at(planing["cuts"] if planing else (), at)
    if depth > 0:
        means = f"plane {wording.depth(depth)}"
    elif sample.state in ("past", "short") and planing and planing.get("first") == "slide":
        means = "slide first"
    else:
        means = sample.state
    return Row(at, wording.place(at), edge, means, sample.state)


def measured_runs(samples: Sequence[Sample]) -> list[list[Sample]]:
    """Samples in order, in runs that have a number throughout and no gap between neighbours."""
    ordered = sorted(samples, key=Sample.place_mm)
    runs = stretches(ordered, ["seen" if s.past_line_mm is not None else "none" for s in ordered])
    return [
        [s for s in ordered if run.from_mm <= s.place_mm() <= run.to_mm and s.past_line_mm is not None]
        for run in runs
        if run.label == "seen"
    ]


def warning_lines(measurement: Measurement) -> list[str]:
    """Every warning of the measurement and of its advice, once, but for those that stand with the cuts."""
    texts = [warning.text for warning in measurement.warnings]
    texts += [w["text"] for w in (measurement.planing or {}).get("warnings", ()) if w["code"] not in _TOLD_ABOVE]
    return list(dict.fromkeys(texts))


def title(measurement: Measurement) -> str:
    """The plank's name, or what was photographed where it has none."""
    named = measurement.settings.get("plank")
    photos = [str(photo.get("name", "")) for photo in measurement.photos]
    one_lap = measurement.part is None and any(sample.plank_mm is None for sample in measurement.samples)
    several = f"{len(photos)} photographs of one lap" if one_lap else "One plank"
    whole = str(named or (photos[0] if len(photos) == 1 and photos[0] else several))
    part = measurement.part
    return whole if part is None or part.of == 1 else f"{whole}, {part.words}"


def limit_line(measurement: Measurement, wording: Wording) -> str:
    """The limit the states are decided by."""
    limit = measurement.settings.get("limit_mm")
    said = f"On means surely within {wording.length(float(limit))} of the line. " if limit is not None else ""
    return f"{said}Each ± holds 95 times in 100; what is on, past or short is decided before rounding."
