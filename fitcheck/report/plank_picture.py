"""The whole plank in one picture: the strips of all photographs joined, with edge, line and cuts drawn on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fitcheck.measurement import Measurement, Sample
from fitcheck.plank.band import ABOVE_MM, PIXEL_MM, Band
from fitcheck.report.answer import planing_lines, title, verdict_words
from fitcheck.report.canvas import Letters, draw_line, draw_ribbon, text_size
from fitcheck.report.palette import BLACK, EDGE, LINE, LOOKS, VERMILION, WHITE
from fitcheck.report.plank_rows import MARGIN_PX, SIZE_PX, Row, cut_times, draw_row
from fitcheck.report.wording import Wording

#: A row of the picture shows this much of the plank: two feet, or its like for who measures in millimetres.
ROW_MM = {"in": 609.6, "mm": 600.0}
NOTHING = (214, 214, 214)


def plank_picture(
    measurement: Measurement, bands: Sequence[Band], *, units: str | None = None, fraction: int | None = None
) -> np.ndarray:
    """The picture, (H, W, 3) uint8 BGR: the plank in rows of 2 ft or 600 mm, from its lowest place on.

    ``bands`` are the strips of :func:`fitcheck.plank.measure.look_along_plank`; at each place the photograph is shown
    in whose middle it lies nearest, and plain grey where there is none. Raises ValueError for a measurement without
    samples.

    >>> few = tuple(Sample(None, 0.0, 0.2, "on", plank_mm=x) for x in (0.0, 5.0))
    >>> plank_picture(Measurement("measured", {}, samples=few), []).shape[1]
    2518
    """
    if not measurement.samples:
        raise ValueError("there are no samples to draw")
    wording = Wording.of(measurement, units=units, fraction=fraction)
    samples = tuple(sorted(measurement.samples, key=Sample.place_mm))
    row_mm = ROW_MM[wording.units]
    first, last = samples[0].place_mm(), samples[-1].place_mm()
    columns = round(row_mm / PIXEL_MM)
    rows = []
    for start_mm in np.arange(np.floor(first / row_mm) * row_mm, last, row_mm):
        strip = joined(bands, float(start_mm), columns)
        toward_keel = bands[0].toward_keel if bands else 1
        line_row = bands[0].line_row if bands else len(strip) / 2.0
        rows.append(draw_row(measurement, samples, Row(strip, float(start_mm), line_row, toward_keel), wording))
    width = columns + 2 * MARGIN_PX
    witness = bool(bands) and bands[0].drop_mm > 0
    picture = np.concatenate([_header(measurement, wording, width), *rows, _legend(measurement, width, witness)])
    return np.ascontiguousarray(picture[..., ::-1])


def joined(bands: Sequence[Band], start_mm: float, columns: int) -> np.ndarray:
    """The strips joined, (R, columns, 3) uint8 RGB, from ``start_mm`` on."""
    rows = len(bands[0].values) if bands else round(2 * ABOVE_MM / PIXEL_MM)
    picture = np.full((rows, columns, 3), NOTHING, np.uint8)
    place = start_mm + np.arange(columns) * PIXEL_MM
    least_off = np.full(columns, np.inf)
    for band in bands:
        at = np.round((place - band.from_mm) / PIXEL_MM).astype(int)
        inside = (at >= 0) & (at < len(band.seen))
        inside[inside] &= band.seen[at[inside]]
        off = np.abs(place - (band.from_mm + band.to_mm) / 2.0)
        nearer = inside & (off < least_off)
        picture[:, nearer] = band.values[:, at[nearer], ::-1]
        least_off[nearer] = off[nearer]
    return picture


def _header(measurement: Measurement, wording: Wording, width: int) -> np.ndarray:
    big = round(1.5 * SIZE_PX)
    lines = planing_lines(measurement.planing, wording)
    bar = np.full((round(1.7 * big + 1.4 * SIZE_PX * len(lines)), width, 3), 255, np.uint8)
    letters = Letters()
    headline = verdict_words(measurement.planing)[0]
    letters.write((MARGIN_PX, 0.2 * big), f"{headline}   {title(measurement)}", big, BLACK, None)
    for number, line in enumerate(lines):
        letters.write((MARGIN_PX, 1.7 * big + 1.4 * SIZE_PX * number), line, SIZE_PX, BLACK, None)
    return letters.onto(bar)


def _legend(measurement: Measurement, width: int, witness: bool) -> np.ndarray:
    """Each mark beside its meaning, in as many rows as it takes."""
    words = {"edge": "plank's edge", "line": "lap line"}
    if witness:
        words["line"] += ", worked out from the witness line below it"
    cuts = (measurement.planing or {}).get("cuts")
    if cuts:
        words |= {"plane": LOOKS["plane"].words, "cut": f"wood to come off, drawn {cut_times(cuts)} times as deep"}
    words |= {sample.state: LOOKS[sample.state].words for sample in measurement.samples}
    swatch, high = 3 * SIZE_PX, round(1.9 * SIZE_PX)
    places, left, row = [], float(MARGIN_PX), 0
    for said in words.values():
        needs = swatch + text_size(said, SIZE_PX)[0] + 2 * SIZE_PX
        if left + needs > width and left > MARGIN_PX:
            left, row = float(MARGIN_PX), row + 1
        places.append((left, row))
        left += needs
    bar = np.full((high * (row + 1), width, 3), 225, np.uint8)
    letters = Letters()
    for (kind, said), (left, row) in zip(words.items(), places, strict=True):
        middle = high * (row + 0.5)
        _swatch(bar, kind, np.array([[left, middle], [left + swatch - 0.6 * SIZE_PX, middle]]))
        letters.write((left + swatch, middle - 0.6 * SIZE_PX), said, SIZE_PX, BLACK, None)
    return letters.onto(bar)


def _swatch(bar: np.ndarray, kind: str, ends: np.ndarray) -> None:
    half = np.array([0.0, 0.4 * SIZE_PX])
    if kind == "edge":
        draw_line(bar, ends, EDGE, 4, casing=WHITE)
    elif kind == "line":
        draw_line(bar, ends, LINE, 4, dash_px=24)
    elif kind == "cut":
        draw_ribbon(bar, ends - half, ends + half, VERMILION, "", 4)
    else:
        draw_ribbon(bar, ends - half, ends + half, LOOKS[kind].colour, LOOKS[kind].hatch, 4)
