"""An edge-on measurement in words: the verdict, where the lap stands open, the table by place, the step, and notes."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np

from fitcheck.contract.gap_measurement import NEIGHBOURS_MM, GapMeasurement, GapSample
from fitcheck.reference.kinds import THICKNESS
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.edge.wording import Wording
from fitcheck.report.gap.eased_words import eased_lines, without_eased
from fitcheck.report.gap.gap_advice import advice_lines
from fitcheck.report.gap.gap_steps import proud_lines, step_cell
from fitcheck.report.gap.gap_wording import GapRun, gap_length, gap_runs, gap_wording, joint_word

WIDTH = 78
ROW_MM = {"lap": {"in": 50.8, "mm": 50.0}, "seam": {"in": 12.7, "mm": 10.0}}
DOUBTS = {
    "unsure": ("unsure", ": try a feeler there"),
    "covered": ("covered", ": move the clamps and photograph again"),
    "unseen": ("unseen", ": in no photograph"),
}
#: Where open goes over into closed there is always a place that cannot be told; shorter ones are not worth a line.
LEAST_TOLD_MM = 15.0
INSIDE = {
    "lap": "A lap open only at its inside cannot be seen from outside: hold a lamp inside, or try a slip of paper.",
    "seam": "What a seam does under its face cannot be seen: try a feeler, or chalk one side and press it home.",
}
GAP_HEADLINES = {
    "open": ("OPEN", "The {} stands open in places."),
    "closed": ("CLOSED", "The {} is closed wherever it was seen."),
    "unsure": ("LOOK AGAIN", "Nowhere is the {} surely open, but in places it cannot be told."),
    "covered": ("LOOK AGAIN", "The {} is covered."),
}


def gap_cell(sample: GapSample, units: str) -> str:
    """What the table says of one place.

    >>> gap_cell(GapSample(0.0, 0.0, 0.09, 9.5, 0.4, (0.0, 0.0), "closed"), "mm")
    'closed, under 0.09 mm'
    """
    if sample.gap_mm is None or sample.gap_u95_mm is None:
        return "covered"
    if sample.state == "closed":
        return f"closed, under {gap_length(sample.gap_u95_mm, units)}"
    if sample.gap_mm <= sample.gap_u95_mm:
        return f"unsure, up to {gap_length(sample.gap_mm + sample.gap_u95_mm, units)}"
    doubt = gap_length(sample.gap_u95_mm, units).rsplit(" ", 1)[0]
    said = f"{gap_length(sample.gap_mm, units)} ± {doubt}"
    return f"open {said}" if sample.state == "open" else f"unsure: {said}"


def gap_verdict(measurement: GapMeasurement) -> tuple[str, str]:
    """The headline and what it means."""
    if not measurement:
        return "NOT MEASURED", " ".join(reason.text for reason in measurement.reasons)
    return gap_headline(measurement.samples, joint_word(measurement))


def gap_headline(samples: Sequence[GapSample], joint: str) -> tuple[str, str]:
    """The headline of a lap's or a seam's places and what it means."""
    states = {sample.state for sample in samples}
    worst = next((state for state in ("open", "unsure", "closed", "covered") if state in states), "covered")
    headline, means = GAP_HEADLINES[worst]
    return headline, means.format(joint)


def has_steps(measurement: GapMeasurement) -> bool:
    """Whether a step was measured anywhere: a seam has none."""
    return any(sample.proud_mm is not None for sample in measurement.samples)


def open_lines(measurement: GapMeasurement) -> list[str]:
    """Where the lap stands open, and how wide."""
    return open_words(measurement.samples, gap_wording(measurement))


def open_words(samples: Sequence[GapSample], wording: Wording) -> list[str]:
    """Where places along a lap are surely open, and how wide; no stretch reaches over a place that is not."""
    opened = [run for run in gap_runs(samples) if run.state == "open"]
    lines = []
    for whole in told_runs(samples):
        if whole.state == "open" and whole.widest is not None:
            parts = [run for run in opened if whole.from_mm <= run.from_mm and run.to_mm <= whole.to_mm]
            long = [run for run in parts if run.to_mm - run.from_mm >= LEAST_TOLD_MM]
            widest = _widest(long) or whole.widest
            at = wording.place(widest.place_mm())
            where = ", ".join(wording.span(run.from_mm, run.to_mm) for run in long) if long else f"about {at}"
            lines.append(f"open {where}, widest {gap_cell(widest, wording.units)[5:]} at {at}")
    return lines


def _widest(runs: Sequence[GapRun]) -> GapSample | None:
    """The widest place of several runs."""
    return max((one.widest for one in runs if one.widest), key=lambda one: one.gap_mm or 0.0, default=None)


def doubt_lines(measurement: GapMeasurement) -> list[str]:
    """Where a feeler decides, where it cannot be told, is covered or was not photographed, a line each."""
    wording = gap_wording(measurement)
    runs = told_runs(without_eased(measurement.samples))
    where = {state: [(run.from_mm, run.to_mm) for run in runs if run.state == state] for state in ("unsure", "covered")}
    where["unseen"] = [(ends["from_mm"], ends["to_mm"]) for ends in measurement.unseen]
    told = [
        f"{DOUBTS[state][0]} {', '.join(wording.span(*ends) for ends in spans)}{DOUBTS[state][1]}"
        for state, spans in where.items()
        if spans
    ]
    return [*eased_lines(measurement), *told]


def told_runs(samples: Sequence[GapSample]) -> list[GapRun]:
    """The runs, open ones joined where a place too short to be told parts them."""
    told: list[GapRun] = []
    for run in gap_runs(samples):
        if run.state == "unsure" and run.to_mm - run.from_mm < LEAST_TOLD_MM:
            continue
        last = told[-1] if told else None
        if last and last.state == run.state == "open" and run.from_mm - last.to_mm <= LEAST_TOLD_MM + NEIGHBOURS_MM:
            told[-1] = GapRun("open", last.from_mm, run.to_mm, _widest((last, run)))
        else:
            told.append(run)
    return told


def summary_lines(measurement: GapMeasurement) -> list[str]:
    """What was seen, how small a gap would have been, the step, and what no photograph can show or did not."""
    return [*_seen_lines(measurement), INSIDE[joint_word(measurement)], *unused_lines(measurement)]


def _seen_lines(measurement: GapMeasurement) -> list[str]:
    """What was seen, how small a gap would have been, and the step."""
    wording = gap_wording(measurement)
    seen = [sample for sample in measurement.samples if sample.gap_mm is not None]
    share = len(seen) / max(1, len(measurement.samples))
    joint = joint_word(measurement)
    whole = wording.stretch_length(_length(measurement.samples))
    lines = [f"Seen: {math.floor(100 * share)} % of the {whole} of {joint} photographed."]
    if measurement.least_gap_mm is not None:
        least = gap_length(measurement.least_gap_mm, wording.units)
        shown = f"In half of the places a gap of {least} or more would surely have shown; elsewhere only a wider one."
        lines.append(shown)
    scaled = [one for one in seen if "scale-from-thickness" not in one.flags]
    steps = [(one.proud_mm, one.proud_u95_mm) for one in scaled if one.proud_mm is not None]
    return [*lines, *proud_lines(steps, wording)]


def unused_lines(measurement: GapMeasurement) -> list[str]:
    """The photographs of several that could not be used, each with its reason."""
    lines = []
    for photo in measurement.photos if measurement else ():
        for reason in photo.get("reasons", ()):
            named = str(photo["name"]) in reason["text"]
            lines.append(f"Not used: {reason['text']}" if named else f"{photo['name']} was not used: {reason['text']}")
    return lines


def gap_title(measurement: GapMeasurement) -> str:
    """The plank's name, or what was photographed where it has none."""
    names = [str(photo.get("name", "")) for photo in measurement.photos]
    return str(measurement.settings.get("plank") or "") or (names[0] if len(names) == 1 else "One plank")


