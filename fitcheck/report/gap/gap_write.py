"""The report folder of an edge-on view: marked picture, chart, page and JSON."""

from __future__ import annotations

import datetime
import os
from collections.abc import Collection, Sequence
from pathlib import Path

import cv2

from fitcheck.contract.gap_measurement import GapMeasurement
from fitcheck.ground.files import write_bytes, write_json, write_text
from fitcheck.picture.photo import Photo
from fitcheck.report.edge.one_of_many import MOST_SHOWN, narrowed
from fitcheck.report.gap.gap_chart import gap_chart
from fitcheck.report.gap.gap_overlay import gap_overlay
from fitcheck.report.gap.gap_page import gap_page_html
from fitcheck.report.gap.gap_ticket import gap_ticket_pdf
from fitcheck.report.gap.gap_words import joint_word

JPEG_QUALITY = 88


def write_gap_report(
    measurement: GapMeasurement,
    photos: Sequence[tuple[Photo, GapMeasurement]],
    out_dir: str | os.PathLike[str],
    *,
    paper: str = "A4",
    date: str | None = None,
) -> list[Path]:
    """Write the report of one edge-on measurement into ``out_dir`` and give the files' paths, the page first.

    ``photos`` are the photographs to show, each with the measurement to be drawn on it; one whose pixels were let go is
    read again. All is made before the first file is written, each is written whole or not at all, and what an older
    report left that this one has not goes. Raises :class:`fitcheck.ground.refusal.WrongCall` where the folder cannot be
    written.
    """
    date = date or datetime.date.today().isoformat()
    pictures = _pictures(measurement, photos)
    made = {f"gap_picture_{number + 1}.jpg": jpeg for number, (_, jpeg) in enumerate(pictures)}
    chart_svg = gap_chart(measurement) if measurement.samples else None
    if chart_svg is not None:
        made["gap_chart.svg"] = chart_svg
    made["gap_ticket.pdf"] = gap_ticket_pdf(measurement, paper=paper, date=date)
    page = gap_page_html(measurement, pictures=pictures, chart_svg=chart_svg, date=date)
    folder = Path(out_dir)
    _clear_stale(folder, made)
    written = [write_text(folder / "gap.html", page)]
    written += [write_bytes(folder / name, content) for name, content in made.items()]
    return [*written, write_json(folder / "gap.json", measurement.as_json())]


def _pictures(measurement: GapMeasurement, photos: Sequence[tuple[Photo, GapMeasurement]]) -> list[tuple[str, bytes]]:
    """What stands under each picture, and its JPEG; of several photographs not used only the first few."""
    several = len(measurement.photos) > 1
    lost = 0
    found = []
    for photo, part in photos:
        lost += not part
        if several and not part and lost > MOST_SHOWN:
            continue
        words = f"Photograph {photo.name}, marked; below it the {joint_word(measurement)} magnified"
        if not part:
            words = f"Photograph {photo.name}, not used: what was found in it"
        found.append((words, _picture(photo, part, small=several and not part)))
    return found


def _picture(photo: Photo, part: GapMeasurement, *, small: bool) -> bytes:
    drawn = gap_overlay(photo.decoded(), part)
    drawn = narrowed(drawn) if small else drawn
    return bytes(cv2.imencode(".jpg", drawn, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])[1].tobytes())


def _clear_stale(folder: Path, made: Collection[str]) -> None:
    if not (folder / "gap.html").is_file():
        return
    for old in folder.glob("gap_*.*"):
        if old.suffix in (".jpg", ".svg", ".pdf") and old.name not in made:
            old.unlink(missing_ok=True)
