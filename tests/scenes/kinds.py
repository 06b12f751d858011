"""The kinds of scene, each as what it changes in a plain draw."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from tests.scenes.prints import RULES_MM
from tests.scenes.things import reference_size

Rng = np.random.Generator
Values = dict[str, Any]


def between(rng: Rng, low: float, high: float) -> float:
    """An even draw from a range."""
    return float(rng.uniform(low, high))


def place_below(rng: Rng, kind: str, turn_deg: float, witness_mm: float) -> Values:
    """Where the lap line runs above a reference, clear of its corners and of a witness line, and where to aim."""
    width, height = reference_size(kind) if kind != "none" else (60.0, 30.0)
    lean = abs(math.sin(math.radians(turn_deg)))
    line_y = 0.5 * height + 0.5 * width * lean + witness_mm + between(rng, 8.0, 22.0) + (5.0 if witness_mm else 0.0)
    return {"line_y_mm": line_y, "aim_mm": (rng.normal(0.0, 25.0), line_y - between(rng, -8.0, 30.0))}


def _plain(rng: Rng, values: Values) -> Values:
    """Near square or a little on the keel side."""
    return {"elevation_deg": between(rng, -12.0, 3.0), "old_line_mm": None}


def _keel(rng: Rng, values: Values) -> Values:
    """From the keel side, where both corners show."""
    return {"elevation_deg": between(rng, -20.0, -6.0)}


def _sheer(rng: Rng, values: Values) -> Values:
    """From the sheer side, half of them with a witness line to measure by."""
    more = _witness(rng, values) if rng.random() < 0.5 else {}
    return more | {"elevation_deg": between(rng, 4.0, 25.0), "past_mm": between(rng, -5.5, -0.3)}


def _shadow(rng: Rng, values: Values) -> Values:
    """The plank's shadow falls 1 to 20 mm down the strake."""
    fall = between(rng, 1.0, 20.0) / values["thickness_mm"]
    turn = rng.normal(0.0, 30.0)
    slant = math.degrees(math.atan(fall / max(0.4, math.cos(math.radians(turn)))))
    soft = float(np.exp(rng.uniform(np.log(0.3), np.log(6.0))))
    bright = {"light_share": between(rng, 0.4, 0.8), "penumbra_deg": soft}
    return bright | {
        "light_from_deg": turn,
        "light_slant_deg": min(slant, 70.0),
        "elevation_deg": between(rng, -15.0, 12.0),
    }


def _faint(rng: Rng, values: Values) -> Values:
    """A weak, broken line on strong grain."""
    return {
        "line_contrast": between(rng, 0.15, 0.28),
        "line_skips": between(rng, 0.1, 0.4),
        "grain": between(rng, 0.45, 0.8),
        "strake_paint": None,
        "elevation_deg": between(rng, -18.0, 3.0),
    }


def _clamped(rng: Rng, values: Values) -> Values:
    """One or two clamps over the edge."""
    places = rng.uniform(60.0, 260.0, 2) * [-1.0, 1.0]
    return {
        "clamps_mm": tuple(np.round(places[: 1 + int(rng.random() < 0.6)], 1)),
        "elevation_deg": between(rng, -15.0, 8.0),
    }


def _witness(rng: Rng, values: Values) -> Values:
    """A witness line; the edge may run past the lap line, which may not be drawn at all."""
    struck = float(rng.choice([15.0, 20.0, 25.0, 25.4]))
    place = place_below(rng, values["reference"], values["reference_turn_deg"], struck)
    past = {"past_mm": between(rng, -4.0, 2.0), "line_drawn": bool(rng.random() < 0.8)}
    apart = {"witness_mm": struck, "witness_wander_mm": between(rng, 0.05, 0.25), "old_line_mm": None}
    return place | past | apart | {"elevation_deg": between(rng, -20.0, 25.0)}


def _keelup(rng: Rng, values: Values) -> Values:
    """A hull lying upside down."""
    return {"keel_up": True, "elevation_deg": between(rng, -20.0, 10.0)}


def _rule(rng: Rng, values: Values) -> Values:
    """A steel rule for reference."""
    kind, turn = str(rng.choice(list(RULES_MM))), rng.normal(0.0, 1.5)
    near = {
        "reference": kind,
        "reference_turn_deg": turn,
        "reference_off_mm": (0.0, 0.0),
        "distance_mm": between(rng, 350.0, 600.0),
    }
    return (
        near
        | {"reference_style": str(rng.choice(["white", "grey"]))}
        | place_below(rng, kind, turn, values["witness_mm"])
    )


def _plank(rng: Rng, values: Values) -> Values:
    """The common part of many photographs of one plank: station cards and a witness line."""
    place = place_below(rng, "none", 0.0, 20.0)
    steady = {
        "radius_mm": between(rng, 3000.0, 8000.0),
        "twist_deg_per_m": rng.normal(0.0, 2.0),
        "line_slope_deg": 0.0,
    }
    lines = {"witness_mm": 20.0, "line_y_mm": 20.0, "aim_mm": (0.0, place["aim_mm"][1] - place["line_y_mm"] + 10.0)}
    clear = {"old_line_mm": None, "ticks_mm": (), "keel_up": False, "distance_mm": between(rng, 420.0, 560.0)}
    return (
        {"reference": "none", "past_mm": between(rng, -3.0, 0.5), "elevation_deg": between(rng, -15.0, 6.0)}
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
            "gap_mm": between(rng, -0.2, 0.7),
            "gap_wander_mm": between(rng, 0.2, 0.9),
            "gap_wave_mm": between(rng, 120.0, 400.0),
        }
    elif kind < 0.85:
        ends = between(rng, 100.0, 320.0)
        lap |= {"gain_mm": (ends - between(rng, 200.0, 450.0), ends, between(rng, 0.2, 1.5))}
    bare = values["reference"] if rng.random() < 0.5 else "none"
    stand = {
        "elevation_deg": -between(rng, 55.0, 75.0),
        "distance_mm": between(rng, 320.0, 520.0),
        "azimuth_deg": rng.normal(0.0, 3.0),
    }
    edge = {
        "past_mm": between(rng, -1.0, 0.3),
        "past_wander_mm": between(rng, 0.1, 0.6),
        # Both corners are eased with one plane, or the inner one is left sharp.
        "eased_mm": values["chamfer_mm"] if values["chamfer_mm"] > 0.15 else 0.0,
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
