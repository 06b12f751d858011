"""Which of several outlines of a card's shape is the card: one score for each, of few cues that add up.

A bank card's chip has nearly the card's own shape, and so have some patches between streaks of grain. What the
shape does not tell, size and grain do: phones are held where a millimetre is seen, and grain does not stop at a side
that is none.
"""

from __future__ import annotations

import numpy as np

from fitcheck.ground.spread import robust_spread
from fitcheck.reference.card.card_shape import strain_of
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sides.steps import linear_light, sample_bilinear
from fitcheck.reference.sighting import Sighting

#: Millimetres to the pixel at which laps are photographed, and the spread of its natural logarithm.
USUAL_MM_PER_PX, SPREAD_MM_PER_PX = 0.2, 0.7
#: Strain of a card that lies there, in which the odds fall off as a Cauchy distribution's: corners have bad moments.
USUAL_STRAIN = 8.0
#: How far off a side grain is compared, in pixels, and how many independent places a side has.
BESIDE_PX, GRAIN_PLACES = (4.0, 6.0, 8.0), 12.0
#: Light this many robust spreads off a side's own is something lying there; less than this share clear tells nothing.
ORDINARY, LEAST_CLEAR = 4.0, 0.4
#: Under these odds (natural logarithm) an outline is no card.
LEAST_SCORE = -4.0


def score_of(pixels: np.ndarray, sighting: Sighting, pose: FacePose) -> float:
    """Log-odds, up to a constant, that the outline is the card: by its strain, its size and grain running through."""
    mm_per_px = float(np.ptp(sighting.points_mm[:, 0]) / np.linalg.norm(sighting.points_px[0] - sighting.points_px[1]))
    size = -0.5 * (np.log(mm_per_px / USUAL_MM_PER_PX) / SPREAD_MM_PER_PX) ** 2
    shape = -np.log1p(strain_of(sighting, pose) / USUAL_STRAIN)
    return float(size + shape - grain_through(pixels, sighting.outline_px))


def grain_through(pixels: np.ndarray, corners: np.ndarray) -> float:
    """How much the light along the sides (4, 2) px goes on across them, as log-odds of one piece of wood."""
    low = np.floor(corners.min(axis=0) - 12).astype(int).clip(0)
    high = np.ceil(corners.max(axis=0) + 12).astype(int)
    light = np.log(linear_light(pixels[low[1] : high[1], low[0] : high[0]]).mean(axis=2) + 2.0)
    through = 0.0
    for start, end in zip(corners - low, np.roll(corners, -1, axis=0) - low, strict=True):
        along = end - start
        inward = np.array([-along[1], along[0]]) / np.linalg.norm(along)
        places = start + np.linspace(0.1, 0.9, 120)[:, None] * along
        inner, outer = (_beside(light, places, sign * inward) for sign in (1.0, -1.0))
        # What lies across a side, such as a clamp's bar, is no grain.
        clear = _ordinary(inner) & _ordinary(outer)
        if clear.sum() > LEAST_CLEAR * len(clear):
            inner, outer = _detrended(inner, clear), _detrended(outer, clear)
            alike = float(inner @ outer) / max(float(np.linalg.norm(inner) * np.linalg.norm(outer)), 1e-9)
            through += -0.5 * GRAIN_PLACES * np.log(1.0 - min(max(alike, 0.0), 0.99) ** 2)
    return float(through)


def _beside(light: np.ndarray, places: np.ndarray, away: np.ndarray) -> np.ndarray:
    return np.asarray(np.mean([sample_bilinear(light, places + off * away) for off in BESIDE_PX], axis=0))


def _ordinary(profile: np.ndarray) -> np.ndarray:
    off = profile - np.median(profile)
    return np.asarray(np.abs(off) < ORDINARY * (float(robust_spread(off)) + 0.01))


def _detrended(profile: np.ndarray, clear: np.ndarray) -> np.ndarray:
    at = np.linspace(-1.0, 1.0, len(profile))[clear]
    return np.asarray(profile[clear] - np.polyval(np.polyfit(at, profile[clear], 2), at))
