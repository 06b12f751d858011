"""Scenes at random, over all the ways in which laps are met."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from tests.scenes.cameras import CAMERAS
from tests.scenes.prints import CARD_INKS, RULES_MM
from tests.scenes.scene import Scene
from tests.scenes.things import reference_size
from tests.scenes.wood import PAINTS, SPECIES

Rng = np.random.Generator
Values = dict[str, Any]
CARDS = ("id1", "id1", "card-us", "card-eu", "card-jp")
STYLES = (*CARD_INKS, "blue", "printed", "white", "white")


def draw_scene(rng: Rng, *, kind: str | None = None, **fixed: Any) -> Scene:
    """A scene of a kind out of CLASSES (any but `edge-on` and `plank` where not given); `fixed` overrules the draw.

    >>> draw_scene(np.random.default_rng(1), kind="shadow", bevel_deg=0.0).bevel_deg
    0.0
    """
    if kind is None:
        kind = str(rng.choice([name for name in CLASSES if name not in ("edge-on", "plank")]))
    values = _bench(rng) | _view(rng) | _light(rng) | _wood(rng)
    values |= _card(rng, values["witness_mm"])
    values |= CLASSES[kind](rng, values)
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


def _between(rng: Rng, low: float, high: float) -> float:
    return float(rng.uniform(low, high))


def _bench(rng: Rng) -> Values:
    """Lap, line and edge."""
    thickness = float(rng.choice([6.0, 6.35, 8.0, 9.0, 9.5, 11.0, 12.7, 15.0]))
    curved = rng.random() < 0.5
    return {
        "thickness_mm": thickness,
        "lap_mm": round(thickness * _between(rng, 1.7, 2.4), 1),
        "bevel_deg": round(_between(rng, 0.0, 12.0), 1),
        "line_slope_deg": rng.normal(0.0, 1.0),
        "line_wander_mm": _between(rng, 0.5, 3.5),
        "line_wave_mm": _between(rng, 220.0, 600.0),
        "past_mm": _between(rng, -4.5, -0.5),
        "past_wander_mm": _between(rng, 0.3, 1.8),
        "past_wave_mm": _between(rng, 150.0, 600.0),
        "chamfer_mm": _between(rng, 0.0, 0.4),
        "eased_mm": _between(rng, 0.05, 0.3) if rng.random() < 0.3 else 0.0,
        "radius_mm": _between(rng, 2200.0, 9000.0) * (1 if rng.random() < 0.85 else -1) if curved else math.inf,
        "twist_deg_per_m": rng.normal(0.0, 4.0) if curved else 0.0,
        "strake_width_mm": _between(rng, 140.0, 180.0),
        "plank_width_mm": _between(rng, 150.0, 195.0),
        "witness_mm": 0.0,
        "line_width_mm": _between(rng, 0.3, 0.9),
        "line_contrast": _between(rng, 0.25, 0.6),
        "line_skips": _between(rng, 0.0, 0.25),
        "line_tooth": _between(rng, 0.2, 0.7),
        "ticks_mm": tuple(rng.uniform(-250.0, 250.0, int(rng.integers(1, 4)))) if rng.random() < 0.2 else (),
        "saw_marks": _between(rng, 0.03, 0.15) if rng.random() < 0.1 else 0.0,
        "rivets_mm": tuple(np.arange(-400.0, 400.0, 110.0) + _between(rng, -40, 40)) if rng.random() < 0.1 else (),
        "old_line_mm": _between(rng, 4.0, 14.0) if rng.random() < 0.1 else None,
        "old_line_slope_deg": rng.normal(0.0, 0.8),
    }


def _view(rng: Rng) -> Values:
    """Camera and stand, lens and file."""
    names = list(CAMERAS)
    return {
        "camera": CAMERAS[names[int(rng.choice(len(names), p=[0.35, 0.25, 0.3, 0.1]))]],
        "distance_mm": float(np.exp(rng.uniform(np.log(350.0), np.log(800.0)))),
        "elevation_deg": _between(rng, -20.0, 3.0),
        "azimuth_deg": rng.normal(0.0, 5.0),
        "roll_deg": rng.normal(0.0, 2.5),
        "keel_up": bool(rng.random() < 0.15),
        "blur_px": _between(rng, 0.5, 1.2),
        "defocus_px_per_100mm": _between(rng, 0.0, 0.8),
        "noise_dn": float(np.exp(rng.uniform(np.log(1.2), np.log(6.0)))),
        "sharpen": _between(rng, 0.2, 0.8) if rng.random() < 0.3 else 0.0,
        "vignette": _between(rng, 0.0, 0.35),
        "exposure": _between(rng, 0.16, 0.46),
        "jpeg_quality": int(rng.integers(88, 96)),
    }


def _light(rng: Rng) -> Values:
    """Any light: from the keel, from the sheer, raking along, or in front."""
    return {
        "light_slant_deg": _between(rng, 5.0, 65.0),
        "light_from_deg": _between(rng, -180.0, 180.0),
        "light_share": _between(rng, 0.2, 0.75),
        "penumbra_deg": float(np.exp(rng.uniform(np.log(0.3), np.log(9.0)))),
        "warmth": rng.normal(0.0, 0.04),
    }


def _wood(rng: Rng) -> Values:
    """Two boards, often of one wood; some strakes are painted."""
    woods = list(SPECIES)
    strake = str(rng.choice(woods))
    return {
        "strake_wood": strake,
        "plank_wood": strake if rng.random() < 0.4 else str(rng.choice(woods)),
        "strake_paint": str(rng.choice(list(PAINTS))) if rng.random() < 0.15 else None,
        "bevel_bare": bool(rng.random() < 0.6),
        "grain": _between(rng, 0.45, 1.35),
        "strake_drift_deg": rng.normal(0.0, 1.0),
        "plank_drift_deg": rng.normal(0.0, 1.0),
    }


def _card(rng: Rng, witness_mm: float) -> Values:
    """A card below the lap, clear of the lines."""
    kind = str(rng.choice(CARDS))
    turn = _between(rng, -8.0, 8.0)
    return {
        "reference": kind,
        "reference_style": str(rng.choice(STYLES)),
        "reference_turn_deg": turn,
        "reference_off_mm": tuple(rng.normal(0.0, 0.04, 2)),
    } | _place(rng, kind, turn, witness_mm)


def _place(rng: Rng, kind: str, turn_deg: float, witness_mm: float) -> Values:
    width, height = reference_size(kind) if kind != "none" else (60.0, 30.0)
    lean = abs(math.sin(math.radians(turn_deg)))
    line_y = 0.5 * height + 0.5 * width * lean + witness_mm + _between(rng, 8.0, 22.0) + (5.0 if witness_mm else 0.0)
    return {"line_y_mm": line_y, "aim_mm": (rng.normal(0.0, 25.0), line_y - _between(rng, -8.0, 30.0))}


def _board_span(values: Values) -> tuple[float, float]:
    reach = 1.05 * values["distance_mm"] * (1.5 if values["elevation_deg"] < -40 else 1.0)
    return (-reach - 60.0, reach + 60.0)


def _plain(rng: Rng, values: Values) -> Values:
    return {"elevation_deg": _between(rng, -12.0, 3.0), "old_line_mm": None}


def _keel(rng: Rng, values: Values) -> Values:
    return {"elevation_deg": _between(rng, -20.0, -6.0)}


def _sheer(rng: Rng, values: Values) -> Values:
    """From the sheer side, half of them with a witness line to measure by."""
    more = _witness(rng, values) if rng.random() < 0.5 else {}
    return more | {"elevation_deg": _between(rng, 4.0, 25.0), "past_mm": _between(rng, -5.5, -0.3)}


def _shadow(rng: Rng, values: Values) -> Values:
    """The plank's shadow falls 1 to 20 mm down the strake."""
    fall = _between(rng, 1.0, 20.0) / values["thickness_mm"]
    turn = rng.normal(0.0, 30.0)
    slant = math.degrees(math.atan(fall / max(0.4, math.cos(math.radians(turn)))))
    soft = float(np.exp(rng.uniform(np.log(0.3), np.log(6.0))))
    bright = {"light_share": _between(rng, 0.4, 0.8), "penumbra_deg": soft}
    return bright | {
        "light_from_deg": turn,
        "light_slant_deg": min(slant, 70.0),
        "elevation_deg": _between(rng, -15.0, 12.0),
    }


