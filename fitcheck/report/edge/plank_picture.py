"""The whole plank in one picture: the strips of all photographs joined, with edge, line and cuts drawn on."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.plank.plank_band import ABOVE_MM, PIXEL_MM, Band
from fitcheck.report.drawing.canvas import Letters, draw_line, draw_ribbon, folded, legend_bar
from fitcheck.report.drawing.keel_side import past_is_down
from fitcheck.report.drawing.palette import BLACK, EDGE, LINE, LOOKS, VERMILION, WHITE
from fitcheck.report.edge.answer import title, verdict_words
from fitcheck.report.edge.gist import summed_up
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.edge.plank_rows import MARGIN_PX, SIZE_PX, Row, cut_times, draw_row
from fitcheck.report.edge.wording import Wording

#: A row of the picture shows this much of the plank, which a phone shows with letters that can be read.
ROW_MM = {"in": 304.8, "mm": 300.0}
#: The strip is stretched so many times across, and shows so much at least on either side of the lap line.
ACROSS, AROUND_MM, BEYOND_MM = 4, 6.0, 3.0
#: A photograph measured a place where a sample so near says so; one that did not is shown as if so much further off.
NEAR_MM, UNMEASURED_MM = 5.0, 1e6
NOTHING = (214, 214, 214)


def plank_picture(
    measurement: Measurement, bands: Sequence[Band], *, units: str | None = None, fraction: int | None = None
) -> np.ndarray:
    """The picture, (H, W, 3) uint8 BGR: the plank in rows of 1 ft or 300 mm, from its lowest place on.

    ``bands`` are the strips of :func:`fitcheck.plank.plank_edge.look_along_plank`, stretched :data:`ACROSS` times
    across; at each place a photograph is shown that measured it, the one in whose middle it lies nearest, else any,
    and plain grey where there is none. So the edge is drawn where it was seen, and through no clamp that
    only another photograph shows. Raises ValueError for a measurement without samples.

    >>> few = tuple(Sample(None, 0.0, 0.2, "on", plank_mm=x) for x in (0.0, 5.0))
    >>> plank_picture(Measurement("measured", {}, samples=few), []).shape[1]
    1299
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
        strip = joined(bands, float(start_mm), columns, samples)
        strip, line_row = _stretched(strip, bands[0].line_row if bands else len(strip) / 2.0, samples)
        row = Row(strip, float(start_mm), line_row, 1 if past_is_down(measurement) else -1, ACROSS)
        rows.append(draw_row(measurement, samples, row, wording))
    width = columns + 2 * MARGIN_PX
    witness = bool(bands) and bands[0].drop_mm > 0
    picture = np.concatenate([_header(measurement, wording, width), *rows, _legend(measurement, width, witness)])
    return np.ascontiguousarray(picture[..., ::-1])


def _stretched(strip: np.ndarray, line_row: float, samples: Sequence[Sample]) -> tuple[np.ndarray, float]:
    """The part of a strip about the lap line, stretched across, and the row of the line in it."""
    reach = [abs(sample.past_line_mm) + BEYOND_MM for sample in samples if sample.past_line_mm is not None]
    around = round(max([AROUND_MM, *reach]) / PIXEL_MM)
    top, bottom = max(0, round(line_row) - around), min(len(strip), round(line_row) + around)
    size = (strip.shape[1], ACROSS * (bottom - top))
    return cv2.resize(strip[top:bottom], size, interpolation=cv2.INTER_LINEAR), ACROSS * (line_row - top)


def plank_pictures(
    measurement: Measurement,
    bands: Sequence[Sequence[Band]],
    *,
    units: str | None = None,
    fraction: int | None = None,
) -> np.ndarray:
    """As :func:`plank_picture`, the parts of a plank one under another; ``bands`` are the strips of each part."""
    each = zip(measurement.each_part(), bands, strict=True)
    return np.concatenate([plank_picture(part, of_part, units=units, fraction=fraction) for part, of_part in each])


