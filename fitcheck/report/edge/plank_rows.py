"""One row of the whole-plank picture: words and ribbon, depth of the cuts, the strip with edge and line, the scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.advice.cut_depth import depth_at
from fitcheck.advice.states import UNSEEN_STEPS, stretches, usual_step_mm
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.plank.plank_band import PIXEL_MM
from fitcheck.report.drawing.canvas import Letters, draw_line, draw_ribbon, text_size
from fitcheck.report.drawing.palette import BLACK, EDGE, GREY, LINE, LOOKS, VERMILION, WHITE
from fitcheck.report.edge.marked import Marked, run_words
from fitcheck.report.edge.wording import Wording

#: A row from the top: words, ribbon, depth of the cuts, strip, scale.
WORDS_PX, RIBBON_PX, CUTS_PX, SCALE_PX, MARGIN_PX = 76, 34, 60, 104, 40
SIZE_PX = 43
#: Depths of cuts are drawn at most this many times as deep as the strip shows them.
MOST_TIMES = 10
#: Small and named ticks of the scale.
TICKS_MM = {"in": (25.4, 76.2), "mm": (10.0, 100.0)}


@dataclass(frozen=True, eq=False)
class Row:
    """A row's strip (R, C, 3) uint8 RGB from ``start_mm`` on, the row of its lap line, which way the keel lies, and how
    many times it is stretched across."""

    strip: np.ndarray
    start_mm: float
    line_row: float
    toward_keel: int
    across: int = 1

    @property
    def end_mm(self) -> float:
        """The place at the row's end."""
        return self.start_mm + self.strip.shape[1] * PIXEL_MM

    def u(self, place_mm: Any) -> np.ndarray:
        """Columns (N,) of the drawn row for places (N,)."""
        return MARGIN_PX + (np.asarray(place_mm, float) - self.start_mm) / PIXEL_MM


def draw_row(measurement: Measurement, samples: tuple[Sample, ...], row: Row, wording: Wording) -> np.ndarray:
    """The row drawn, (H, C + two margins, 3) uint8 RGB."""
    top = WORDS_PX + RIBBON_PX + CUTS_PX
    canvas = np.full((top + len(row.strip) + SCALE_PX, row.strip.shape[1] + 2 * MARGIN_PX, 3), 255, np.uint8)
    canvas[top : top + len(row.strip), MARGIN_PX : MARGIN_PX + row.strip.shape[1]] = row.strip
    cuts = tuple((measurement.planing or {}).get("cuts", ()))
    letters = Letters()
    _draw_runs(canvas, samples, cuts, row, wording, letters)
    _draw_cuts(canvas, cuts, row)
    _draw_edge(canvas, samples, row, top + row.line_row)
    _draw_scale(canvas, row, wording, top + len(row.strip), letters)
    _draw_stations(canvas, measurement, row, top, letters)
    return letters.onto(canvas)


def _draw_runs(
    canvas: np.ndarray,
    samples: tuple[Sample, ...],
    cuts: Sequence[Mapping[str, Any]],
    row: Row,
    wording: Wording,
    letters: Letters,
) -> None:
    """A ribbon, one look a run of like places, with its words above."""
    labels = ["plane" if depth_at(cuts, sample.place_mm()) > 0 else sample.state for sample in samples]
    runs = tuple(run for run in stretches(samples, labels) if run.to_mm > row.start_mm and run.from_mm < row.end_mm)
    empty = np.empty((0, 2))
    mark = Marked(
        samples=samples,
        edge_px=empty,
        line_px=empty,
        outlines_px=(),
        runs=runs,
        toward_sheer=-row.toward_keel,
        cuts=tuple(cuts),
    )
    free_from = 0.0
    for run in runs:
        left, right = (float(u) for u in row.u([max(run.from_mm, row.start_mm), min(run.to_mm, row.end_mm)]))
        if right - left < 2.0:
            continue
        ends = np.array([[left, WORDS_PX], [right, WORDS_PX]])
        look = LOOKS[run.label]
        draw_ribbon(canvas, ends, ends + np.array([0, RIBBON_PX - 8]), look.colour, look.hatch, 4)
        words = run_words(run, mark, wording)
        wide = text_size(words, SIZE_PX)[0] if words else 0
        at = float(np.clip((left + right - wide) / 2.0, max(free_from, MARGIN_PX), canvas.shape[1] - wide - 8.0))
        # Words that would stand over another stretch are left to the ribbon's look.
        if words and at >= free_from and at < right and (wide < right - left + 60 or run.label == "plane"):
            letters.write((at, WORDS_PX - 1.4 * SIZE_PX), words, SIZE_PX, BLACK, None)
            free_from = at + wide + SIZE_PX


