"""An edge-on measurement in words: the verdict, where the lap stands open, the table by place, the step, and notes."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.lap.gap_measurement import GapMeasurement, GapSample
from fitcheck.report.wording import Wording

WIDTH = 78
ROW_MM = 50.8
FIRST = "Bevel first, edge after: bevelling lets the plank lie closer and moves its edge. Clamp and photograph again."
#: Where open goes over into closed there is always a place that cannot be told; shorter ones are not worth a line.
LEAST_TOLD_MM = 15.0
INSIDE = "A lap open only at its inside cannot be seen from outside: hold a lamp inside, or try a slip of paper."
HEADLINES = {
    "open": ("OPEN", "The lap stands open in places."),
    "closed": ("CLOSED", "The lap is closed wherever it was seen."),
    "unsure": ("LOOK AGAIN", "Nowhere is the lap surely open, but in places that cannot be told."),
    "covered": ("LOOK AGAIN", "The lap is covered."),
}


@dataclass(frozen=True)
class GapRun:
    """A stretch of one state, from place to place in mm, with its widest sample (None where covered)."""

    state: str
    from_mm: float
    to_mm: float
    widest: GapSample | None


def gap_length(mm: float, units: str) -> str:
    """A gap as a feeler gauge names it: thousandths of an inch, or hundredths of a millimetre.

    >>> gap_length(0.5, "in"), gap_length(0.5, "mm")
    ('0.020 in', '0.50 mm')
    """
    return f"{mm:.2f} mm" if units == "mm" else f"{mm / 25.4:.3f} in"


def gap_cell(sample: GapSample, units: str) -> str:
    """What the table says of one place.

    >>> gap_cell(GapSample(0.0, 0.0, 0.09, 9.5, 0.4, (0.0, 0.0), "closed"), "mm")
    'closed, under 0.09 mm'
    """
    if sample.gap_mm is None or sample.gap_u95_mm is None:
        return "covered"
    if sample.state == "closed":
        return f"closed, under {gap_length(sample.gap_u95_mm, units)}"
    doubt = gap_length(sample.gap_u95_mm, units).rsplit(" ", 1)[0]
    said = f"{gap_length(sample.gap_mm, units)} ± {doubt}"
    return f"open {said}" if sample.state == "open" else f"unsure: {said}"


def gap_runs(samples: Sequence[GapSample]) -> list[GapRun]:
    """Neighbouring samples of one state gathered into runs, in order of place."""
    ordered = sorted(samples, key=lambda one: one.place_mm())
    groups: list[list[GapSample]] = []
    for sample in ordered:
        if groups and groups[-1][-1].state == sample.state:
            groups[-1].append(sample)
        else:
            groups.append([sample])
    return [_run(group) for group in groups]


def _run(group: Sequence[GapSample]) -> GapRun:
    known = [one for one in group if one.gap_mm is not None]
    widest = max(known, key=lambda one: one.gap_mm or 0.0, default=None)
    return GapRun(group[0].state, group[0].place_mm(), group[-1].place_mm(), widest)


def gap_verdict(measurement: GapMeasurement) -> tuple[str, str]:
    """The headline and what it means."""
    if not measurement:
        return "NOT MEASURED", " ".join(reason.text for reason in measurement.reasons)
    states = {sample.state for sample in measurement.samples}
    worst = next((state for state in ("open", "unsure", "closed", "covered") if state in states), "covered")
    return HEADLINES[worst]


def gap_wording(measurement: GapMeasurement) -> Wording:
    """Units and places as the measurement's settings ask for."""
    settings = measurement.settings
    return Wording(
        units=str(settings.get("units") or "in"),
        fraction=int(settings.get("fraction") or 32),
        on_plank=any(sample.plank_mm is not None for sample in measurement.samples),
        keel="up" if settings.get("keel") == "up" else "down",
    )


def open_lines(measurement: GapMeasurement) -> list[str]:
    """Where the lap stands open, how wide, and where that cannot be told."""
    wording = gap_wording(measurement)
    lines = []
    for run in gap_runs(measurement.samples):
        if run.state == "closed" or (run.state == "unsure" and run.to_mm - run.from_mm < LEAST_TOLD_MM):
            continue
        where = wording.span(run.from_mm, run.to_mm)
        if run.widest is None:
            lines.append(f"covered {where}")
        elif run.state == "open":
            at = wording.place(run.widest.place_mm())
            lines.append(f"open {where}, widest {gap_cell(run.widest, wording.units)[5:]} at {at}")
        else:
            lines.append(f"cannot be told {where}: a feeler gauge will")
    return lines


