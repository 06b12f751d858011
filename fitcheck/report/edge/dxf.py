"""Edge, line and cut as a DXF drawing in mm, for those who plot or cut by machine."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from fitcheck.advice.cut_depth import told_cut
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.report.edge.answer import measured_runs, title
from fitcheck.report.edge.wording import Wording

#: $INSUNITS for millimetres.
MILLIMETRES = 4
LAYERS = {"LINE": 7, "EDGE": 5, "CUT": 1, "STATIONS": 8}


def dxf_bytes(measurement: Measurement, *, units: str | None = None) -> bytes:
    """The drawing: R2010, $INSUNITS 4, model space at full size.

    x is the place along the lap, straightened, y toward the sheer, the lap line y = 0. ``EDGE`` is the plank's lower
    edge as it lies (past the line is below it), in pieces where something was not measured; ``CUT`` the edge after the
    cuts, drawn on the plank as it lies now and no deeper than ticket and page tell in the builder's ``units`` (the
    measurement's own unless given); ``STATIONS`` the station cards.

    >>> b"AC1024" in dxf_bytes(Measurement("measured", {}))
    True
    """
    import ezdxf
    from ezdxf.units import MM

    drawing = ezdxf.new("R2010", units=MM)
    drawing.header["$INSUNITS"] = MILLIMETRES
    space = drawing.modelspace()
    for name, colour in LAYERS.items():
        drawing.layers.add(name, color=colour)
    samples = sorted(measurement.samples, key=Sample.place_mm)
    if samples:
        ends = [(samples[0].place_mm(), 0.0), (samples[-1].place_mm(), 0.0)]
        space.add_lwpolyline(ends, dxfattribs={"layer": "LINE"})
        _write(space, title(measurement), (ends[0][0], 12.0), "LINE")
    for run in measured_runs(samples):
        if len(run) > 1:
            edge = [(s.place_mm(), -float(s.past_line_mm or 0.0)) for s in run]
            space.add_lwpolyline(edge, dxfattribs={"layer": "EDGE"})
    _cuts(space, measurement, samples, Wording.of(measurement, units=units).units)
    for station in measurement.stations:
        at = float(station["plank_mm"])
        space.add_line((at, -5.0), (at, 5.0), dxfattribs={"layer": "STATIONS"})
        _write(space, str(station["number"]), (at + 1.0, 5.0), "STATIONS")
    held = io.StringIO()
    drawing.write(held)
    return held.getvalue().encode("utf-8")


def _cuts(space: Any, measurement: Measurement, samples: list[Sample], units: str) -> None:
    valued = [s for s in samples if s.past_line_mm is not None]
    if not valued:
        return
    places = np.array([s.place_mm() for s in valued])
    past = np.array([s.past_line_mm for s in valued], float)
    for cut in (measurement.planing or {}).get("cuts", ()):
        points = [(at, depth - float(np.interp(at, places, past))) for at, depth in told_cut(cut, units)["profile"]]
        if len(points) > 1:
            space.add_lwpolyline(points, dxfattribs={"layer": "CUT"})


def _write(space: Any, words: str, at: tuple[float, float], layer: str) -> None:
    space.add_text(words, height=4.0, dxfattribs={"layer": layer, "insert": at})
