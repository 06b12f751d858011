"""Which face a place looks like: the plank's edge face or its outer face, the plank or the strake below.

The two are cut across the grain's rings differently and lie in another light, so they differ in tone or colour along
the whole plank, however strong the streaks of grain are that run beside the corner between them.
"""

from __future__ import annotations

import numpy as np

from fitcheck.lap.edge.edge_path import log_tone

EDGE_FROM_PX, EDGE_SHARE = 2.0, 0.35
FACE_FROM, FACE_TO = 1.1, 1.5
LEAST_SPREAD = 4e-4
#: No single row may count for more than this (natural log of the odds), and neighbouring rows share their grain.
CAP, SHARED = 2.0, 0.3
FEWEST = 40
#: Plank and strake are learnt between these shares of the edge face's height off the rough inner corner.
PLANK_FROM, PLANK_TO = 0.35, 0.8


def edge_likeness(values: np.ndarray, rows: np.ndarray, full_px: np.ndarray, height_px: np.ndarray) -> np.ndarray:
    """How much more like the edge face than the plank's face each cell of ``values`` (R, B, 3) is: (R, B), log odds.

    ``rows`` (R,) count from the inner corner toward the sheer; ``height_px`` (B,) is how high the edge face is taken
    to be for learning what it looks like, ``full_px`` (B,) its full height.
    """
    tone = log_tone(values)
    away = rows[:, None]
    edge = (away > EDGE_FROM_PX) & (away < np.maximum(EDGE_SHARE * height_px, EDGE_FROM_PX))
    face = (away > FACE_FROM * full_px) & (away < FACE_TO * full_px)
    return SHARED * np.clip(_odds(tone, tone[edge], tone[face]), -CAP, CAP)


def plank_likeness(values: np.ndarray, rows: np.ndarray, height_px: float) -> np.ndarray:
    """How much more like the plank than the strake below each cell of ``values`` (R, B, 3) is: (R, B), log odds.

    ``rows`` (R,) count from the rough inner corner toward the keel. Both woods are learnt well clear of it, so that a
    corner found too high or too low by a third of the edge face's ``height_px`` does not mix them.
    """
    tone = log_tone(values)
    plank, strake = ((side * rows > PLANK_FROM * height_px) & (side * rows < PLANK_TO * height_px) for side in (-1, 1))
    return np.clip(_odds(tone, tone[plank].reshape(-1, 3), tone[strake].reshape(-1, 3)), -CAP, CAP)


def _odds(tone: np.ndarray, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Log odds (R, B) that tones (R, B, 3) are of the kind of ``one`` (N, 3), not ``other`` (M, 3); 0 of too few."""
    if len(one) < FEWEST or len(other) < FEWEST:
        return np.zeros(tone.shape[:2])
    within = (np.cov(one.T) + np.cov(other.T)) / 2.0 + LEAST_SPREAD * np.eye(3)
    between = np.median(one, axis=0) - np.median(other, axis=0)
    middle = (np.median(one, axis=0) + np.median(other, axis=0)) / 2.0
    return np.asarray((tone - middle) @ np.linalg.solve(within, between))
