"""The cut at full size on paper: strips to hang on the plank's lower edge and mark the cut through."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from fitcheck.advice.cut_depth import SHAVING as SHAVING_DEPTH
from fitcheck.advice.cut_depth import deepest_between, depth_at, told_cut
from fitcheck.contract.measurement import Measurement
from fitcheck.ground.refusal import WrongCall
from fitcheck.report.drawing.cautions import SHAVING
from fitcheck.report.drawing.keel_side import rises_right
from fitcheck.report.drawing.palette import EDGE, LOOKS
from fitcheck.report.drawing.sheet import LONGEST_PAGE_MM, Sheet, paper_mm
from fitcheck.report.edge.answer import title
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.edge.wording import Wording

MARGIN_MM = 14.0
#: Height of one strip, from its top to the plank's edge, and what its marks need under the edge.
STRIP_MM, UNDER_MM = 26.0, 17.0
HEAD_MM = 30.0
ROLL_LENGTH_MM = LONGEST_PAGE_MM - 80.0


@dataclass(frozen=True)
class Piece:
    """One stretch of the strip that goes on paper in one piece."""

    from_mm: float
    to_mm: float
    number: int
    of: int


def cut_strip_pdf(
    measurement: Measurement, *, paper: str = "A4", units: str | None = None, fraction: int | None = None
) -> bytes:
    """The paper strip as a PDF at true size: tiled on "A4" or "letter", or one long page on a "roll".

    Only cuts of a rule's finest mark or more are printed; each piece runs on where the last one ends, with crosses to
    register them by, station and place marks, and a bar on every page to check the printer. A roll longer than a PDF
    page may be is split. The piece's lower heavy line is the plank's lower edge as it is, the line above it the cut.
    Raises :class:`WrongCall` for another paper or where there is no cut, or none but shavings.

    >>> advice = {"cuts": [{"from_mm": 0, "to_mm": 100, "deepest_mm": 1, "profile": [[0, 0], [50, 1], [100, 0]]}]}
    >>> cut_strip_pdf(Measurement("measured", {}, planing=advice))[:5]
    b'%PDF-'
    """
    if not (measurement.planing or {}).get("cuts"):
        raise WrongCall("there is no cut to print: the strip is for a plank that is to be planed")
    wording = Wording.of(measurement, units=units, fraction=fraction)
    parts = [part for part in measurement.each_part() if _asked(part, wording)]
    if not parts:
        raise WrongCall("there is nothing to print: every cut is less than a rule can show")
    if paper == "roll":
        every = [
            (piece.from_mm, piece.to_mm) for part in parts for piece in _pieces(_asked(part, wording), ROLL_LENGTH_MM)
        ]
        longest = max(to_mm - from_mm for from_mm, to_mm in every)
        size = (max(longest, 150.0) + 2 * MARGIN_MM, HEAD_MM + STRIP_MM + UNDER_MM + MARGIN_MM)
        most_mm = ROLL_LENGTH_MM
    else:
        narrow, tall = paper_mm(paper)
        size = (tall, narrow)
        most_mm = 25.0 * int((size[0] - 2 * MARGIN_MM - 4.0) // 25.0)
    sheet = Sheet(size, f"Cut strip: {title(measurement)}")
    for number, part in enumerate(parts):
        if number:
            sheet.new_page()
        _part(sheet, part, Wording.of(part, units=units, fraction=fraction), size, most_mm)
    return sheet.data()


def _asked(measurement: Measurement, wording: Wording) -> list[dict[str, Any]]:
    """The cuts to print of one part, as deep as they are told."""
    cuts = [told_cut(cut, wording.units) for cut in (measurement.planing or {})["cuts"]]
    return [cut for cut in cuts if worth_printing(cut, wording)]


def _part(sheet: Sheet, measurement: Measurement, wording: Wording, size: tuple[float, float], most_mm: float) -> None:
    """The pieces of one part of a plank, or of the whole where it hangs together."""
    cuts = _asked(measurement, wording)
    a_page = max(1, int((size[1] - HEAD_MM - MARGIN_MM) // (STRIP_MM + UNDER_MM)))
    for i, piece in enumerate(_pieces(cuts, most_mm)):
        if i and i % a_page == 0:
            sheet.new_page()
        if i % a_page == 0:
            _head(sheet, measurement, size)
        edge_y = HEAD_MM + (i % a_page) * (STRIP_MM + UNDER_MM) + STRIP_MM
        _strip(sheet, measurement, cuts, wording, piece, edge_y)


def worth_printing(cut: Mapping[str, Any], wording: Wording) -> bool:
    """Whether a cut is deep enough to be pricked through: nobody marks a shaving.

    >>> worth_printing({"deepest_mm": 0.2}, Wording()), worth_printing({"deepest_mm": 0.8}, Wording())
    (False, True)
    """
    return wording.depth(float(cut["deepest_mm"])) != SHAVING_DEPTH


def _pieces(cuts: Sequence[Mapping[str, Any]], length_mm: float) -> list[Piece]:
    """Pieces of at most ``length_mm`` that hold all the cuts; cuts near enough to share one do."""
    spans: list[tuple[float, float]] = []
    for cut in cuts:
        start, end = float(cut["from_mm"]), float(cut["to_mm"])
        if spans and end - spans[-1][0] <= length_mm:
            spans[-1] = (spans[-1][0], end)
            continue
        count = max(1, int(np.ceil((end - start) / length_mm)))
        steps = [min(start + i * length_mm, end) for i in range(count + 1)]
        spans += pairwise(steps)
    return [Piece(low, high, i + 1, len(spans)) for i, (low, high) in enumerate(spans)]


def _head(sheet: Sheet, measurement: Measurement, size: tuple[float, float]) -> None:
    wide = size[0] - 2 * MARGIN_MM
    named = f"Cut strip, full size: {title(measurement)}. {frame_line(measurement.part)}".removesuffix(". ")
    sheet.text((MARGIN_MM, 10.0), named, 11, bold=True, most_mm=wide)
    words = (
        "Cut the strip out, fold it back along the heavy line, and hang the fold on the plank's lower edge, the upper "
        f"part on its outer face, places to places. Prick the upper line through. {SHAVING}"
    )
    sheet.block((MARGIN_MM, 14.5), words, 7, min(wide, 260.0))
    sheet.check_bar((MARGIN_MM, 25.0))


def _strip(
    sheet: Sheet,
    measurement: Measurement,
    cuts: Sequence[Mapping[str, Any]],
    wording: Wording,
    piece: Piece,
    edge_y: float,
) -> None:
    """One piece: the plank's edge, the cut above it, marks under it, crosses at both ends."""
    x = _across(piece, rises_right(measurement))
    for cut in cuts:
        low, high = max(cut["from_mm"], piece.from_mm), min(cut["to_mm"], piece.to_mm)
        if low >= high:
            continue
        at = [low, *[place for place, _ in cut["profile"] if low < place < high], high]
        line = [(x(place), edge_y - depth_at([cut], place)) for place in at]
        sheet.hatched([*line, (x(high), edge_y), (x(low), edge_y)], LOOKS["plane"].colour, pitch_mm=1.0, width_mm=0.15)
        sheet.line(line, LOOKS["plane"].colour, 0.2)
        _say_depth(sheet, wording, cut, (low, high), x, edge_y)
    sheet.line([(x(piece.from_mm), edge_y), (x(piece.to_mm), edge_y)], EDGE, 0.4)
    for end in (piece.from_mm, piece.to_mm):
        for at_y in (edge_y - 18.0, edge_y + 13.0):
            sheet.line([(x(end) - 2, at_y), (x(end) + 2, at_y)], width_mm=0.15)
            sheet.line([(x(end), at_y - 2), (x(end), at_y + 2)], width_mm=0.15)
    _marks(sheet, measurement, wording, piece, x, edge_y)
    words = f"piece {piece.number} of {piece.of}, {wording.span(piece.from_mm, piece.to_mm)}; the plank on this side"
    sheet.text((MARGIN_MM + 6, edge_y - 17.0), words, 8, bold=True, most_mm=max(30.0, piece.to_mm - piece.from_mm - 8))


