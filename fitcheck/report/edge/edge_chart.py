"""The chart: how far past or short the edge lies along the lap, with its doubt, the limits, and what is unseen."""

from __future__ import annotations

import io
from textwrap import fill
from typing import Any

import numpy as np

from fitcheck.advice.states import stretches
from fitcheck.contract.measurement import STATES_WITH_VALUE, Measurement, Sample
from fitcheck.ground.lengths import INCH_MM
from fitcheck.report.drawing.keel_side import past_is_down
from fitcheck.report.drawing.palette import EDGE, GREY, LOOKS, hex_of
from fitcheck.report.edge.answer import measured_runs, title
from fitcheck.report.edge.wording import Wording

#: Small for its letters: a phone, where the chart is as wide as the page, shows them at 12 px.
SIZE_IN, LETTERS_PT = (6.6, 5.4), 15.5
#: So many round places at the most are named under it, and so many sizes on either side of the line.
MOST_PLACES, MOST_LETTERS, MOST_SIZES, WIDTH_LETTERS = 5, 38, 2.5, 40


def chart(
    measurement: Measurement, *, kind: str = "svg", units: str | None = None, fraction: int | None = None
) -> bytes:
    """The chart as "svg" or "png" bytes.

    Past and short lie as in the picture. The curve is broken where nothing was measured; such stretches are hatched
    and named in the legend, once.
    ``units`` and ``fraction`` are the measurement's own unless given. Raises ValueError for a measurement without
    samples.

    >>> fit = Measurement("measured", {}, samples=(Sample(0.0, 0.1, 0.2, "on"), Sample(5.0, 0.2, 0.2, "on")))
    >>> chart(fit, kind="png")[:4]
    b'\\x89PNG'
    """
    if not measurement.samples:
        raise ValueError("nothing was measured, so there is no chart")
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    wording = Wording.of(measurement, units=units, fraction=fraction)
    # Fixed ids and no date keep the same measurement the same file; letters stay text, so the page reads them aloud.
    with rc_context(
        {"svg.hashsalt": "fitcheck", "svg.fonttype": "none", "font.size": LETTERS_PT, "hatch.linewidth": 1.2}
    ):
        figure = Figure(figsize=SIZE_IN, layout="constrained")
        FigureCanvasAgg(figure)
        _draw(figure.add_subplot(), measurement, wording)
        figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=LETTERS_PT)
        held = io.BytesIO()
        figure.savefig(held, format=kind, dpi=200, metadata={"Date": None} if kind == "svg" else {"Software": None})
    return held.getvalue()


def _draw(axes: Any, measurement: Measurement, wording: Wording) -> None:
    samples = sorted(measurement.samples, key=Sample.place_mm)
    along, across = _scales(wording)
    limit = measurement.settings.get("limit_mm")
    axes.axhline(0.0, color="black", linewidth=1.6, label="lap line")
    if limit is not None:
        for side in (1, -1):
            name = f"limit, {wording.length(limit)}" if side > 0 else None
            axes.axhline(side * limit / across, color="black", linestyle=(0, (5, 3)), linewidth=1.1, label=name)
    first = True
    for run in measured_runs(samples):
        at = np.array([s.place_mm() for s in run]) / along
        past = np.array([s.past_line_mm for s in run], float) / across
        u95 = np.array([s.u95_mm for s in run], float) / across
        axes.fill_between(
            at,
            past - u95,
            past + u95,
            color=hex_of(EDGE),
            alpha=0.28,
            linewidth=0,
            label="95 in 100" if first else None,
        )
        axes.plot(at, past, color=hex_of(EDGE), linewidth=2.2, label="plank's edge" if first else None)
        first = False
    _mark_unseen(axes, samples, along, wording)
    _mark_cuts(axes, measurement, along, across)
    _name_axes(axes, measurement, wording, samples, along, across)


def _scales(wording: Wording) -> tuple[float, float]:
    """Millimetres in a unit of each axis."""
    return (float(INCH_MM), float(INCH_MM)) if wording.units == "in" else (1.0, 1.0)