def gap_lines(measurement: GapMeasurement) -> list[str]:
    """The whole answer as lines of plain text."""
    headline, means = gap_verdict(measurement)
    title = gap_title(measurement)
    if not measurement:
        return [title, headline, *_wrapped([reason.text for reason in measurement.reasons])]
    wording = gap_wording(measurement)
    told = [*open_lines(measurement), *advice_lines(measurement), *doubt_lines(measurement)]
    notes = [f"Note: {warning.text}" for warning in measurement.warnings]
    return [
        title,
        f"{headline}  {means}",
        *_wrapped([line for line in (frame_line(measurement.part), *told) if line]),
        "",
        *_table(measurement, wording),
        "",
        *_wrapped([*summary_lines(measurement), *notes]),
        "",
        *_wrapped([origin(measurement, wording)], ""),
    ]


def brief_gap_lines(measurement: GapMeasurement, *, most: int) -> list[str]:
    """The answer in at most ``most`` lines; what found no room is counted."""
    from fitcheck.report.edge.brief import ASK, fitted, fitted_groups, wrapped

    if not measurement:
        return fitted(gap_lines(measurement), most, "more")
    headline, means = gap_verdict(measurement)
    wording = gap_wording(measurement)
    head = [gap_title(measurement), *wrapped(f"{headline}  {means}", "")]
    foot = [*wrapped(origin(measurement, wording), ""), ASK]
    told = [*unused_lines(measurement), *open_lines(measurement), *advice_lines(measurement)]
    told += [*doubt_lines(measurement), *_seen_lines(measurement)]
    told += [f"Note: {warning.text}" for warning in measurement.warnings]
    return [*head, *fitted_groups(told, most - len(head) - len(foot), "more"), *foot]


