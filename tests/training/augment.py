"""Other lights, cameras and pencils: changes to a strip's amounts of light that leave the marks where they are."""

from __future__ import annotations

import numpy as np

#: A light line is made of the dark one's strokes: rows to either side of its middle, and of wood beyond these.
STROKE_ROWS, WOOD_ROWS = 4, 3


def jittered(light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Light (R, C, 3) under another exposure and colour, sometimes noisier, sometimes by another camera's curve."""
    changed = light * np.exp(rng.normal(0.0, 0.25)) * np.exp(rng.normal(0.0, 0.06, 3))
    if rng.random() < 0.4:
        changed = changed + rng.normal(0.0, rng.uniform(0.0, 0.006), light.shape)
    if rng.random() < 0.3:
        changed = np.clip(changed, 0.0, 1.0) ** np.exp(rng.normal(0.0, 0.15))
    return np.clip(changed, 0.0, 1.0).astype(np.float32)


def recoloured(light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Light (R, C, 3) of wood with more or less contrast and colour, in three parts of ten."""
    if rng.random() > 0.3:
        return light
    changed = np.clip(light, 1e-4, 1.0) ** rng.uniform(0.55, 1.2)
    grey = changed.mean(axis=2, keepdims=True)
    return np.clip(changed + 0.5 * (grey - changed) * rng.uniform(-0.6, 1.4), 1e-4, 1.0).astype(np.float32)


def turned_light(light: np.ndarray, row: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The dark line in rows ``row`` (C,) of light (R, C, 3) made a light one of the same strokes, on darker wood."""
    changed = light * np.float32(rng.uniform(0.25, 0.7))
    for column in np.flatnonzero(np.isfinite(row)):
        middle = round(float(row[column]))
        low, high = middle - STROKE_ROWS, middle + STROKE_ROWS + 1
        if low < WOOD_ROWS or high > len(light) - WOOD_ROWS - 1:
            continue
        sides = (changed[low - WOOD_ROWS : low, column], changed[high : high + WOOD_ROWS, column])
        wood = 0.5 * (sides[0].mean(axis=0) + sides[1].mean(axis=0))
        darker = np.clip(wood[None] / np.maximum(changed[low:high, column], 1e-4), 0.8, 6.0)
        changed[low:high, column] = np.clip(wood[None] * darker**1.3, 0.0, 1.0)
    return np.asarray(changed)


def cover(columns: int, rng: np.random.Generator) -> slice:
    """Columns that something lies over."""
    start = int(rng.integers(0, columns - 10))
    return slice(start, start + int(rng.integers(8, 40)))