def cut_times(cuts: Sequence[Mapping[str, Any]]) -> int:
    """How many times as deep the cuts are drawn, so that the deepest fits its lane.

    >>> cut_times([{"deepest_mm": 1.0}, {"deepest_mm": 2.1}])
    6
    """
    deepest_mm = max((float(cut["deepest_mm"]) for cut in cuts), default=0.0)
    fits = (CUTS_PX - 6) * PIXEL_MM / max(deepest_mm, 1e-6)
    return int(np.clip(fits, 1, MOST_TIMES))


def _draw_cuts(canvas: np.ndarray, cuts: Sequence[Mapping[str, Any]], row: Row) -> None:
    """The depth of each cut hanging from the ribbon, :func:`cut_times` as deep as the strip shows it."""
    top, times = WORDS_PX + RIBBON_PX, cut_times(cuts)
    for cut in cuts:
        at, depth = np.transpose(cut["profile"])
        inside = np.unique(np.clip(np.concatenate([at, [row.start_mm, row.end_mm]]), row.start_mm, row.end_mm))
        inside = inside[(inside >= at[0]) & (inside <= at[-1])]
        if len(inside) < 2:
            continue
        deep = np.interp(inside, at, depth) * times / PIXEL_MM
        level = np.column_stack([row.u(inside), np.full(len(inside), float(top))])
        draw_ribbon(canvas, level, level + np.column_stack([np.zeros(len(inside)), deep]), VERMILION, "", 2)


def _draw_edge(canvas: np.ndarray, samples: Sequence[Sample], row: Row, line_v: float) -> None:
    """The lap line and the edge, where they were measured."""
    places = np.array([sample.place_mm() for sample in samples])
    past = np.array([np.nan if sample.past_line_mm is None else sample.past_line_mm for sample in samples])
    apart = np.flatnonzero(np.diff(places) > UNSEEN_STEPS * usual_step_mm(places)) + 1
    places, past = np.insert(places, apart, places[apart]), np.insert(past, apart, np.nan)
    past[(places < row.start_mm) | (places > row.end_mm)] = np.nan
    line = np.column_stack([row.u(places), np.where(np.isfinite(past), line_v, np.nan)])
    edge = np.column_stack([row.u(places), line_v + row.toward_keel * row.across * past / PIXEL_MM])
    draw_line(canvas, line, LINE, 2, dash_px=24)
    draw_line(canvas, edge, EDGE, 3, casing=WHITE)


def _draw_scale(canvas: np.ndarray, row: Row, wording: Wording, top: int, letters: Letters) -> None:
    """A scale along the plank, in the builder's units."""
    small, named = TICKS_MM[wording.units]
    draw_line(canvas, np.array([[MARGIN_PX, top], [canvas.shape[1] - MARGIN_PX, top]], float), BLACK, 1)
    free_from = 0.0
    for tick in np.arange(np.ceil(row.start_mm / small), np.floor(row.end_mm / small) + 1) * small:
        whole = abs(tick / named - round(tick / named)) < 1e-6
        u = float(row.u(tick))
        draw_line(canvas, np.array([[u, top], [u, top + (26 if whole else 12)]]), GREY, 1, casing=GREY)
        if whole:
            words = wording.place(float(tick))
            wide = text_size(words, SIZE_PX)[0]
            left = float(np.clip(u - wide / 2, 4, canvas.shape[1] - wide - 4))
            if left >= free_from:
                letters.write((left, top + 30), words, SIZE_PX, BLACK, None)
                free_from = left + wide + SIZE_PX / 2


def _draw_stations(canvas: np.ndarray, measurement: Measurement, row: Row, top: int, letters: Letters) -> None:
    """A mark across the strip at each station card, with its number."""
    bottom = top + len(row.strip)
    for station in measurement.stations:
        place = float(station["plank_mm"])
        if row.start_mm <= place < row.end_mm:
            u = float(row.u(place))
            draw_line(canvas, np.array([[u, bottom - 40], [u, bottom + 20]]), WHITE, 4, casing=BLACK)
            words = f"card {station['number']}"
            left = float(np.clip(u + 10, 4, canvas.shape[1] - text_size(words, SIZE_PX)[0] - SIZE_PX // 2))
            letters.write((left, bottom - 50), words, SIZE_PX)
