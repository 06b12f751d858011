"""The report folder of an edge-on view: marked picture, chart, page and JSON."""

from __future__ import annotations

import datetime
import os
from pathlib import Path

import cv2
import numpy as np

from fitcheck.files import write_bytes, write_json, write_text
from fitcheck.lap.gap_measurement import GapMeasurement
from fitcheck.report.gap_chart import gap_chart
from fitcheck.report.gap_overlay import gap_overlay
from fitcheck.report.gap_page import gap_page_html

JPEG_QUALITY = 88


def write_gap_report(
    measurement: GapMeasurement,
    pixels: np.ndarray | None,
    out_dir: str | os.PathLike[str],
    *,
    date: str | None = None,
) -> list[Path]:
    """Write the report of one edge-on measurement into ``out_dir`` and give the files' paths, the page first.

    ``pixels`` is the photograph upright, (H, W, 3) uint8 BGR, or None where it is not to be shown. All is made before
    the first file is written, and each is written whole or not at all. Raises
    :class:`fitcheck.refusal.WrongCall` where the folder cannot be written.
    """
    date = date or datetime.date.today().isoformat()
    made: dict[str, bytes] = {}
    picture = None
    if pixels is not None:
        drawn = gap_overlay(pixels, measurement)
        picture = bytes(cv2.imencode(".jpg", drawn, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])[1].tobytes())
        made["gap_picture.jpg"] = picture
    chart_svg = gap_chart(measurement) if measurement.samples else None
    if chart_svg is not None:
        made["gap_chart.svg"] = chart_svg
    page = gap_page_html(measurement, picture=picture, chart_svg=chart_svg, date=date)
    folder = Path(out_dir)
    written = [write_text(folder / "gap.html", page)]
    written += [write_bytes(folder / name, content) for name, content in made.items()]
    return [*written, write_json(folder / "gap.json", measurement.as_json())]
