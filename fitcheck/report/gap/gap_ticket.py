"""The ticket of an edge-on view: one page for the bench, with the bevel to plane, the gain to cut, place by place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from fitcheck.contract.gap_measurement import GapMeasurement, GapSample
from fitcheck.report.drawing.cautions import SHAVING, SHORT_CAUTION, TICK
from fitcheck.report.drawing.palette import GREY
from fitcheck.report.drawing.sheet import Sheet, paper_mm
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.edge.wording import Wording
from fitcheck.report.gap.gap_advice import advice_lines, bevel_depth
from fitcheck.report.gap.gap_sketch import draw_bevel
from fitcheck.report.gap.gap_steps import step_cell
from fitcheck.report.gap.gap_wording import gap_wording, joint_word
from fitcheck.report.gap.gap_words import (
    doubt_lines,
    gap_cell,
    gap_title,
    gap_verdict,
    has_steps,
    open_lines,
    origin,
    unused_lines,
)

MARGIN_MM, ROW_MM = 13.0, 7.0
MOST_TOLD, MOST_NOTES = 7, 3
STEPS_MM = {"in": (12.7, 25.4, 50.8, 76.2, 152.4, 304.8), "mm": (10.0, 25.0, 50.0, 100.0, 200.0, 500.0)}
#: A row takes the sample nearest its place, if one is as near as this.
NEAR_MM = 6.0
#: Where wood comes off: for a lap from the strake below, for a seam from the side that was fitted.
OFF_WORDS = {"lap": "off the strake's upper edge", "seam": "off where it bears"}


def gap_ticket_pdf(
    measurement: GapMeasurement, *, paper: str = "A4", date: str | None = None, fit: str | None = None
) -> bytes:
    """The ticket as a one-page PDF, "A4" or "letter"; a refused measurement gives one that says why.

    ``date`` and ``fit`` are printed as given. Raises :class:`fitcheck.ground.refusal.WrongCall` for another paper.

    >>> gap_ticket_pdf(GapMeasurement("refused", {}))[:5]
    b'%PDF-'
    """
    size = paper_mm(paper)
    wide, foot = size[0] - 2 * MARGIN_MM, size[1] - MARGIN_MM - 27.0
    wording = gap_wording(measurement)
    sheet = Sheet(size, f"{joint_word(measurement).capitalize()} ticket: {gap_title(measurement)}")
    top = _head(sheet, measurement, (date, fit), wide)
    if (measurement.bevel or {}).get("runs"):
        top = draw_bevel(sheet, (MARGIN_MM, top + 1.0), wide)
    if measurement.samples:
        _table(sheet, measurement, wording, top + 3.0, foot - 3.0, wide)
    sheet.line([(MARGIN_MM, foot), (MARGIN_MM + wide, foot)], width_mm=0.4)
    after = foot + 4
    if measurement.samples:
        after = sheet.block((MARGIN_MM, after), origin(measurement, wording), 7.5, wide)
        after = sheet.block((MARGIN_MM, after + 0.4), TICK, 8.5, wide, bold=True)
        after = sheet.block((MARGIN_MM, after + 0.4), SHAVING, 8.5, wide, bold=True)
    sheet.block((MARGIN_MM, after + 0.4), SHORT_CAUTION, 7.5, wide)
    return sheet.data()


def _head(sheet: Sheet, measurement: GapMeasurement, said: tuple[str | None, str | None], wide: float) -> float:
    headline, means = gap_verdict(measurement)
    date, fit = said
    right = MARGIN_MM + wide
    sheet.text((MARGIN_MM, MARGIN_MM + 8), headline, 30, bold=True, most_mm=wide * 0.55)
    sheet.text((right, MARGIN_MM + 4), gap_title(measurement), 14, bold=True, align="right", most_mm=wide * 0.43)
    under = "   ".join(
        part for part in (f"{joint_word(measurement)} ticket", f"fit {fit}" if fit else "", date or "") if part
    )
    sheet.text((right, MARGIN_MM + 10), under, 10, align="right", most_mm=wide * 0.43)
    sheet.line([(MARGIN_MM, MARGIN_MM + 12.5), (right, MARGIN_MM + 12.5)], width_mm=0.8)
    top = sheet.block((MARGIN_MM, MARGIN_MM + 18), means, 10, wide)
    if frame := frame_line(measurement.part):
        top = sheet.block((MARGIN_MM, top + 1.0), frame, 12.5, wide, bold=True)
    advice = advice_lines(measurement) if measurement else []
    told = advice or ([*open_lines(measurement), *doubt_lines(measurement)] if measurement else [])
    for line in told[:MOST_TOLD]:
        top = sheet.block((MARGIN_MM, top + 1.0), line, 11, wide, bold=True)
    if len(told) > MOST_TOLD:
        top = sheet.block((MARGIN_MM, top + 1.0), f"and {len(told) - MOST_TOLD} more: see the table", 10, wide)
    notes = [*unused_lines(measurement), *(warning.text for warning in measurement.warnings)]
    for line in notes[:MOST_NOTES]:
        top = sheet.block((MARGIN_MM, top + 0.4), f"Note: {line}", 7.5, wide)
    return top


def _table(sheet: Sheet, measurement: GapMeasurement, wording: Wording, top: float, bottom: float, wide: float) -> None:
    """A row a place: the lap, what comes off the strake below, and the step."""
    most = max(1, int((bottom - top) / ROW_MM) - 1)
    found = _rows(measurement, wording, most)
    joint = joint_word(measurement)
    heads = [("place", 0.0, "left"), (joint, 0.19, "left"), (OFF_WORDS[joint], 0.72, "right")]
    if has_steps(measurement):
        heads.append(("proud", 1.0, "right"))
    for words, share, align in heads:
        sheet.text((MARGIN_MM + share * wide, top + 4.4), words, 8, align=align)
    sheet.line([(MARGIN_MM, top + 5.8), (MARGIN_MM + wide, top + 5.8)], width_mm=0.4)
    for number, (place, lap, off, step, more) in enumerate(found):
        base = top + (number + 1) * ROW_MM + 4.4
        if off or more:
            corners = [(MARGIN_MM, base - 5.0), (MARGIN_MM + wide, base - 5.0)]
            low = [(MARGIN_MM + wide, base + 1.6), (MARGIN_MM, base + 1.6)]
            sheet.area([*corners, *low], (251, 227, 209))
        sheet.text((MARGIN_MM + 0.8, base), place, 10, bold=bool(off or more), most_mm=wide * 0.18)
        sheet.text((MARGIN_MM + 0.19 * wide, base), lap, 9, most_mm=wide * 0.36)
        sheet.text((MARGIN_MM + 0.72 * wide, base), off, 14, bold=True, align="right")
        sheet.text((MARGIN_MM + wide - 0.8, base), f"{more}  {step}" if more else step, 9, align="right")
        sheet.line([(MARGIN_MM, base + 1.6), (MARGIN_MM + wide, base + 1.6)], GREY, 0.12)


def _rows(measurement: GapMeasurement, wording: Wording, most: int) -> list[tuple[str, ...]]:
    """Place (a station card's with its number), lap, depth off the strake below, step, and what the gain wants off."""
    samples = sorted(measurement.samples, key=lambda one: one.place_mm())
    places = np.array([one.place_mm() for one in samples])
    cards = {float(one["plank_mm"]): f"card {one['number']}: " for one in measurement.stations}
    for step_mm in STEPS_MM[wording.units]:
        regular = wording.round_places(places[0], places[-1], step_mm)
        wanted = sorted([*cards, *(at for at in regular if all(abs(at - card) > step_mm / 4 for card in cards))])
        if len(wanted) <= most:
            break
    if not wording.rising:
        wanted.reverse()
    rows = []
    for at in wanted[:most]:
        nearest = samples[int(np.abs(places - at).argmin())]
        place, *rest = _row(nearest if abs(nearest.place_mm() - at) <= NEAR_MM else None, at, measurement, wording)
        rows.append((f"{cards.get(at, '')}{place}", *rest))
    return rows


def _row(sample: GapSample | None, at_mm: float, measurement: GapMeasurement, wording: Wording) -> tuple[str, ...]:
    place = wording.place(at_mm)
    if sample is None:
        return place, "unseen", "", "", ""
    bevel = measurement.bevel or {}
    depth = profile_at(bevel.get("runs", ()), at_mm)
    if bevel.get("cuts") and sample.state == "closed":
        depth = profile_at([{"profile": bevel["cuts"]}], sample.place_mm())
    off = bevel_depth(depth, wording.units) if depth > 0 else ""
    step = step_cell(sample, wording, doubt=False)
    return place, gap_cell(sample, wording.units), off, step, _more_off(measurement.gains, at_mm, wording)


def _more_off(gains: Sequence[Mapping[str, Any]], at_mm: float, wording: Wording) -> str:
    """What the gain wants off the step at a place: what is surely too high, and never between two such stretches."""
    for gain in gains:
        if not any(run["from_mm"] <= at_mm <= run["to_mm"] for run in gain["take_off"]):
            continue
        at, proud, should, doubt = np.transpose(gain["profile"])
        if at[0] <= at_mm <= at[-1]:
            over = float(np.interp(at_mm, at, proud - doubt - should))
            return f"take {wording.depth(over)} off" if over > 0 else ""
    return ""


def profile_at(runs: Sequence[Mapping[str, Any]], at_mm: float) -> float:
    """The depth of the runs' profiles at one place, 0 where none reaches.

    >>> profile_at([{"profile": [[0.0, 0.2], [10.0, 0.4]]}], 5.0)
    0.30000000000000004
    """
    for run in runs:
        at, depth = np.transpose(run["profile"])
        if at[0] <= at_mm <= at[-1]:
            return float(np.interp(at_mm, at, depth))
    return 0.0