def joined(bands: Sequence[Band], start_mm: float, columns: int, samples: Sequence[Sample] = ()) -> np.ndarray:
    """The strips joined, (R, columns, 3) uint8 RGB, from ``start_mm`` on; ``samples`` say which photograph measured."""
    rows = len(bands[0].values) if bands else round(2 * ABOVE_MM / PIXEL_MM)
    picture = np.full((rows, columns, 3), NOTHING, np.uint8)
    place = start_mm + np.arange(columns) * PIXEL_MM
    least_off = np.full(columns, np.inf)
    for band in bands:
        at = np.round((place - band.from_mm) / PIXEL_MM).astype(int)
        inside = (at >= 0) & (at < len(band.seen))
        inside[inside] &= band.seen[at[inside]]
        off = np.abs(place - (band.from_mm + band.to_mm) / 2.0)
        off[~_measured_by(band.name, samples, place)] += UNMEASURED_MM
        nearer = inside & (off < least_off)
        picture[:, nearer] = band.values[:, at[nearer], ::-1]
        least_off[nearer] = off[nearer]
    return picture


def _measured_by(name: str, samples: Sequence[Sample], place: np.ndarray) -> np.ndarray:
    """Whether a photograph is among those that measured each place (C,)."""
    at = np.array([s.place_mm() for s in samples if s.past_line_mm is not None and name in s.photos])
    if not len(at):
        return np.zeros(len(place), bool)
    after = np.clip(np.searchsorted(at, place), 1, max(1, len(at) - 1))
    nearest = np.minimum(np.abs(place - at[after - 1]), np.abs(place - at[np.minimum(after, len(at) - 1)]))
    return nearest <= NEAR_MM


def _header(measurement: Measurement, wording: Wording, width: int) -> np.ndarray:
    big = round(1.5 * SIZE_PX)
    lines = [line for line in (frame_line(measurement.part), *summed_up(measurement, wording)) if line]
    headline = f"{verdict_words(measurement.planing)[0]}: {title(measurement)}"
    heads = folded(headline, big, width - 2 * MARGIN_PX)
    under = (0.4 + 1.3 * len(heads)) * big
    bar = np.full((round(under + 1.4 * SIZE_PX * len(lines)), width, 3), 255, np.uint8)
    letters = Letters()
    for number, line in enumerate(heads):
        letters.write((MARGIN_PX, (0.2 + 1.3 * number) * big), line, big, BLACK, None)
    for number, line in enumerate(lines):
        letters.write((MARGIN_PX, under + 1.4 * SIZE_PX * number), line, SIZE_PX, BLACK, None)
    return letters.onto(bar)


def _legend(measurement: Measurement, width: int, witness: bool) -> np.ndarray:
    """Each mark beside its meaning, in as many rows as it takes."""
    words = {"edge": "plank's edge", "line": "lap line"}
    if witness:
        words["line"] += ", from the witness line below"
    cuts = (measurement.planing or {}).get("cuts")
    if cuts:
        words |= {"plane": LOOKS["plane"].words, "cut": f"wood to come off, {cut_times(cuts)} times as deep"}
    words |= {sample.state: LOOKS[sample.state].words for sample in measurement.samples}
    words[""] = f"The strip is stretched {ACROSS} times across."
    return legend_bar(list(words.items()), width, SIZE_PX, _swatch)


def _swatch(bar: np.ndarray, kind: str, ends: np.ndarray, size: int) -> None:
    half = np.array([0.0, 0.4 * size])
    if kind == "edge":
        draw_line(bar, ends, EDGE, 4, casing=WHITE)
    elif kind == "line":
        draw_line(bar, ends, LINE, 4, dash_px=24)
    elif kind == "cut":
        draw_ribbon(bar, ends - half, ends + half, VERMILION, "", 4)
    else:
        draw_ribbon(bar, ends - half, ends + half, LOOKS[kind].colour, LOOKS[kind].hatch, 4)
