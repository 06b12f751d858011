"""Other grain laid over a strip: the same marks on many more boards than were ever drawn or photographed.

Grain is either another board's, from those that may be trained on, at another scale, or drawn: streaks of one length
and height, or a few kinds of them together. It is laid over plank and strake by itself, and weakly or strongly, so
that no board can be learned by heart.
"""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np

from tests.scenes.photographed import photographed
from tests.training.boards import boards_for

#: A board's grain is kept on cells of this size (across, along), in pieces of so many cells.
CELL_MM, PIECE = (0.15, 2.0), (400, 250)
PIECES_A_BOARD = 4
#: Shares of strips that get other grain at all, of grain that is a board's, of one grain over plank and strake alike.
REGRAINED, OF_A_BOARD, ONE_GRAIN = 0.65, 0.65, 0.3
#: The grain's strength, in logarithms of light, and the most that it may lighten or darken.
DRAWN_STRENGTH, DARKEST, LIGHTEST = (0.01, 0.09), -1.0, 0.7


def regrained(
    light: np.ndarray, edge_row: np.ndarray, cell_mm: tuple[float, float], px_mm: float, rng: np.random.Generator
) -> np.ndarray:
    """Light (R, C, 3) with other grain above and below ``edge_row`` (C,), on cells of ``cell_mm`` (across, along).

    ``px_mm`` is the photograph's pixel: grain finer than that was never seen.
    """
    if rng.random() > REGRAINED:
        return light
    rows = np.arange(len(light))[:, None]
    above = np.clip(np.nan_to_num(edge_row, nan=-1e3)[None, :] - rows + 0.5, 0.0, 1.0)[..., None]
    if rng.random() < ONE_GRAIN:
        above = np.full_like(above, 0.5)
    shape = light.shape[:2]
    grain = above * _grain(shape, cell_mm, px_mm, rng) + (1.0 - above) * _grain(shape, cell_mm, px_mm, rng)
    changed = light * np.exp(np.clip(grain, DARKEST, LIGHTEST))
    return np.clip(changed, 1e-4, 1.0).astype(np.float32)


def _grain(shape: tuple[int, ...], cell_mm: tuple[float, float], px_mm: float, rng: np.random.Generator) -> np.ndarray:
    """Logarithms (R, C, 3) of a grain's light, about nought."""
    grain = _of_a_board(shape, cell_mm, rng) if rng.random() < OF_A_BOARD else _drawn(shape, rng)
    grain = cv2.GaussianBlur(grain, (0, 0), sigmaX=0.3, sigmaY=max(0.3, 0.4 * px_mm / cell_mm[0]))
    return np.asarray(grain[:: rng.choice([-1, 1]), :: rng.choice([-1, 1])], np.float32)


def _of_a_board(shape: tuple[int, ...], cell_mm: tuple[float, float], rng: np.random.Generator) -> np.ndarray:
    pieces = _pieces()
    piece, scale = pieces[int(rng.integers(len(pieces)))], float(np.exp(rng.uniform(-0.35, 0.35)))
    size = [max(8, int(have * own / other * scale)) for have, own, other in zip(PIECE, CELL_MM, cell_mm, strict=True)]
    laid = cv2.resize(piece, size[::-1], interpolation=cv2.INTER_AREA)
    beyond = [int(np.ceil(wanted / have)) * have for wanted, have in zip(shape, size, strict=True)]
    laid = np.pad(laid, [(0, one) for one in beyond] + [(0, 0)], mode="symmetric")
    top, left = (int(rng.integers(0, have - wanted + 1)) for have, wanted in zip(laid.shape, shape, strict=False))
    colours = 1.0 if rng.random() < 0.7 else rng.uniform(0.3, 1.2, 3)
    return np.asarray(laid[top : top + shape[0], left : left + shape[1]] * rng.uniform(0.25, 0.9) * colours, np.float32)


def _drawn(shape: tuple[int, ...], rng: np.random.Generator) -> np.ndarray:
    grain = np.zeros(shape, np.float32)
    for _ in range(int(rng.integers(1, 4))):
        long, high = (float(np.exp(rng.uniform(*np.log(reach)))) for reach in ((0.7, 40.0), (0.5, 8.0)))
        streaks = cv2.GaussianBlur(rng.normal(size=shape).astype(np.float32), (0, 0), sigmaX=long, sigmaY=high)
        streaks /= streaks.std() + 1e-6
        if rng.random() < 0.3:
            # Streaks that are dark or light alone, with even wood between.
            streaks = np.maximum(streaks - rng.uniform(0.0, 1.5), 0.0) * rng.choice([-1.0, 1.0])
        grain += streaks * rng.uniform(*DRAWN_STRENGTH)
    return np.asarray(grain[..., None] * (1.0 + rng.normal(0.0, 0.25, 3)), np.float32)


@lru_cache(maxsize=1)
def _pieces() -> tuple[np.ndarray, ...]:
    """Pieces (R, C, 3) of the grain of every board that may be trained on, less what changes slowly."""
    found = []
    size_mm = [cells * step for cells, step in zip(PIECE, CELL_MM, strict=True)]
    for name in boards_for("trained"):
        for number in range(PIECES_A_BOARD):
            lean_deg = float(np.random.default_rng(number).normal(0.0, 1.5))
            board = photographed(1000 + number, name, lean_deg, (0.0, size_mm[1]), (0.0, size_mm[0]))
            tone = np.log(cv2.resize(board.shade, PIECE[::-1], interpolation=cv2.INTER_AREA) + 0.004).astype(np.float32)
            found.append(tone - cv2.GaussianBlur(tone, (0, 0), sigmaX=30.0, sigmaY=60.0))
    return tuple(found)