def table_rows(measurement: GapMeasurement, wording: Wording) -> list[tuple[str, str, str]]:
    """Place, gap and step about every two inches, at round places."""
    samples = sorted(measurement.samples, key=lambda one: one.place_mm())
    places = np.array([one.place_mm() for one in samples])
    step_mm = ROW_MM[joint_word(measurement)][wording.units]
    rows = []
    for at in wording.round_places(places[0], places[-1], step_mm):
        sample = samples[int(np.abs(places - at).argmin())]
        if abs(sample.place_mm() - at) > NEIGHBOURS_MM:
            continue
        rows.append((wording.place(at), gap_cell(sample, wording.units), step_cell(sample, wording)))
    return rows if wording.rising else rows[::-1]


def _table(measurement: GapMeasurement, wording: Wording) -> list[str]:
    heads = ("place", "gap", "proud" if has_steps(measurement) else "")
    cells = [heads, *table_rows(measurement, wording)]
    wide = [max(12, *(len(cell[column]) for cell in cells)) + 2 for column in range(2)]
    return [f"{place:<{wide[0]}}{gap:<{wide[1]}}{step}".rstrip() for place, gap, step in cells]


def origin(measurement: GapMeasurement, wording: Wording) -> str:
    """What places are counted from."""
    if joint_word(measurement) == "seam":
        return "Places count along the seam from the first place pointed at."
    if (measurement.reference or {}).get("kind") == THICKNESS.name:
        return (
            "The plank's thickness is the scale, and the view is taken to be edge-on; square-on every lap looks "
            "closed. Places count roughly from the middle of the picture."
        )
    return wording.origin(measurement.reference)


def _length(samples: Sequence[GapSample]) -> float:
    places = [sample.place_mm() for sample in samples]
    return max(places) - min(places)


def _wrapped(lines: Sequence[str], indent: str = "  ") -> list[str]:
    return [
        part for line in lines for part in textwrap.wrap(line, WIDTH, initial_indent=indent, subsequent_indent=indent)
    ]
