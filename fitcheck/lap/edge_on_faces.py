"""Which of the plank's two faces a place looks like: its edge face, or its outer face.

The two are cut across the grain's rings differently and lie in another light, so they differ in tone or colour along
the whole plank, however strong the streaks of grain are that run beside the corner between them.
"""

from __future__ import annotations

import numpy as np

from fitcheck.lap.edge_path import log_tone

EDGE_FROM_PX, EDGE_SHARE = 2.0, 0.35
FACE_FROM, FACE_TO = 1.1, 1.5
LEAST_SPREAD = 4e-4
#: No single row may count for more than this (natural log of the odds), and neighbouring rows share their grain.
CAP, SHARED = 2.0, 0.3
FEWEST = 40


def edge_likeness(values: np.ndarray, rows: np.ndarray, full_px: np.ndarray, height_px: np.ndarray) -> np.ndarray:
    """How much more like the edge face than the plank's face each cell of ``values`` (R, B, 3) is: (R, B), log odds.

    ``rows`` (R,) count from the inner corner toward the sheer; ``height_px`` (B,) is how high the edge face is taken
    to be for learning what it looks like, ``full_px`` (B,) its full height.
    """
    tone = log_tone(values)
    away = rows[:, None]
    edge = tone[(away > EDGE_FROM_PX) & (away < np.maximum(EDGE_SHARE * height_px, EDGE_FROM_PX))]
    face = tone[(away > FACE_FROM * full_px) & (away < FACE_TO * full_px)]
    if len(edge) < FEWEST or len(face) < FEWEST:
        return np.zeros(tone.shape[:2])
    within = (np.cov(edge.T) + np.cov(face.T)) / 2.0 + LEAST_SPREAD * np.eye(3)
    between = np.median(edge, axis=0) - np.median(face, axis=0)
    middle = (np.median(edge, axis=0) + np.median(face, axis=0)) / 2.0
    odds = (tone - middle) @ np.linalg.solve(within, between)
    return np.asarray(SHARED * np.clip(odds, -CAP, CAP))
