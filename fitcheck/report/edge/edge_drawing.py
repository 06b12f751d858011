"""The drawing on the ticket: the plank's edge along its line, the wood to come off, to a stated stretched scale."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fitcheck.advice.cut_depth import depth_at
from fitcheck.advice.states import stretches
from fitcheck.contract.measurement import STATES_WITH_VALUE, Measurement, Sample
from fitcheck.ground.runs import runs
from fitcheck.report.drawing.keel_side import past_is_down
from fitcheck.report.drawing.palette import EDGE, GREY, LOOKS
from fitcheck.report.drawing.sheet import Sheet
from fitcheck.report.edge.wording import Wording

WOOD = (244, 230, 208)
#: How many times full size depths are drawn: the largest that fits is taken.
DEPTH_TIMES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0)
PLANK_MM, ROOM_MM = 9.0, 17.0


def draw_profile(
    sheet: Sheet, measurement: Measurement, wording: Wording, at: tuple[float, float], wide: float
) -> float:
    """Draw the edge of the plank in a box ``wide`` mm wide with its top left at ``at``; gives its foot in mm.

    A plank runs from card 0 at the left, one photograph as the picture shows it; the plank lies above its line or
    below it, as in picture and chart.
    """
    left, top = at
    samples = sorted(measurement.samples, key=Sample.place_mm)
    low, high = samples[0].place_mm(), max(samples[-1].place_mm(), samples[0].place_mm() + 1.0)
    reach = max([0.5, *(abs(s.past_line_mm) for s in samples if s.past_line_mm is not None)])
    times = next((k for k in DEPTH_TIMES if reach * k <= ROOM_MM), DEPTH_TIMES[-1])
    flip = wording.keel == "up" and not wording.on_plank
    room = min(ROOM_MM, reach * times + 2.0)
    down = past_is_down(measurement)
    line_at = top + room + (PLANK_MM if down else 0.0)
    bottom = line_at + room + (0.0 if down else PLANK_MM)
    plank_y, foot = top if down else bottom, bottom + 1.0

    def x(place: float) -> float:
        share = (place - low) / (high - low)
        return left + wide * (1.0 - share if flip else share)

    def y(past: float) -> float:
        return line_at + past * times * (1.0 if down else -1.0)

    _edges(sheet, measurement, samples, x, y, plank_y)
    sheet.line([(left, line_at), (left + wide, line_at)], width_mm=0.35, dash_mm=(2.0, 1.2))
    _ticks(sheet, measurement, wording, samples, x, foot)
    scale = (high - low) / wide
    side = "above" if down else "below"
    words = f"The plank {side}, its lap line dashed. Depth drawn {times:g} times full size, length 1 to {scale:.0f}."
    sheet.text((left, foot + 9.5), words, 8, most_mm=wide)
    return foot + 10.5


def _edges(
    sheet: Sheet,
    measurement: Measurement,
    samples: list[Sample],
    x: Callable[[float], float],
    y: Callable[[float], float],
    plank_y: float,
) -> None:
    """The plank as far as its edge, stretch by stretch; cuts hatched; stretches without a number barred."""
    cuts = (measurement.planing or {}).get("cuts", ())
    seen = ["seen" if s.state in STATES_WITH_VALUE else s.state for s in samples]
    for run in stretches(samples, seen):
        inside = [s for s in samples if run.from_mm <= s.place_mm() <= run.to_mm and s.past_line_mm is not None]
        if run.label != "seen" or not inside:
            box = [(x(run.from_mm), plank_y), (x(run.to_mm), plank_y), (x(run.to_mm), y(0)), (x(run.from_mm), y(0))]
            sheet.hatched(box, GREY, pitch_mm=1.2, slant=0.0)
            continue
        at = np.array([s.place_mm() for s in inside])
        past = np.array([s.past_line_mm for s in inside], float)
        edge = [(x(float(place)), y(float(v))) for place, v in zip(at, past, strict=True)]
        sheet.area([(edge[0][0], plank_y), *edge, (edge[-1][0], plank_y)], WOOD)
        depth = np.array([depth_at(cuts, float(place)) for place in at])
        for cut in runs(depth > 0):
            if cut.stop - cut.start > 1:
                kept = [(x(float(at[i])), y(float(past[i] - depth[i]))) for i in range(cut.start, cut.stop)]
                sheet.area([*kept, *edge[cut][::-1]], (255, 255, 255))
                sheet.hatched([*kept, *edge[cut][::-1]], LOOKS["plane"].colour)
                sheet.line(kept, LOOKS["plane"].colour, 0.4)
        sheet.line(edge, EDGE, 0.6)


def _ticks(
    sheet: Sheet,
    measurement: Measurement,
    wording: Wording,
    samples: list[Sample],
    x: Callable[[float], float],
    foot: float,
) -> None:
    """Station cards, or round places, under the drawing."""
    low, high = samples[0].place_mm(), samples[-1].place_mm()
    marks = [(float(s["plank_mm"]), str(s["number"])) for s in measurement.stations]
    if marks:
        sheet.text((x(low), foot + 6.2), "station cards", 7)
    else:
        step = 76.2 if wording.units == "in" else 100.0
        step *= max(1, round((high - low) / step / 8))
        marks = [(at, wording.place(at)) for at in wording.round_places(low, high, step)]
    for place, words in marks:
        if low - 1 <= place <= high + 1:
            sheet.line([(x(place), foot - 1.5), (x(place), foot + 0.5)], width_mm=0.3)
            half = sheet.text_mm(words, 8, bold=True) / 2
            middle = min(max(x(place), min(x(low), x(high)) + half), max(x(low), x(high)) - half)
            sheet.text((middle, foot + 3.4), words, 8, bold=True, align="centre")
