"""The chart: how far past or short the edge lies along the lap, with its doubt, the limits, and what is unseen."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from fitcheck.decide import WHY, stretches
from fitcheck.lengths import INCH_MM
from fitcheck.measurement import STATES_WITH_VALUE, Measurement, Sample
from fitcheck.report.answer import measured_runs, title
from fitcheck.report.palette import EDGE, GREY, LOOKS, hex_of
from fitcheck.report.wording import Wording

SIZE_IN = (9.0, 4.2)


def chart(
    measurement: Measurement, *, kind: str = "svg", units: str | None = None, fraction: int | None = None
) -> bytes:
    """The chart as "svg" or "png" bytes.

    Up is past the line. The curve is broken where nothing was measured, and such a stretch is hatched and named.
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
    with rc_context({"svg.hashsalt": "fitcheck", "svg.fonttype": "none", "font.size": 11, "hatch.linewidth": 1.2}):
        figure = Figure(figsize=SIZE_IN, layout="constrained")
        FigureCanvasAgg(figure)
        _draw(figure.add_subplot(), measurement, wording)
        held = io.BytesIO()
        figure.savefig(held, format=kind, dpi=150, metadata={"Date": None} if kind == "svg" else {"Software": None})
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
    _mark_unseen(axes, samples, along)
    _mark_cuts(axes, measurement, along, across)
    _name_axes(axes, measurement, wording, samples, along, across)


def _scales(wording: Wording) -> tuple[float, float]:
    """Millimetres in a unit of each axis."""
    return (float(INCH_MM), float(INCH_MM)) if wording.units == "in" else (1.0, 1.0)


def _mark_unseen(axes: Any, samples: list[Sample], along: float) -> None:
    for run in stretches(samples):
        if run.label in STATES_WITH_VALUE:
            continue
        axes.axvspan(
            run.from_mm / along, run.to_mm / along, facecolor="white", edgecolor=hex_of(GREY), hatch="///", zorder=0.5
        )
        axes.text(
            (run.from_mm + run.to_mm) / 2 / along,
            0.02,
            WHY[run.label],
            rotation=90,
            ha="center",
            va="bottom",
            fontsize=9,
            transform=axes.get_xaxis_transform(),
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5},
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
    axes.set_ylim(-reach, reach)
    step = _tick_step(reach, wording)
    axes.yaxis.set_major_locator(MultipleLocator(step))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: _past_tick(value * across, wording)))
    low, high = samples[0].place_mm() / along, samples[-1].place_mm() / along
    flip = wording.keel == "up" and not wording.on_plank
    axes.set_xlim((high, low) if flip else (low, high))
    step = _place_step(high - low, wording) * along
    axes.set_xticks([place / along for place in wording.round_places(low * along, high * along, step)])
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: wording.place(value * along)))
    axes.set_xlabel(wording.origin(measurement.reference).removesuffix("."))
    axes.set_ylabel("edge to line")
    axes.set_title(title(measurement), loc="left", fontweight="bold")
    axes.grid(axis="y", color="0.88", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.legend(loc="lower center", bbox_to_anchor=(0.5, -0.36), ncols=5, frameon=False, fontsize=10)


def _tick_step(reach: float, wording: Wording) -> float:
    steps = (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0) if wording.units == "in" else (0.5, 1.0, 2.0, 5.0, 10.0)
    return next((step for step in steps if reach / step <= 4.5), steps[-1])


def _place_step(length: float, wording: Wording) -> float:
    steps = (1, 2, 3, 6, 12, 24, 48) if wording.units == "in" else (50, 100, 200, 500, 1000)
    return float(next((step for step in steps if length / step <= 8), steps[-1]))


def _past_tick(mm: float, wording: Wording) -> str:
    if abs(mm) < 1e-6:
        return "on the line"
    size = wording.length(abs(mm))
    return f"past {size}" if mm > 0 else f"short {size}"