def _faint(rng: Rng, values: Values) -> Values:
    return {
        "line_contrast": _between(rng, 0.10, 0.25),
        "line_skips": _between(rng, 0.1, 0.4),
        "grain": _between(rng, 0.7, 1.5),
        "strake_paint": None,
        "elevation_deg": _between(rng, -18.0, 3.0),
    }


def _clamped(rng: Rng, values: Values) -> Values:
    places = rng.uniform(60.0, 260.0, 2) * [-1.0, 1.0]
    return {
        "clamps_mm": tuple(np.round(places[: 1 + int(rng.random() < 0.6)], 1)),
        "elevation_deg": _between(rng, -15.0, 8.0),
    }


def _witness(rng: Rng, values: Values) -> Values:
    """A witness line; the edge may run past the lap line, which may not be drawn at all."""
    struck = float(rng.choice([15.0, 20.0, 25.0, 25.4]))
    place = _place(rng, values["reference"], values["reference_turn_deg"], struck)
    past = {"past_mm": _between(rng, -4.0, 2.0), "line_drawn": bool(rng.random() < 0.8)}
    apart = {"witness_mm": struck, "witness_wander_mm": _between(rng, 0.05, 0.25), "old_line_mm": None}
    return place | past | apart | {"elevation_deg": _between(rng, -20.0, 25.0)}


