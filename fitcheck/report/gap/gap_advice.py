"""What follows from an edge-on view, in words: which bevel to plane, the step against its gain, a seam's bearing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from fitcheck.contract.gap_measurement import GapMeasurement, GapSample
from fitcheck.report.edge.wording import Wording
from fitcheck.report.gap.gap_wording import gap_length, gap_runs, gap_wording

FIRST = (
    "Bevel first, edge after: bevelling lets the plank lie closer and moves its edge, so what was told of the edge "
    "waits. Clamp, photograph edge-on and square-on again."
)


def bevel_depth(mm: float, units: str) -> str:
    """How much to plane for a bevel, rounded down: never more wood than the lap is surely open.

    >>> bevel_depth(0.429, "mm"), bevel_depth(0.429, "in")
    ('0.42 mm', '0.016 in')
    """
    step = 0.01 if units == "mm" else 0.0254
    return gap_length(math.floor(mm / step + 1e-6) * step, units)


def advice_lines(measurement: GapMeasurement) -> list[str]:
    """Which bevel to plane, what a seam wants off, and how the step runs out in its gains."""
    wording = gap_wording(measurement)
    bevel = measurement.bevel or {}
    lines = bevel_lines(bevel, wording)
    if bevel.get("cuts"):
        lines.append(_seam_line(bevel["cuts"], measurement.samples, wording))
    for gain in measurement.gains:
        lines += gain_lines(gain, wording)
    return lines


def bevel_lines(bevel: Mapping[str, Any], wording: Wording) -> list[str]:
    """Where to plane the strake below and how much, and that the edge waits; nothing where no lap is open."""
    lines = [_bevel_line(run, wording) for run in bevel.get("runs", ())]
    return [*lines, FIRST] if lines else []


def _seam_line(cuts: Sequence[Sequence[float]], samples: Sequence[GapSample], wording: Wording) -> str:
    """What comes off where a seam bears, from where to where; no stretch reaches over a place that is not closed."""
    bears = [run for run in gap_runs(samples) if run.state == "closed"]
    wanted = [run for run in bears if any(run.from_mm - 0.05 <= at <= run.to_mm + 0.05 for at, _ in cuts)]
    where = ", ".join(wording.span(run.from_mm, run.to_mm) for run in wanted)
    most = bevel_depth(max(depth for _, depth in cuts), wording.units)
    return f"it bears {where}: take at most {most} off there, never off the open part, and try it again"


def _bevel_line(run: Mapping[str, Any], wording: Wording) -> str:
    more = f", {run['more_deg']:.1f}° more bevel" if run.get("more_deg") else ""
    becomes = f" ({run['becomes_deg']:.1f}° in all)" if run.get("becomes_deg") else ""
    return (
        f"{wording.span(run['from_mm'], run['to_mm'])}: plane the lap of the strake below toward its upper edge, "
        f"at most {bevel_depth(run['deepest_mm'], wording.units)} off at that edge (at {wording.place(run['at_mm'])}), "
        f"tapering to nothing at the lap line{more}{becomes}"
    )


def gain_lines(gain: Mapping[str, Any], wording: Wording) -> list[str]:
    """Where the step is to come down, where it is over-cut, and whether it comes flush."""
    where = wording.place(gain["end_mm"])
    found = " (found where the heights fit best)" if gain.get("end_found") else ""
    lines = [
        f"gain: {wording.span(run['from_mm'], run['to_mm'])} the step is too high: at the most take "
        f"{wording.depth(run['most_mm'])} off it, at {wording.place(run['at_mm'])}"
        for run in gain["take_off"]
    ]
    lines += [
        f"gain: {wording.span(run['from_mm'], run['to_mm'])} over-cut by {wording.length(run['most_mm'])} or more at "
        f"{wording.place(run['at_mm'])}: wood cannot be put back; leave it and see how it beds"
        for run in gain["over_cut"]
    ]
    if not lines:
        lines.append("gain: as meant, as far as its doubt tells")
    return [*lines, f"gain: ends at {where}{found}; {_flush_words(gain, wording)}"]


def _flush_words(gain: Mapping[str, Any], wording: Wording) -> str:
    if gain.get("end_proud_mm") is None:
        return "its end is not in sight, so whether it comes flush is not told"
    step = f"{wording.length(max(gain['end_proud_mm'], 0.0))} ± {wording.doubt(gain['end_u95_mm'])} proud there"
    if gain["flush"] is None:
        return f"unsure whether it comes flush ({step})"
    return f"it comes flush ({step})" if gain["flush"] else f"it does not come flush ({step})"