def _mark_unseen(axes: Any, samples: list[Sample], along: float, wording: Wording) -> None:
    """Stretches without a number, hatched: one hatch and one entry for all, so that no words lie over the curve."""
    runs = [run for run in stretches(samples) if run.label not in STATES_WITH_VALUE]
    why = ", ".join(dict.fromkeys(LOOKS[run.label].words for run in runs))
    for number, run in enumerate(runs):
        label = None if number else fill(f"not measured: {why}", WIDTH_LETTERS // 2 + 4)
        ends = (run.from_mm / along, run.to_mm / along)
        axes.axvspan(
            *ends, facecolor="white", edgecolor=hex_of(GREY), hatch="///", zorder=0.5, linewidth=0, label=label
        )


def _mark_cuts(axes: Any, measurement: Measurement, along: float, across: float) -> None:
    """The wood to come off, hatched between the edge as it is and as it will be."""
    shown = False
    by_place = {round(s.place_mm(), 1): s.past_line_mm for s in measurement.samples if s.past_line_mm is not None}
    planing = measurement.planing or {}
    for cut in planing.get("cuts", ()):
        at, depth = np.transpose(cut["profile"])
        past = np.array([by_place.get(round(float(place), 1), np.nan) for place in at], float)
        axes.fill_between(
            at / along,
            past / across,
            (past - depth) / across,
            facecolor="none",
            edgecolor=hex_of(LOOKS["plane"].colour),
            hatch="////",
            linewidth=1.0,
            label=None if shown else "plane off",
        )
        shown = True


def _name_axes(
    axes: Any, measurement: Measurement, wording: Wording, samples: list[Sample], along: float, across: float
) -> None:
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    valued = [s for s in samples if s.past_line_mm is not None and s.u95_mm is not None]
    limit = float(measurement.settings.get("limit_mm") or 0.0)
    reach = max([2 * limit, 1.0, *(abs(s.past_line_mm or 0.0) + (s.u95_mm or 0.0) for s in valued)]) * 1.12 / across
    axes.set_ylim((reach, -reach) if past_is_down(measurement) else (-reach, reach))
    step = _tick_step(reach, wording)
    axes.yaxis.set_major_locator(MultipleLocator(step))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: _past_tick(value * across, wording)))
    first, last = samples[0].place_mm(), samples[-1].place_mm()
    flip = wording.keel == "up" and not wording.on_plank
    axes.set_xlim((last / along, first / along) if flip else (first / along, last / along))
    named = _named_places(first, last, wording)
    axes.set_xticks([place / along for place in named], [wording.place(place) for place in named])
    axes.set_xlabel(fill(wording.origin(measurement.reference).removesuffix("."), WIDTH_LETTERS))
    axes.set_ylabel("edge to line")
    axes.set_title(title(measurement), loc="left", fontweight="bold")
    axes.grid(axis="y", color="0.88", linewidth=0.8)
    axes.set_axisbelow(True)


def _tick_step(reach: float, wording: Wording) -> float:
    steps = (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0) if wording.units == "in" else (0.5, 1.0, 2.0, 5.0, 10.0)
    return next((step for step in steps if reach / step <= MOST_SIZES + 0.5), steps[-1])


def _named_places(first_mm: float, last_mm: float, wording: Wording) -> list[float]:
    """Round places, few enough to be read on a phone."""
    steps = (
        (25.4, 50.8, 76.2, 152.4, 304.8, 609.6, 1219.2) if wording.units == "in" else (50, 100, 200, 500, 1000, 2000)
    )
    sets = [wording.round_places(first_mm, last_mm, step) for step in steps]
    letters = [sum(len(wording.place(place)) + 2 for place in places) for places in sets]
    few = (s for s, wide in zip(sets, letters, strict=True) if len(s) <= MOST_PLACES and wide <= MOST_LETTERS)
    return next(few, sets[-1])


def _past_tick(mm: float, wording: Wording) -> str:
    if abs(mm) < 1e-6:
        return "on the line"
    size = wording.length(abs(mm))
    return f"past {size}" if mm > 0 else f"short {size}"
