"""How much of the lap got a number, of what, and what got none and why: summed up in two lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from fitcheck.advice.states import UNSEEN, Stretch, stretches
from fitcheck.contract.measurement import STATES_WITH_VALUE, Measurement
from fitcheck.report.edge.wording import Wording

#: A plank's last bit, which no photograph need reach.
END_MM = 15.0
#: Stretches without a number that so little parts, or whose neighbours touch, are told as one.
APART_MM = 25.4
#: So many stretches are told with their places, the longest; the rest are summed up.
MOST_TOLD = 3


def measured_line(measurement: Measurement, wording: Wording) -> str:
    """The share that got a number: of the plank's length where its ends are told, else of what was photographed.

    >>> from fitcheck.contract.measurement import Sample
    >>> fit = Measurement("measured", {}, samples=tuple(Sample(x, 0.0, 0.2, "on") for x in (0.0, 25.4)))
    >>> measured_line(fit, Wording())
    'measured all of the 1 in photographed'
    """
    runs = _runs(measurement, wording)
    whole_mm = runs[-1].to_mm - runs[0].from_mm
    known_mm = sum(run.length_mm for run in runs if run.label in STATES_WITH_VALUE)
    share = known_mm / whole_mm if whole_mm > 0 else float(runs[0].label in STATES_WITH_VALUE)
    whole = wording.stretch_length(whole_mm)
    of = f"the plank's {whole}" if _ends_mm(measurement, wording) else f"the {whole} photographed"
    return f"measured {_percent(share)} of {of}"


def unseen_line(measurement: Measurement, wording: Wording) -> str:
    """What got no number and why, neighbours merged, the longest told with their places; nothing where all got one.

    >>> from fitcheck.contract.measurement import Sample
    >>> states = ["on"] * 20 + ["covered"] * 8 + ["hidden"] * 4 + ["on"] * 4
    >>> samples = tuple(Sample(5.0 * i, None, None, state) for i, state in enumerate(states))
    >>> unseen_line(Measurement("measured", {}, samples=samples), Wording(units="mm"))
    'not measured 60 mm: from 98 mm to 158 mm (covered, hidden)'
    """
    merged = _unseen(measurement, wording)
    if not merged:
        return ""
    if not wording.rising:
        merged.reverse()
    longest = sorted(merged, key=lambda one: one.length_mm)[-MOST_TOLD:]
    told = [f"{wording.span(one.from_mm, one.to_mm)} ({one.label})" for one in merged if one in longest]
    rest = [one for one in merged if one not in longest]
    if rest:
        places = "1 shorter place" if len(rest) == 1 else f"{len(rest)} shorter places"
        told.append(f"{places} ({_labels(one.label for one in rest)})")
    whole = wording.stretch_length(sum(one.length_mm for one in merged))
    return f"not measured {whole}{' in all' if len(merged) > 1 else ''}: {', '.join(told)}"


def unseen_in_all(measurement: Measurement, wording: Wording) -> str:
    """The same without the places: how much got no number, and why."""
    merged = _unseen(measurement, wording)
    if not merged:
        return ""
    whole = wording.stretch_length(sum(one.length_mm for one in merged))
    return f"not measured {whole} in all ({_labels(one.label for one in merged)})"


def _unseen(measurement: Measurement, wording: Wording) -> list[Stretch]:
    return _merged([run for run in _runs(measurement, wording) if run.label not in STATES_WITH_VALUE])


def _runs(measurement: Measurement, wording: Wording) -> list[Stretch]:
    """The lap in runs of one state; over the whole plank, and no further, where its ends are told."""
    runs = stretches(measurement.samples)
    ends = _ends_mm(measurement, wording)
    if ends is None:
        return runs
    low, high = ends
    inside = [Stretch(max(run.from_mm, low), min(run.to_mm, high), run.label) for run in runs]
    inside = [run for run in inside if run.length_mm > 0]
    if not inside:
        return [Stretch(low, high, UNSEEN)]
    first, last = inside[0].from_mm, inside[-1].to_mm
    before = [Stretch(low, first, UNSEEN)] if first - low > END_MM else []
    return [*before, *inside, *([Stretch(last, high, UNSEEN)] if high - last > END_MM else [])]


def _ends_mm(measurement: Measurement, wording: Wording) -> tuple[float, float] | None:
    """The plank's ends in the samples' own places, None where they are not told."""
    ends, part = measurement.settings.get("ends_mm"), measurement.part
    apart = part is not None and (part.of > 1 or part.tied_by is None)
    if not ends or apart or not wording.by_tape:
        return None
    low, high = sorted(wording.off_tape(float(end)) for end in ends)
    return low, high


def _merged(runs: Sequence[Stretch]) -> list[Stretch]:
    merged = list(runs[:1])
    for before, run in pairwise(runs):
        if run.from_mm - before.to_mm <= APART_MM:
            last = merged[-1]
            merged[-1] = Stretch(last.from_mm, run.to_mm, _labels([last.label, run.label]))
        else:
            merged.append(run)
    return merged


def _labels(labels: Iterable[str]) -> str:
    """Every state once, in the order it is met."""
    return ", ".join(dict.fromkeys(state for label in labels for state in label.split(", ")))


def _percent(share: float) -> str:
    return "all" if share > 0.9995 else f"{int(share * 100)} %"
