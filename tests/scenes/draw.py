"""Scenes at random, over all the ways in which laps are met."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tests.scenes.cameras import CAMERAS
from tests.scenes.kinds import CLASSES, Rng, Values, between, place_below
from tests.scenes.photographed import draw_woods_and_line as on_photographed
from tests.scenes.prints import CARD_INKS
from tests.scenes.scene import Scene
from tests.scenes.wood import PAINTS, SPECIES

CARDS = ("id1", "id1", "card-us", "card-eu", "card-jp")
#: No pixel covers more of the lap than this: further off the measure refuses every photograph.
COARSEST_MM = 0.38
STYLES = (*CARD_INKS, "blue", "printed", "white", "white")


def draw_scene(rng: Rng, *, kind: str | None = None, woods: Sequence[str] | None = None, **fixed: Any) -> Scene:
    """A scene of a kind out of CLASSES (any but `edge-on` and `plank` where not given); `fixed` overrules the draw.

    With `woods`, names of photographed boards (:func:`tests.scenes.photographed.photographed_woods`), both surfaces
    are such boards, and the line is struck as pencils do on real wood.

    >>> draw_scene(np.random.default_rng(1), kind="shadow", bevel_deg=0.0).bevel_deg
    0.0
    """
    if kind is None:
        kind = str(rng.choice([name for name in CLASSES if name not in ("edge-on", "plank")]))
    values = _bench(rng) | _view(rng) | _light(rng) | _wood(rng)
    values |= _card(rng, values["witness_mm"])
    values |= CLASSES[kind](rng, values)
    # Seen square-on, paint that ends at the lap line on a bare bevel passes for the edge: drawn only where asked for.
    values["bevel_bare"] = values["bevel_bare"] and kind == "edge-on"
    if woods is not None:
        values |= on_photographed(rng, woods)
    values["board_mm"] = _board_span(values)
    return Scene(**(values | {"kind": kind, "seed": int(rng.integers(1 << 30))} | fixed))


def draw_plank(rng: Rng, *, photos: int = 8, **fixed: Any) -> list[Scene]:
    """Overlapping photographs of one plank, about 300 mm apart, with a station card every 300 mm or so."""
    first = draw_scene(rng, kind="plank", **fixed)
    steps = rng.uniform(260.0, 330.0, photos + 1)
    places = np.round(np.concatenate([[0.0], np.cumsum(steps)]))
    stations = tuple((number, float(place)) for number, place in enumerate(places))
    clamps = [float(places[k] + rng.uniform(80.0, 200.0)) for k in range(1, photos, 3)]
    span = (-550.0, float(places[-1]) + 550.0)
    views = []
    for k in range(photos):
        at = float(round(0.5 * (places[k] + places[k + 1]) + rng.uniform(-20.0, 20.0)))
        near = tuple(c - at for c in clamps if abs(c - at) < 420.0)
        stand: Values = {
            "distance_mm": first.distance_mm * rng.uniform(0.92, 1.08),
            "elevation_deg": first.elevation_deg + rng.uniform(-4, 4),
        }
        turn: Values = {"azimuth_deg": rng.normal(0, 3), "roll_deg": rng.normal(0, 2)}
        seen = tuple(s for s in stations if abs(s[1] - at) < 700.0)
        views.append(replace(first, plank_at_mm=at, clamps_mm=near, stations=seen, board_mm=span, **stand, **turn))
    return views


def _bench(rng: Rng) -> Values:
    """Lap, line and edge."""
    thickness = float(rng.choice([6.0, 6.35, 8.0, 9.0, 9.5, 11.0, 12.7, 15.0]))
    curved = rng.random() < 0.5
    return {
        "thickness_mm": thickness,
        "lap_mm": round(thickness * between(rng, 1.7, 2.4), 1),
        "bevel_deg": round(between(rng, 0.0, 12.0), 1),
        "line_slope_deg": rng.normal(0.0, 1.0),
        "line_wander_mm": between(rng, 0.5, 3.5),
        "line_wave_mm": between(rng, 220.0, 600.0),
        "past_mm": between(rng, -4.5, -0.5),
        "past_wander_mm": between(rng, 0.3, 1.8),
        "past_wave_mm": between(rng, 150.0, 600.0),
        "chamfer_mm": between(rng, 0.0, 0.4),
        "eased_mm": between(rng, 0.05, 0.3) if rng.random() < 0.3 else 0.0,
        "radius_mm": between(rng, 2200.0, 9000.0) * (1 if rng.random() < 0.85 else -1) if curved else math.inf,
        "twist_deg_per_m": rng.normal(0.0, 4.0) if curved else 0.0,
        "strake_width_mm": between(rng, 140.0, 180.0),
        "plank_width_mm": between(rng, 150.0, 195.0),
        "witness_mm": 0.0,
        "line_width_mm": between(rng, 0.3, 0.9),
        "line_contrast": between(rng, 0.25, 0.6),
        "line_skips": between(rng, 0.0, 0.25),
        "line_tooth": between(rng, 0.2, 0.7),
        "ticks_mm": tuple(rng.uniform(-250.0, 250.0, int(rng.integers(1, 4)))) if rng.random() < 0.2 else (),
        "saw_marks": between(rng, 0.03, 0.15) if rng.random() < 0.1 else 0.0,
        "rivets_mm": tuple(np.arange(-400.0, 400.0, 110.0) + between(rng, -40, 40)) if rng.random() < 0.1 else (),
        "old_line_mm": between(rng, 4.0, 14.0) if rng.random() < 0.1 else None,
        "old_line_slope_deg": rng.normal(0.0, 0.8),
    }


def _view(rng: Rng) -> Values:
    """Camera and stand, lens and file."""
    names = list(CAMERAS)
    camera = CAMERAS[names[int(rng.choice(len(names), p=[0.35, 0.25, 0.3, 0.1]))]]
    furthest = min(800.0, COARSEST_MM * camera.focal_px[0])
    return {
        "camera": camera,
        "distance_mm": float(np.exp(rng.uniform(np.log(350.0), np.log(furthest)))),
        "elevation_deg": between(rng, -20.0, 3.0),
        "azimuth_deg": rng.normal(0.0, 5.0),
        "roll_deg": rng.normal(0.0, 2.5),
        "keel_up": bool(rng.random() < 0.15),
        "blur_px": between(rng, 0.5, 1.2),
        "defocus_px_per_100mm": between(rng, 0.0, 0.8),
        "noise_dn": float(np.exp(rng.uniform(np.log(1.2), np.log(6.0)))),
        "sharpen": between(rng, 0.2, 0.8) if rng.random() < 0.3 else 0.0,
        "vignette": between(rng, 0.0, 0.35),
        "exposure": between(rng, 0.16, 0.46),
        "jpeg_quality": int(rng.integers(88, 96)),
    }


def _light(rng: Rng) -> Values:
    """Any light: from the keel, from the sheer, raking along, or in front."""
    return {
        "light_slant_deg": between(rng, 5.0, 65.0),
        "light_from_deg": between(rng, -180.0, 180.0),
        "light_share": between(rng, 0.2, 0.75),
        "penumbra_deg": float(np.exp(rng.uniform(np.log(0.3), np.log(9.0)))),
        "warmth": rng.normal(0.0, 0.04),
    }


def _wood(rng: Rng) -> Values:
    """Two boards, often of one wood; some strakes are painted.

    The grain is about as strong as on the shared photographs: over 1 to 5 mm across the plank's face log lightness
    varies there by 0.018 in the middle photograph and 0.025 in the strongest tenth; here by 0.018 and 0.034 (71
    scenes).
    """
    woods = list(SPECIES)
    strake = str(rng.choice(woods))
    return {
        "strake_wood": strake,
        "plank_wood": strake if rng.random() < 0.4 else str(rng.choice(woods)),
        "strake_paint": str(rng.choice(list(PAINTS))) if rng.random() < 0.15 else None,
        "bevel_bare": bool(rng.random() < 0.2),
        "grain": between(rng, 0.3, 0.7),
        "strake_drift_deg": rng.normal(0.0, 1.0),
        "plank_drift_deg": rng.normal(0.0, 1.0),
    }


def _card(rng: Rng, witness_mm: float) -> Values:
    """A card below the lap, clear of the lines."""
    kind = str(rng.choice(CARDS))
    turn = between(rng, -8.0, 8.0)
    return {
        "reference": kind,
        "reference_style": str(rng.choice(STYLES)),
        "reference_turn_deg": turn,
        "reference_off_mm": tuple(rng.normal(0.0, 0.04, 2)),
    } | place_below(rng, kind, turn, witness_mm)


def _board_span(values: Values) -> tuple[float, float]:
    reach = 1.05 * values["distance_mm"] * (1.5 if values["elevation_deg"] < -40 else 1.0)
    return (-reach - 60.0, reach + 60.0)
