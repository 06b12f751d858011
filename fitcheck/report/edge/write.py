"""The report folder: the marked pictures, chart, page, ticket, strip, drawing and JSON of one measurement."""

from __future__ import annotations

import datetime
import os
from collections.abc import Collection, Sequence
from pathlib import Path

import cv2
import numpy as np

from fitcheck.contract.measurement import Measurement
from fitcheck.ground.files import write_bytes, write_json, write_text
from fitcheck.report.edge.dxf import dxf_bytes
from fitcheck.report.edge.edge_chart import chart
from fitcheck.report.edge.one_of_many import caption, narrowed, of_photo
from fitcheck.report.edge.overlay import overlay
from fitcheck.report.edge.page import page_html
from fitcheck.report.edge.strip_pdf import cut_strip_pdf, worth_printing
from fitcheck.report.edge.ticket import ticket_pdf
from fitcheck.report.edge.wording import Wording

JPEG_QUALITY = 88


def write_report(
    measurement: Measurement,
    pixels: np.ndarray | Sequence[np.ndarray | None] | None,
    out_dir: str | os.PathLike[str],
    *,
    units: str | None = None,
    fraction: int | None = None,
    paper: str = "A4",
    date: str | None = None,
    fit: str | None = None,
    whole: np.ndarray | None = None,
    first: Sequence[str] = (),
) -> list[Path]:
    """Write the report of one measurement into ``out_dir`` and give the files' paths, the page first.

    ``pixels`` is the photograph upright, (H, W, 3) uint8 BGR, or one for each of the measurement's photographs in their
    order, None where one is not to be shown. Files have names of our own (``report.html``, ``report_picture_1.jpg``,
    …); what the photographs are called is only ever text. All is made before the first file is written, each is
    written whole or not at all, and what an older report left that this one has not, such as a cut strip, goes: no one
    planes by an old paper. ``whole`` is the picture of a whole plank, (H, W, 3) uint8 BGR.
    ``date`` is today's unless given, ``paper`` that of ticket and strip; ``first`` is printed on the ticket before the
    edge: the bevel where the lap stands open.

    Raises :class:`WrongCall` where the folder cannot be written.
    """
    date = date or datetime.date.today().isoformat()
    pictures = _pictures(measurement, pixels, units, fraction)
    parts = measurement.each_part()
    charts = [chart(part, units=units, fraction=fraction) for part in parts if part.samples]
    named = [(caption(measurement, index), jpeg) for index, jpeg in pictures]
    plank = None if whole is None else _jpeg(whole)
    page = page_html(measurement, pictures=named, whole=plank, charts=charts, date=date, units=units, fraction=fraction)
    made: dict[str, bytes] = {f"report_picture_{index + 1}.jpg": jpeg for index, jpeg in pictures}
    if plank is not None:
        made["report_plank.jpg"] = plank
    made |= {f"report_chart{of_part}.svg": drawn for of_part, drawn in zip(_names(parts), charts, strict=False)}
    made["report_ticket.pdf"] = ticket_pdf(
        measurement, paper=paper, date=date, fit=fit, units=units, fraction=fraction, first=first
    )
    wording = Wording.of(measurement, units=units, fraction=fraction)
    if any(worth_printing(cut, wording) for cut in (measurement.planing or {}).get("cuts", ())):
        made["report_cut_strip.pdf"] = cut_strip_pdf(measurement, paper=paper, units=units, fraction=fraction)
    if measurement.samples:
        named_parts = zip(_names(parts), parts, strict=True)
        made |= {f"report_edge{of_part}.dxf": dxf_bytes(part, units=units) for of_part, part in named_parts}
    folder = Path(out_dir)
    _clear_stale(folder, made)
    written = [write_text(folder / "report.html", page)]
    written += [write_bytes(folder / name, content) for name, content in made.items()]
    return [*written, write_json(folder / "report.json", measurement.as_json())]


def _names(parts: Sequence[Measurement]) -> list[str]:
    """What the files of each part of a plank are named by: the card that it counts from. Nothing for a whole one."""
    return [f"_from_card_{part.part.from_card}" if part.part and part.part.of > 1 else "" for part in parts]


def _pictures(
    measurement: Measurement,
    pixels: np.ndarray | Sequence[np.ndarray | None] | None,
    units: str | None,
    fraction: int | None,
) -> list[tuple[int, bytes]]:
    """The marked photographs as JPEG, with their index among the measurement's."""
    given = [pixels] if isinstance(pixels, np.ndarray) else list(pixels or ())
    found = []
    for index, photo in enumerate(given):
        if photo is not None:
            shown, at = of_photo(measurement, index)
            drawn = overlay(photo, shown, photo_index=at, units=units, fraction=fraction)
            found.append((index, _jpeg(narrowed(drawn) if len(measurement.photos) > 1 else drawn)))
    return found


def _jpeg(pixels: np.ndarray) -> bytes:
    return bytes(cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])[1].tobytes())


def _clear_stale(folder: Path, made: Collection[str]) -> None:
    """Remove the files of an older report that this one does not write anew."""
    if not (folder / "report.html").is_file():
        return
    for old in folder.glob("report_*.*"):
        if old.suffix in (".jpg", ".svg", ".pdf", ".dxf") and old.name not in made:
            old.unlink(missing_ok=True)
