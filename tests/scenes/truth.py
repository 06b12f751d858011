"""What is true of a made photograph, in the form of the shared photographs' JSON."""

from typing import Any

import numpy as np

from tests.scenes.arrays import Array, Mask
from tests.scenes.lap import Lap
from tests.scenes.things import reference_size, turned
from tests.scenes.view import View

STEP_MM = 5.0
NOTE = (
    "along_mm runs from the reference's centre, positive to the right with the keel down; "
    "past_line_mm is positive where the plank's edge runs past the lap line, negative where it is short"
)


def line_in_sight(lap: Lap, view: View, x: Array) -> Mask:
    """Is the lap line (N,) not behind the plank: neither its inner nor its outer corner crosses the sight line."""
    knuckle = lap.knuckle(x)
    origin, _, toward_sheer, outward = lap.hull.axes(x)
    sight = view.stand - (origin + knuckle[:, :1] * toward_sheer + knuckle[:, 1:] * outward)
    up = np.einsum("ni,ni->n", sight, toward_sheer)
    out = np.einsum("ni,ni->n", sight, outward)
    rise = up * lap.outward[0] + out * lap.outward[1]
    lean = (up * lap.toward_sheer[0] + out * lap.toward_sheer[1]) / rise
    short, gap = -lap.past(x), lap.gap(x)
    return (lean * gap < short) & (lean * (gap + lap.proud(x)) < short)


def seen_px(lap: Lap, view: View, x: Array, section: Array) -> Array:
    """Pixels (N, 2) of section points (N, 2) at x."""
    return view.project(lap.hull.face(x, section[:, 0], section[:, 1]))


def truth_of(lap: Lap, view: View) -> dict[str, Any]:
    """The truth of a scene: samples each 5 mm where the edge lies in the frame."""
    scene = lap.scene
    x = np.arange(-200, 201) * STEP_MM
    edge, line = seen_px(lap, view, x, lap.inner(x)), seen_px(lap, view, x, lap.knuckle(x))
    outer = seen_px(lap, view, x, lap.outer(x))
    struck = seen_px(lap, view, x, np.stack([lap.witness_y(x), np.zeros_like(x)], -1))
    width, height = scene.camera.size_px
    shown = [np.all((p > 20) & (p < [width - 21, height - 21]), axis=1) for p in (edge, line)]
    ahead = view.in_field(lap.hull.face(x, lap.line_y(x), np.zeros_like(x)))
    in_sight = line_in_sight(lap, view, x) & scene.line_drawn | bool(scene.witness_mm)
    values = zip(
        x,
        lap.plank_mm(x),
        lap.told_past(x),
        lap.gap(x),
        lap.proud(x),
        in_sight,
        edge,
        line,
        outer,
        struck,
        shown[0] & shown[1] & ahead,
        strict=True,
    )
    samples = [
        {
            "along_mm": float(along),
            "plank_mm": float(plank),
            "past_line_mm": round(float(past), 4),
            "gap_mm": round(float(gap), 4),
            "proud_mm": round(float(proud), 4),
            "line_seen": bool(seen),
            "edge_px": np.round(e, 2).tolist(),
            "line_px": np.round(n, 2).tolist(),
            "outer_px": np.round(o, 2).tolist(),
            **({"witness_px": np.round(s, 2).tolist()} if scene.witness_mm else {}),
        }
        for along, plank, past, gap, proud, seen, e, n, o, s, show in values
        if show
    ]
    return {
        "camera": scene.camera.name,
        "size": list(scene.camera.size_px),
        "kind": scene.kind,
        "thickness_mm": scene.thickness_mm,
        "lap_mm": scene.lap_mm,
        "bevel_deg": scene.bevel_deg,
        "eased_mm": scene.eased_mm,
        "reference": scene.reference,
        "reference_size_mm": list(reference_size(scene.reference if scene.reference != "none" else "rule-in")),
        "reference_px": _reference_px(lap, view),
        "witness_mm": scene.witness_mm,
        "clamps_mm": list(scene.clamps_mm),
        "camera_elevation_deg": scene.elevation_deg,
        "note": NOTE,
        "keel": "up" if scene.keel_up else "down",
        "stations": [list(station) for station in scene.stations],
        "samples": samples,
    }


def _reference_px(lap: Lap, view: View) -> list[list[float]]:
    """The reference's corners (4, 2), as if not rounded, from the upper left as the builder sees it keel down."""
    scene = lap.scene
    if scene.reference == "none" or scene.stations:
        return []
    half = 0.5 * (np.array(reference_size(scene.reference)) + scene.reference_off_mm)
    turn = turned(scene.reference_turn_deg)[:2, :2]
    corners = (half * np.array([[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]])) @ turn
    return np.round(view.project(lap.hull.face(corners[:, 0], corners[:, 1], np.zeros(4))), 2).tolist()
