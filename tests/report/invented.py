"""Invented measurements and a painted picture for the report's tests; no real plank, no real photograph."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.advice.planing import advise
from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.refusal import Reason

LIMIT = 25.4 / 32
PX_PER_MM = 2.4
CENTRE_PX = (820.0, 640.0)
LAP_V_PX = 420.0


def settings(**changes):
    return {
        "reference": "id1",
        "thickness_mm": 12.7,
        "lap_mm": 25.4,
        "keel": "down",
        "limit_mm": LIMIT,
        "units": "in",
        "fraction": 32,
        "plank": "4 port (invented)",
        **changes,
    }


def past_line_mm(x):
    """An invented edge: 2 mm past in one place, 1.8 short in another, good between."""
    return 2.2 * np.exp(-(((x - 150) / 70) ** 2)) - 1.9 * np.exp(-(((x + 170) / 60) ** 2))


def to_px(x, past, keel="down"):
    side = 1 if keel == "down" else -1
    return (float(CENTRE_PX[0] + side * PX_PER_MM * x), float(LAP_V_PX + side * PX_PER_MM * past))


def one_photo(keel="down", u95=0.22, **changes):
    """One invented photograph's measurement: 640 mm, a clamp, a hidden stretch at the end."""
    samples = []
    for x in np.arange(-320.0, 325.0, 5.0):
        past = float(past_line_mm(x))
        if 20 <= x <= 60:
            samples.append(Sample(float(x), None, None, "covered", flags=("near-clamp",)))
        elif x > 280:
            samples.append(Sample(float(x), None, None, "hidden", edge_px=to_px(x, past, keel), flags=("line-hidden",)))
        else:
            u = u95 * (1 + abs(x) / 800)
            state = state_of(past, u, LIMIT)
            edge, line = to_px(x, past, keel), to_px(x, 0.0, keel)
            samples.append(Sample(float(x), past, u, state, edge_px=edge, line_px=line, flags=("bevel-not-told",)))
    told = settings(keel=keel, **changes)
    card = (np.array([[-43, -27], [43, -27], [43, 27], [-43, 27]]) * PX_PER_MM + CENTRE_PX).tolist()
    return Measurement(
        "measured",
        told,
        warnings=(Reason("bevel-not-told", "The bevel was not told; the usual 6° ± 4° is assumed."),),
        photos=({"name": "lap_01.jpg (invented)", "taken": "2026-05-02 10:14"},),
        reference={"kind": "id1", "corners_px": card, "tilt_deg": 8.0},
        samples=tuple(samples),
        planing=advise(samples, limit_mm=LIMIT, lap_mm=25.4, may_slide_mm=0.0),
        budget_mm={"edge": 0.05, "line": 0.06, "scale": 0.02, "bevel": 0.05},
    )


def whole_plank(**changes):
    """An invented plank of 2.4 m by station cards, past in two places, with two clamps and a stretch unseen."""
    samples = []
    for x in np.arange(0.0, 2405.0, 5.0):
        past = float(1.9 * np.sin(x / 260) * np.exp(-(((x - 900) / 700) ** 2)) + 0.2)
        if 480 <= x <= 530 or 1700 <= x <= 1750:
            samples.append(Sample(None, None, None, "covered", plank_mm=float(x)))
        elif not 2050 < x < 2130:
            u = 0.2 + 0.05 * np.sin(x / 90)
            samples.append(
                Sample(None, past, float(u), state_of(past, float(u), LIMIT), plank_mm=float(x), photos=("p03.jpg",))
            )
    return Measurement(
        "measured",
        settings(reference="station", **changes),
        photos=({"name": "p03.jpg", "taken": "2026-05-02 11:02"},),
        samples=tuple(samples),
        stations=tuple({"number": n, "plank_mm": 300.0 * n, "u95_mm": 0.4 * n} for n in range(9)),
        planing=advise(samples, limit_mm=LIMIT, lap_mm=25.4, may_slide_mm=0.0),
    )


def refused():
    return Measurement(
        "refused", settings(), reasons=(Reason("no-line", "No lap line is in sight: past the line, or not drawn."),)
    )


def picture(keel="down", width=1640, height=1230):
    """A painted plank over a strake with a pencil line and a card: shapes in the places ``one_photo`` says."""
    rng = np.random.default_rng(5)
    grain = cv2.GaussianBlur(rng.normal(0, 30, (height, width)).astype(np.float32), (0, 0), sigmaX=60, sigmaY=1.2)
    pixels = np.full((height, width, 3), (120, 165, 205), np.float32) + 6 * grain[..., None]
    side = 1 if keel == "down" else -1
    x = side * (np.arange(width) - CENTRE_PX[0]) / PX_PER_MM
    edge_v = LAP_V_PX + side * PX_PER_MM * past_line_mm(x)
    v = np.arange(height)[:, None]
    pixels[np.abs(v[:, 0] - LAP_V_PX) < 0.8] -= 60
    plank = (v - edge_v) * side < 0
    pixels[plank] = pixels[plank] * 0.93 + 5
    pixels[(np.abs(v - edge_v) < 2.5) & plank] *= 0.6
    card = np.array([[-43, -27], [43, -27], [43, 27], [-43, 27]]) * PX_PER_MM + CENTRE_PX
    pixels = np.ascontiguousarray(pixels.clip(0, 255).astype(np.uint8))
    cv2.fillPoly(pixels, [card.astype(np.int32)], (235, 235, 235))
    clamp = sorted(int(CENTRE_PX[0] + side * PX_PER_MM * at) for at in (18, 62))
    cv2.rectangle(pixels, (clamp[0], 240), (clamp[1], 520), (60, 60, 70), -1)
    return pixels