def _keelup(rng: Rng, values: Values) -> Values:
    return {"keel_up": True, "elevation_deg": _between(rng, -20.0, 10.0)}


def _rule(rng: Rng, values: Values) -> Values:
    kind, turn = str(rng.choice(list(RULES_MM))), rng.normal(0.0, 1.5)
    near = {
        "reference": kind,
        "reference_turn_deg": turn,
        "reference_off_mm": (0.0, 0.0),
        "distance_mm": _between(rng, 350.0, 600.0),
    }
    return (
        near | {"reference_style": str(rng.choice(["white", "grey"]))} | _place(rng, kind, turn, values["witness_mm"])
    )


def _plank(rng: Rng, values: Values) -> Values:
    """The common part of many photographs of one plank: station cards and a witness line."""
    place = _place(rng, "none", 0.0, 20.0)
    steady = {
        "radius_mm": _between(rng, 3000.0, 8000.0),
        "twist_deg_per_m": rng.normal(0.0, 2.0),
        "line_slope_deg": 0.0,
    }
    lines = {"witness_mm": 20.0, "line_y_mm": 20.0, "aim_mm": (0.0, place["aim_mm"][1] - place["line_y_mm"] + 10.0)}
    clear = {"old_line_mm": None, "ticks_mm": (), "keel_up": False, "distance_mm": _between(rng, 420.0, 560.0)}
    return (
        {"reference": "none", "past_mm": _between(rng, -3.0, 0.5), "elevation_deg": _between(rng, -15.0, 6.0)}
        | steady
        | lines
        | clear
    )


def _edge_on(rng: Rng, values: Values) -> Values:
    """Looking up along the face at the plank's edge; open, closed or partly open laps, some running into a gain."""
    kind = rng.random()
    lap: Values = {"gap_mm": 0.0, "gap_wander_mm": 0.0}
    if kind < 0.65:
        lap = {
            "gap_mm": _between(rng, -0.2, 0.7),
            "gap_wander_mm": _between(rng, 0.2, 0.9),
            "gap_wave_mm": _between(rng, 120.0, 400.0),
        }
    elif kind < 0.85:
        ends = _between(rng, 100.0, 320.0)
        lap |= {"gain_mm": (ends - _between(rng, 200.0, 450.0), ends, _between(rng, 0.2, 1.5))}
    bare = values["reference"] if rng.random() < 0.5 else "none"
    stand = {
        "elevation_deg": -_between(rng, 55.0, 75.0),
        "distance_mm": _between(rng, 320.0, 520.0),
        "azimuth_deg": rng.normal(0.0, 3.0),
    }
    edge = {
        "past_mm": _between(rng, -1.0, 0.3),
        "past_wander_mm": _between(rng, 0.1, 0.6),
        "eased_mm": 0.0,
        "line_drawn": bool(rng.random() < 0.4),
    }
    calm = {
        "bevel_deg": min(values["bevel_deg"], 8.0),
        "old_line_mm": None,
        "line_slope_deg": 0.0,
        "radius_mm": math.inf,
        "twist_deg_per_m": 0.0,
    }
    return lap | stand | edge | calm | {"reference": bare, "aim_mm": (rng.normal(0.0, 20.0), values["line_y_mm"] - 5.0)}


CLASSES: dict[str, Callable[[Rng, Values], Values]] = {
    "plain": _plain,
    "keel": _keel,
    "sheer": _sheer,
    "shadow": _shadow,
    "faint": _faint,
    "clamp": _clamped,
    "witness": _witness,
    "keelup": _keelup,
    "rule": _rule,
    "plank": _plank,
    "edge-on": _edge_on,
}
