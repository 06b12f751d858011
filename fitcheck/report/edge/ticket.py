"""The planing ticket: one page for the bench, with where to plane, how deep at each place, and a drawing."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.contract.measurement import Measurement
from fitcheck.report.drawing.cautions import SHAVING, SHORT_CAUTION, TICK
from fitcheck.report.drawing.palette import LOOKS
from fitcheck.report.drawing.sheet import Sheet, paper_mm
from fitcheck.report.edge.answer import LATER, Row, limit_line, planing_lines, title, verdict_words, warning_lines
from fitcheck.report.edge.edge_drawing import draw_profile
from fitcheck.report.edge.part_words import frame_line, unused_lines
from fitcheck.report.edge.stations import ticket_rows
from fitcheck.report.edge.wording import Wording

MARGIN_MM = 13.0
ROW_MM = 7.6
#: What the foot takes under the table: origin, what to do before and after planing, cautions.
FOOT_MM = 27.0
MOST_FIRST, MOST_UNUSED, MOST_TOLD, MOST_NOTES = 6, 4, 6, 5


def ticket_pdf(
    measurement: Measurement,
    *,
    paper: str = "A4",
    date: str | None = None,
    fit: str | None = None,
    units: str | None = None,
    fraction: int | None = None,
    first: Sequence[str] = (),
) -> bytes:
    """The ticket as a PDF of one page, "A4" or "letter"; of a plank in parts a page each, counted from its own card.

    ``date`` and ``fit`` (its number or name) are printed as given; ``first`` is what comes before the edge, as the
    bevel where the lap stands open. A refused measurement gives a ticket that says
    why, so that the bench has a paper either way. Raises :class:`WrongCall` for another paper.

    >>> ticket_pdf(Measurement("refused", {}))[:5]
    b'%PDF-'
    """
    size = paper_mm(paper)
    sheet = Sheet(size, f"Planing ticket: {title(measurement)}")
    for number, part in enumerate(measurement.each_part()):
        if number:
            sheet.new_page()
        _page(sheet, part, Wording.of(part, units=units, fraction=fraction), size, (date, fit), first)
    return sheet.data()


def _page(
    sheet: Sheet,
    measurement: Measurement,
    wording: Wording,
    size: tuple[float, float],
    said: tuple[str | None, str | None],
    first: Sequence[str],
) -> None:
    """The page of one part of a plank, or of the whole where it hangs together."""
    wide = size[0] - 2 * MARGIN_MM
    top = _head(sheet, measurement, wording, said, wide, first)
    foot = size[1] - MARGIN_MM - FOOT_MM
    if measurement.samples:
        top = draw_profile(sheet, measurement, wording, (MARGIN_MM, top + 2.0), wide)
        _table(sheet, measurement, wording, top + 6.0, foot - 4.0, wide)
    _foot(sheet, measurement, wording, foot, wide)


def _head(
    sheet: Sheet,
    measurement: Measurement,
    wording: Wording,
    said: tuple[str | None, str | None],
    wide: float,
    first: Sequence[str],
) -> float:
    """Verdict, plank and what to do; gives the next free place in mm."""
    headline, asks = verdict_words(measurement.planing) if measurement else ("NOT MEASURED", "")
    date, fit = said
    right = MARGIN_MM + wide
    sheet.text((MARGIN_MM, MARGIN_MM + 8), headline, 30, bold=True, most_mm=wide * 0.55)
    sheet.text((right, MARGIN_MM + 4), title(measurement), 14, bold=True, align="right", most_mm=wide * 0.43)
    under = "   ".join(part for part in ("planing ticket", f"fit {fit}" if fit else "", date or "") if part)
    sheet.text((right, MARGIN_MM + 10), under, 10, align="right", most_mm=wide * 0.43)
    sheet.line([(MARGIN_MM, MARGIN_MM + 12.5), (right, MARGIN_MM + 12.5)], width_mm=0.8)
    top = sheet.block((MARGIN_MM, MARGIN_MM + 18), asks, 10, wide)
    for reason in measurement.reasons:
        top = sheet.block((MARGIN_MM, top + 1), reason.text, 12, wide, bold=True)
    if frame := frame_line(measurement.part):
        top = sheet.block((MARGIN_MM, top + 1.0), frame, 12.5, wide, bold=True)
    missed = unused_lines(measurement) if measurement else []
    for line in missed[:MOST_UNUSED]:
        top = sheet.block((MARGIN_MM, top + 1.0), line, 9, wide, bold=True)
    if len(missed) > MOST_UNUSED:
        text = f"and {len(missed) - MOST_UNUSED} photographs more that could not be used: see the page"
        top = sheet.block((MARGIN_MM, top + 1.0), text, 9, wide, bold=True)
    for line in first[:MOST_FIRST]:
        top = sheet.block((MARGIN_MM, top + 1.0), line, 10, wide, bold=True)
    top += 2.0 if first else 0.0
    told = planing_lines(measurement.planing, wording)
    for line in told[:MOST_TOLD]:
        asked = not line.startswith(LATER)
        top = sheet.block((MARGIN_MM, top + 1.2), line, 12.5 if asked else 9.5, wide, bold=asked)
    if len(told) > MOST_TOLD:
        top = sheet.block((MARGIN_MM, top + 1.2), f"and {len(told) - MOST_TOLD} more: see the table", 11, wide)
    for line in warning_lines(measurement)[:MOST_NOTES]:
        top = sheet.block((MARGIN_MM, top + 0.4), f"Note: {line}", 7.5, wide)
    return top


def _table(sheet: Sheet, measurement: Measurement, wording: Wording, top: float, bottom: float, wide: float) -> None:
    """Two columns of places, each with its depth in large letters."""
    a_column = max(1, int((bottom - top) / ROW_MM) - 1)
    found = ticket_rows(measurement, wording, most=2 * a_column)
    half = (wide - 8.0) / 2
    split = -(-len(found) // 2)
    for column, part in enumerate((found[:split], found[split:])):
        left = MARGIN_MM + column * (half + 8.0)
        if part:
            _heads(sheet, left, top, half)
        for i, (name, row) in enumerate(part):
            _table_row(sheet, name, row, (left, top + (i + 1) * ROW_MM), half)


def _heads(sheet: Sheet, left: float, top: float, half: float) -> None:
    sheet.text((left, top + 4.6), "place", 8)
    sheet.text((left + half * 0.62, top + 4.6), "what follows", 8, align="right")
    sheet.text((left + half, top + 4.6), "edge as measured", 8, align="right")
    sheet.line([(left, top + ROW_MM - 1.2), (left + half, top + ROW_MM - 1.2)], width_mm=0.4)


def _table_row(sheet: Sheet, name: str, row: Row, at: tuple[float, float], half: float) -> None:
    left, top = at
    base, low = top + 5.0, top + ROW_MM - 1.2
    cut = row.means.startswith("plane ")
    if cut:
        corners = [(left, top - 1.2), (left + half, top - 1.2), (left + half, low), (left, low)]
        sheet.area(corners, (251, 227, 209))
    sheet.text((left + 0.8, base), name, 10, bold=cut, most_mm=half * 0.32)
    if cut:
        depth = row.means.removeprefix("plane ")
        sheet.text((left + half * 0.62, base), depth, 17, bold=True, align="right", most_mm=half * 0.27)
        sheet.text((left + half - 0.8, base), row.edge, 8, align="right", most_mm=half * 0.35)
    elif row.state in ("past", "short", "on", "unsure"):
        means = row.means
        sheet.text((left + half * 0.62, base), means, 9, align="right", most_mm=half * 0.27)
        sheet.text((left + half - 0.8, base), row.edge, 8, align="right", most_mm=half * 0.35)
    else:
        sheet.text((left + half - 0.8, base), LOOKS[row.state].words, 9, align="right", most_mm=half * 0.62)
    sheet.line([(left, low), (left + half, low)], (170, 170, 170), 0.15)


def _foot(sheet: Sheet, measurement: Measurement, wording: Wording, top: float, wide: float) -> None:
    sheet.line([(MARGIN_MM, top), (MARGIN_MM + wide, top)], width_mm=0.4)
    words = f"{wording.origin(measurement.reference)} {limit_line(measurement, wording)}" if measurement else ""
    after = sheet.block((MARGIN_MM, top + 4), words, 7.5, wide) if words else top + 4
    if measurement.samples:
        after = sheet.block((MARGIN_MM, after + 0.4), TICK, 8.5, wide, bold=True)
    if (measurement.planing or {}).get("cuts"):
        after = sheet.block((MARGIN_MM, after + 0.4), SHAVING, 8.5, wide, bold=True)
    sheet.block((MARGIN_MM, after + 0.4), SHORT_CAUTION, 7.5, wide)