def summary_lines(measurement: GapMeasurement) -> list[str]:
    """What was seen, how small a gap would have been, and the step."""
    wording = gap_wording(measurement)
    seen = [sample for sample in measurement.samples if sample.gap_mm is not None]
    share = len(seen) / max(1, len(measurement.samples))
    lines = [f"Seen: {share:.0%} of {wording.stretch_length(_length(measurement.samples))} of lap."]
    if measurement.least_gap_mm is not None:
        least = gap_length(measurement.least_gap_mm, wording.units)
        lines.append(f"A gap of {least} or more would surely have shown; a smaller one may not have.")
    steps = [one.proud_mm for one in seen if one.proud_mm is not None and "scale-from-thickness" not in one.flags]
    if steps:
        low, high = (wording.length(float(value)) for value in np.quantile(steps, [0.02, 0.98]))
        lines.append(f"The plank stands proud {low}." if low == high else f"The plank stands proud {low} to {high}.")
    return [*lines, INSIDE]


def gap_lines(measurement: GapMeasurement) -> list[str]:
    """The whole answer as lines of plain text."""
    headline, means = gap_verdict(measurement)
    name = str(measurement.settings.get("plank") or "")
    title = name or ", ".join(str(photo.get("name", "")) for photo in measurement.photos)
    if not measurement:
        return [title, headline, *_wrapped([reason.text for reason in measurement.reasons])]
    wording = gap_wording(measurement)
    told = [*open_lines(measurement), *advice_lines(measurement)]
    notes = [f"Note: {warning.text}" for warning in measurement.warnings]
    return [
        title,
        f"{headline}  {means}",
        *_wrapped(told),
        "",
        *_table(measurement, wording),
        "",
        *_wrapped([*summary_lines(measurement), *notes]),
        "",
        *_wrapped([origin(measurement, wording)], ""),
    ]


def advice_lines(measurement: GapMeasurement) -> list[str]:
    """Which bevel to plane, and how the step runs out in the gain."""
    wording = gap_wording(measurement)
    lines = []
    for run in (measurement.bevel or {}).get("runs", ()):
        more = f" ({run['more_deg']:.1f}° more bevel)" if run.get("more_deg") else ""
        depth = gap_length(run["deepest_mm"], wording.units)
        lines.append(
            f"{wording.span(run['from_mm'], run['to_mm'])}: plane the lap of the strake below toward its upper edge, "
            f"at most {depth} off there, tapering to nothing at the lap line{more}"
        )
    if lines:
        lines.append(FIRST)
    cuts = (measurement.bevel or {}).get("cuts")
    if cuts:
        most = gap_length(max(depth for _, depth in cuts), wording.units)
        lines.append(f"take up to {most} off where the seam bears, never off the open part; then try it again")
    return lines + _gain_lines(measurement, wording)


def _gain_lines(measurement: GapMeasurement, wording: Wording) -> list[str]:
    gain = measurement.gain
    if not gain:
        return []
    lines = [
        f"gain: {wording.span(run['from_mm'], run['to_mm'])} take {wording.depth(run['most_mm'])} more off the step"
        for run in gain["take_off"]
    ]
    lines += [
        f"gain: {wording.span(run['from_mm'], run['to_mm'])} over-cut by {wording.length(run['most_mm'])}"
        for run in gain["over_cut"]
    ]
    return [*lines, "gain: the step comes flush" if gain["flush"] else "gain: the step does not come flush at its end"]


def table_rows(measurement: GapMeasurement, wording: Wording) -> list[tuple[str, str, str]]:
    """Place, gap and step about every two inches."""
    rows, last = [], -np.inf
    for sample in sorted(measurement.samples, key=lambda one: one.place_mm()):
        if sample.place_mm() - last < ROW_MM - 1e-6:
            continue
        last = sample.place_mm()
        step = "" if sample.proud_mm is None else wording.length(sample.proud_mm)
        if step and "scale-from-thickness" not in sample.flags and sample.proud_u95_mm is not None:
            step += f" ± {wording.doubt(sample.proud_u95_mm)}"
        rows.append((wording.place(last), gap_cell(sample, wording.units), step))
    return rows


def _table(measurement: GapMeasurement, wording: Wording) -> list[str]:
    cells = [("place", "gap", "proud"), *table_rows(measurement, wording)]
    wide = [max(12, *(len(cell[column]) for cell in cells)) + 2 for column in range(2)]
    return [f"{place:<{wide[0]}}{gap:<{wide[1]}}{step}".rstrip() for place, gap, step in cells]


def origin(measurement: GapMeasurement, wording: Wording) -> str:
    """What places are counted from."""
    if (measurement.reference or {}).get("kind") == "thickness":
        return "The plank's thickness is the scale. Places count roughly from the middle of the picture."
    return wording.origin(measurement.reference)


def _length(samples: Sequence[GapSample]) -> float:
    places = [sample.place_mm() for sample in samples]
    return max(places) - min(places)


def _wrapped(lines: Sequence[str], indent: str = "  ") -> list[str]:
    return [
        part for line in lines for part in textwrap.wrap(line, WIDTH, initial_indent=indent, subsequent_indent=indent)
    ]
