"""The report of an edge-on view as one HTML page: everything in the file, nothing asked of a network."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from pathlib import Path

from fitcheck.contract.flags import describe, told
from fitcheck.contract.gap_measurement import GapMeasurement
from fitcheck.report.drawing.cautions import CAUTIONS
from fitcheck.report.drawing.found import pointing_words
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.gap.gap_advice import advice_lines
from fitcheck.report.gap.gap_wording import gap_wording, joint_word
from fitcheck.report.gap.gap_words import (
    doubt_lines,
    gap_title,
    gap_verdict,
    has_steps,
    open_lines,
    origin,
    summary_lines,
    table_rows,
)

TEMPLATE = Path(__file__).with_name("gap_page.html")


def gap_page_html(
    measurement: GapMeasurement,
    *,
    pictures: Sequence[tuple[str, bytes]] = (),
    chart_svg: bytes | None = None,
    date: str | None = None,
) -> str:
    """The page of one edge-on measurement, measured or refused; ``pictures`` are words to stand under
    each with JPEG bytes, as drawn by the overlay.

    Every text from outside (plank's name, photographs' names, reasons) is escaped.

    >>> "&lt;b&gt;" in gap_page_html(GapMeasurement("refused", {"plank": "<b>4 port</b>"}))
    True
    """
    from jinja2 import Environment

    template = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True).from_string(
        TEMPLATE.read_text(encoding="utf-8")
    )
    headline, means = gap_verdict(measurement)
    wording = gap_wording(measurement)
    seen = bool(measurement.samples)
    flags = told(flag for sample in measurement.samples for flag in sample.flags)
    notes = summary_lines(measurement) if seen else []
    notes += [warning.text for warning in measurement.warnings] + [describe(flag) for flag in flags]
    return template.render(
        title=gap_title(measurement),
        date=date,
        headline=headline,
        means=means,
        frame=frame_line(measurement.part),
        told=[*open_lines(measurement), *advice_lines(measurement), *doubt_lines(measurement)] if seen else [],
        pictures=[{"source": _data(jpeg, "image/jpeg"), "words": name} for name, jpeg in pictures],
        chart=_data(chart_svg, "image/svg+xml") if chart_svg else None,
        # What points into one photograph measures that one by itself.
        found=pointing_words(measurement.candidates) if len(measurement.photos) < 2 else [],
        rows=table_rows(measurement, wording) if seen else [],
        joint=joint_word(measurement),
        steps=has_steps(measurement),
        origin=origin(measurement, wording),
        notes=notes,
        cautions=CAUTIONS,
    )


def _data(content: bytes, kind: str) -> str:
    return f"data:{kind};base64,{base64.b64encode(content).decode('ascii')}"
