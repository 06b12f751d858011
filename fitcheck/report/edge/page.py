"""The report as one HTML page: everything in the file, nothing asked of a network, readable on a phone and on paper."""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from itertools import zip_longest
from pathlib import Path
from typing import Any

from fitcheck import __version__
from fitcheck.contract.flags import describe, told
from fitcheck.contract.measurement import Measurement
from fitcheck.report.drawing.cautions import CAUTIONS, SHAVING
from fitcheck.report.drawing.found import pointing_words
from fitcheck.report.edge.answer import (
    Row,
    limit_line,
    rows,
    summary_lines,
    title,
    verdict_words,
    warning_lines,
)
from fitcheck.report.edge.gist import gist
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.edge.wording import Wording

TEMPLATE = Path(__file__).with_name("page.html")
INPUT_NAMES = {
    "reference": "reference",
    "thickness_mm": "plank's thickness",
    "lap_mm": "lap",
    "bevel_deg": "bevel",
    "witness_mm": "witness line",
    "keel": "keel in the picture",
    "limit_mm": "limit",
}


def page_html(
    measurement: Measurement,
    *,
    pictures: Sequence[tuple[str, bytes]] = (),
    whole: bytes | None = None,
    charts: Sequence[bytes] = (),
    date: str | None = None,
    units: str | None = None,
    fraction: int | None = None,
) -> str:
    """The page of one measurement, measured or refused.

    ``pictures`` are names with JPEG bytes, as drawn by the overlay, ``whole`` the JPEG of a whole plank, ``charts``
    SVG, one for each part of the plank. Every text from outside (plank's name, photographs' names, reasons) is escaped.

    >>> "&lt;b&gt;" in page_html(Measurement("measured", {"plank": "<b>4 port</b>"}))
    True
    """
    from jinja2 import Environment

    wording = Wording.of(measurement, units=units, fraction=fraction)
    environment = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    environment.filters["unbroken"] = _unbroken
    template = environment.from_string(TEMPLATE.read_text(encoding="utf-8"))
    headline, asks = verdict_words(measurement.planing) if measurement else ("NOT MEASURED", _refusal(measurement))
    first, after = gist(measurement, wording)
    many = len(measurement.photos) > 1
    shown = [{"source": _data(jpeg, "image/jpeg"), "words": name} for name, jpeg in pictures]
    return template.render(
        title=title(measurement),
        date=date,
        headline=headline,
        asks=asks,
        verdict_class=headline.lower().replace(" ", "-") if measurement else "refused",
        frame=frame_line(measurement.part),
        first=first if measurement else [],
        after=after if measurement else [],
        cuts=bool((measurement.planing or {}).get("cuts")),
        shaving=SHAVING,
        whole=_data(whole, "image/jpeg") if whole else None,
        # What points into one photograph measures that one by itself.
        found=[] if many else pointing_words(measurement.candidates, _line_words(measurement)),
        pictures=[] if many else shown,
        of_many=shown if many else [],
        sections=[
            _section(part, Wording.of(part, units=units, fraction=fraction), drawn)
            for part, drawn in zip_longest(measurement.each_part(), charts)
        ],
        warnings=warning_lines(measurement),
        flags=[describe(flag) for flag in told(flag for sample in measurement.samples for flag in sample.flags)],
        budget=[(name, _part(size, wording.units)) for name, size in measurement.budget_mm.items()],
        inputs=_inputs(measurement, wording),
        cautions=CAUTIONS,
    )


def _line_words(measurement: Measurement) -> str:
    return "witness line" if measurement.settings.get("witness_mm") else "lap line"


def _section(part: Measurement, wording: Wording, drawn: bytes | None) -> dict[str, Any]:
    """Chart, table and summary of one part of a plank, or of the whole where it hangs together."""
    return {
        "heading": frame_line(part.part) if part.part is not None and part.part.of > 1 else "",
        "chart": _data(drawn, "image/svg+xml") if drawn else None,
        "rows": [_looked(row) for row in rows(part, wording)],
        "origin": wording.origin(part.reference),
        "limit": limit_line(part, wording),
        "summary": summary_lines(part, wording) if part.samples else [],
    }


def _unbroken(text: str) -> str:
    """Lengths that a line never breaks within: ``13-1/2 in`` stays whole."""
    return re.sub(r"(?<=\d) (?=(?:in|ft|mm)\b)", "\u00a0", re.sub(r"(?<=\d)-(?=\d+/)", "\u2011", text))


def _data(content: bytes, kind: str) -> str:
    return f"data:{kind};base64,{base64.b64encode(content).decode('ascii')}"


def _refusal(measurement: Measurement) -> str:
    return " ".join(reason.text for reason in measurement.reasons)


def _looked(row: Row) -> dict[str, Any]:
    return {**vars(row), "look": "plane" if row.means.startswith("plane ") else row.state}


def _part(mm: float, units: str) -> str:
    """One part of the doubt, finer than a rule."""
    return f"{mm:.3f} mm" if units == "mm" else f"{mm / 25.4:.4f} in"


def _inputs(measurement: Measurement, wording: Wording) -> list[tuple[str, str]]:
    settings = measurement.settings
    found = [(words, _setting(key, settings[key], wording)) for key, words in INPUT_NAMES.items() if key in settings]
    photos = ", ".join(str(photo.get("name", "")) for photo in measurement.photos)
    return [*found, *([("photographs", photos)] if photos else []), ("fitcheck", __version__)]


def _setting(key: str, value: Any, wording: Wording) -> str:
    if value is None:
        return "none" if key == "witness_mm" else "not told"
    if key.endswith("_mm"):
        return wording.length(float(value))
    return f"{value:g}°" if key.endswith("_deg") else str(value)
