"""Lay one look on another: how far what lies on the strake is seen aside in it, along the lap.

Both strips are cut on the plane under the reference. A strake that bends away from that plane, or a pose that is a
little off, shifts all that lies on it (grain, line, the end of a shadow) across the lap by a smooth amount: a constant,
a slope and a bend. They are found by correlating the two pictures stretch by stretch, and all stretches together.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np

from fitcheck.lap.strip import Strip

#: A stretch is so long; shifts are looked for up to so far.
STRETCH_MM, MOST_MM = 30.0, 6.0
#: Rows nearer the edge than this show the plank in one of the looks.
BELOW_EDGE_MM = 1.0
#: Where the correlation at the best curve is no higher than this on average, the pictures tell nothing of it.
LEAST_CORRELATION = 0.3
#: Half ranges of constant, slope and bend that are tried, at the strip's ends, and their steps, all in mm.
TRIED_MM = ((2.0, 0.5), (2.5, 0.5), (5.0, 0.5))


def shift_down_mm(first: Strip, other: Strip, below_mm: float) -> np.ndarray | None:
    """How far below (C,) its place in the ``first`` strip what lies on the strake is seen in the ``other``.

    Both strips have the same rows and columns; the strake begins ``below_mm`` below the base. None where the pictures
    are too different to tell.
    """
    curves, middle = _correlations(first, other, below_mm)
    if len(curves) == 0:
        return None
    lags = (np.arange(curves.shape[1]) - curves.shape[1] // 2) * first.row_mm
    half = max(abs(float(first.along_mm[0])), abs(float(first.along_mm[-1])))
    terms = np.stack([np.ones(len(middle)), middle / half, (middle / half) ** 2])

    def height(chosen: np.ndarray) -> float:
        at = chosen @ terms
        return float(
            np.mean([np.interp(one, lags, curve, left=0.0, right=0.0) for one, curve in zip(at, curves, strict=True)])
        )

    chosen = _climbed(_tried(curves, lags, terms), height)
    if height(chosen) < LEAST_CORRELATION:
        return None
    columns = first.along_mm / half
    return np.asarray(chosen @ np.stack([np.ones(len(columns)), columns, columns**2]))


def _correlations(first: Strip, other: Strip, below_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Correlation (S, L) of each stretch at each lag, and the stretches' middles (S,) along the lap."""
    tones = [_detail(one) for one in (first, other)]
    rows = first.down_mm > below_mm + BELOW_EDGE_MM
    wide = round(STRETCH_MM / first.column_mm)
    most = round(MOST_MM / first.row_mm)
    curves, middle = [], []
    for start in range(0, len(first.along_mm) - wide + 1, wide):
        stretch = slice(start, start + wide)
        if (first.seen & other.seen)[rows][:, stretch].mean() < 0.7:
            continue
        one = tones[0][rows][:, stretch].astype(np.float32)
        padded = np.pad(tones[1][:, stretch], ((most, most), (0, 0))).astype(np.float32)
        top = int(np.argmax(rows))
        field = padded[top : top + len(one) + 2 * most]
        curves.append(cv2.matchTemplate(field, one, cv2.TM_CCORR_NORMED)[:, 0])
        middle.append(float(first.along_mm[stretch].mean()))
    return np.array(curves), np.array(middle)


def _detail(strip: Strip) -> np.ndarray:
    """The strip's tone (R, C) less what changes slowly across; even where nothing is seen."""
    tone = np.log(strip.values.mean(axis=2) + 8.0)
    smooth = cv2.GaussianBlur(tone, (0, 0), sigmaX=6.0, sigmaY=0.5)
    detail = smooth - cv2.GaussianBlur(smooth, (0, 0), sigmaX=1.0, sigmaY=3.0 / strip.row_mm)
    return np.where(strip.seen, np.clip(detail, -0.3, 0.3), 0.0)


def _tried(curves: np.ndarray, lags: np.ndarray, terms: np.ndarray) -> np.ndarray:
    """The best of a grid of constants, slopes and bends."""
    axes = [np.arange(-half, half + 1e-9, step) for half, step in TRIED_MM]
    every = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    rows = np.round((every @ terms - lags[0]) / (lags[1] - lags[0])).astype(int)
    inside = (rows >= 0) & (rows < len(lags))
    read = curves[np.arange(len(curves))[None, :], np.clip(rows, 0, len(lags) - 1)]
    return np.asarray(every[np.where(inside, read, 0.0).mean(axis=1).argmax()])


def _climbed(start: np.ndarray, height: Callable[[np.ndarray], float]) -> np.ndarray:
    from scipy.optimize import minimize

    return np.asarray(minimize(lambda at: -height(at), start, method="Nelder-Mead", options={"xatol": 0.01}).x)