def _across(piece: Piece, rising_right: bool) -> Callable[[float], float]:
    """Where on the page a place lies. Places rise as they do on the hull seen from outside, the plank above."""
    if rising_right:
        return lambda place: MARGIN_MM + 2.0 + place - piece.from_mm
    return lambda place: MARGIN_MM + 2.0 + piece.to_mm - place


def _say_depth(
    sheet: Sheet,
    wording: Wording,
    cut: Mapping[str, Any],
    span: tuple[float, float],
    x: Callable[[float], float],
    edge_y: float,
) -> None:
    """The depth in words above the deepest place of this piece's part of the cut."""
    at_mm, depth_mm = deepest_between([cut], *span)
    words = wording.depth(depth_mm)
    foot = (x(at_mm), edge_y - depth_mm)
    sheet.line([foot, (foot[0], edge_y - 8.0)], width_mm=0.15)
    half = sheet.text_mm(words, 10, bold=True) / 2
    sheet.text((max(foot[0], MARGIN_MM + half), edge_y - 9.0), words, 10, bold=True, align="centre")


def _marks(
    sheet: Sheet,
    measurement: Measurement,
    wording: Wording,
    piece: Piece,
    x: Callable[[float], float],
    edge_y: float,
) -> None:
    """Places under the edge: each inch or 25 mm a tick, round ones named, station cards by number."""
    small, every = (25.4, 3) if wording.units == "in" else (25.0, 4)
    for i in range(int(np.ceil(piece.from_mm / small - 1e-9)), int(np.floor(piece.to_mm / small + 1e-9)) + 1):
        named = i % every == 0
        sheet.line([(x(i * small), edge_y), (x(i * small), edge_y + (4.0 if named else 2.0))], width_mm=0.15)
        if named:
            sheet.text((x(i * small), edge_y + 7.0), wording.place(i * small), 7, align="centre")
    for station in measurement.stations:
        place = float(station["plank_mm"])
        if piece.from_mm <= place <= piece.to_mm:
            sheet.line([(x(place), edge_y - 12.0), (x(place), edge_y + 3.5)], width_mm=0.25, dash_mm=(1.0, 1.0))
            sheet.text((x(place), edge_y + 11.5), f"card {station['number']}", 8, bold=True, align="centre")
