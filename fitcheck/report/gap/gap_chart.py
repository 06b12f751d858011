"""The chart of an edge-on view: the gap along the lap with its doubt, and the height of the step."""

from __future__ import annotations

import io
from textwrap import fill
from typing import Any

import numpy as np

from fitcheck.contract.gap_measurement import NEIGHBOURS_MM, GapMeasurement
from fitcheck.reference.kinds import THICKNESS
from fitcheck.report.drawing.palette import BLACK, BLUE, hex_of
from fitcheck.report.edge.wording import Wording
from fitcheck.report.gap.gap_stretch_style import GAP_LOOKS
from fitcheck.report.gap.gap_wording import gap_runs, gap_wording, joint_word

#: As the other chart: letters of 12 px where a phone shows it as wide as its page.
SIZE_IN, LETTERS_PT, WIDTH_LETTERS, MOST_TICKS = (6.6, 6.2), 15.5, 46, 5


def gap_chart(measurement: GapMeasurement, *, kind: str = "svg") -> bytes:
    """The chart as "svg" or "png" bytes: above the gap, below the step where a reference gave the scale.

    Bands are 95 %. Ground and hatch tell open, closed, untold and covered. Raises ValueError without samples.
    """
    if not measurement.samples:
        raise ValueError("a measurement without samples has no chart")
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    wording = gap_wording(measurement)
    known = sorted((one for one in measurement.samples if one.gap_mm is not None), key=lambda one: one.place_mm())
    scaled = any("scale-from-thickness" not in one.flags and one.proud_mm is not None for one in known)
    with rc_context({"svg.hashsalt": "fitcheck", "svg.fonttype": "none", "font.size": LETTERS_PT}):
        figure = Figure(figsize=SIZE_IN, layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.subplots(2 if scaled else 1, 1, sharex=True, squeeze=False)[:, 0]
        inch = 1.0 if wording.units == "mm" else 25.4
        at = np.array([one.place_mm() for one in known]) / inch
        _grounds(axes[0], measurement, inch)
        _band(axes[0], at, [one.gap_mm for one in known], [one.gap_u95_mm for one in known], inch, named=True)
        axes[0].set_ylabel(f"gap, {wording.units}")
        if scaled:
            _band(axes[1], at, [one.proud_mm for one in known], [one.proud_u95_mm for one in known], inch)
            _gains(axes[1], measurement, inch)
            axes[1].set_ylabel(f"proud, {wording.units}")
        _finish(axes, measurement, wording)
        # Below the axes: no words lie over a curve.
        figure.legend(loc="outside lower center", ncols=2, frameon=False)
        drawn = io.BytesIO()
        figure.savefig(drawn, format=kind, metadata={"Date": None} if kind == "svg" else None)
    return drawn.getvalue()


def _finish(axes: Any, measurement: GapMeasurement, wording: Wording) -> None:
    """Ends, names and ticks of the axes."""
    from matplotlib.ticker import MaxNLocator

    where = "from station card 0" if wording.on_plank else "from the reference's middle"
    if (measurement.reference or {}).get("kind") == THICKNESS.name:
        where = "from the middle of the picture, roughly"
    joint = joint_word(measurement)
    if joint == "seam":
        where = "from the first place pointed at"
    axes[-1].set_xlabel(fill(f"place along the {joint}, {wording.units}, {where}", WIDTH_LETTERS))
    if wording.keel == "up" and not wording.on_plank:
        axes[-1].invert_xaxis()
    for one in axes:
        one.set_ylim(bottom=0)
        one.xaxis.set_major_locator(MaxNLocator(MOST_TICKS))
        one.yaxis.set_major_locator(MaxNLocator(MOST_TICKS))
        one.grid(True, alpha=0.3)


def _band(axis: Any, at: np.ndarray, values: list[Any], doubts: list[Any], inch: float, *, named: bool = False) -> None:
    """A line in its 95 % band, broken where places are missing."""
    value, doubt = np.array(values, float) / inch, np.array(doubts, float) / inch
    for part in np.split(np.arange(len(at)), np.flatnonzero(np.diff(at) * inch > NEIGHBOURS_MM) + 1):
        low = np.maximum(value[part] - doubt[part], 0.0)
        axis.fill_between(at[part], low, value[part] + doubt[part], color=hex_of(BLUE), alpha=0.25, lw=0)
        axis.plot(
            at[part],
            value[part],
            color=hex_of(BLUE),
            lw=1.8,
            label="measured, with 95 %" if named and part[0] == 0 else None,
        )


def _gains(axis: Any, measurement: GapMeasurement, inch: float) -> None:
    """The step that each gain asks for, dashed."""
    for number, gain in enumerate(measurement.gains):
        places, _, should, _ = np.transpose(gain["profile"])
        label = "the gain as meant" if number == 0 else None
        axis.plot(places / inch, should / inch, color=hex_of(BLACK), lw=1.4, ls="--", label=label)


def _grounds(axis: Any, measurement: GapMeasurement, inch: float) -> None:
    named: set[str] = set()
    for run in gap_runs(measurement.samples):
        look = GAP_LOOKS[run.state]
        label = None if run.state in named else look.words
        named.add(run.state)
        axis.axvspan(
            (run.from_mm - 2.5) / inch,
            (run.to_mm + 2.5) / inch,
            facecolor=hex_of(look.colour),
            alpha=0.18,
            hatch=look.hatch or None,
            edgecolor=hex_of(look.colour),
            lw=0,
            label=label,
        )
    for number, ends in enumerate(measurement.unseen):
        label = "unseen" if number == 0 else None
        axis.axvspan(ends["from_mm"] / inch, ends["to_mm"] / inch, facecolor="none", hatch="..", lw=0, label=label)
