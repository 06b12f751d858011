"""A small convolutional network: from channels of a strip to a score for each mark in each cell.

It is trained on made scenes over photographed boards (tests/training) and its weights are shipped beside this file. It
sees only a few millimetres around each cell, so it learns what marks look like, never where they lie.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

WEIGHTS = Path(__file__).with_name("weights")
#: Rows worked on at once, so that their stacked taps stay in the processor's cache.
CHUNK_ROWS = 4


@dataclass(frozen=True)
class Layer:
    """A convolution: ``weights`` (K, C, kr, kc), ``bias`` (K,), and how many rows and columns its taps lie apart."""

    weights: np.ndarray
    bias: np.ndarray
    apart: tuple[int, int]

    def of(self, field: np.ndarray) -> np.ndarray:
        """The layer's answer (K, R, C) to a field (C, R, C), zero beyond its rim."""
        kinds, _, tall, wide = self.weights.shape
        down, across = self.apart
        rim_rows, rim_columns = tall // 2 * down, wide // 2 * across
        padded = np.pad(field, ((0, 0), (rim_rows, rim_rows), (rim_columns, rim_columns)))
        taps = self.weights.transpose(0, 2, 3, 1).reshape(kinds, -1)
        rows, columns = field.shape[1:]
        out = np.empty((kinds, rows, columns), np.float32)
        for top in range(0, rows, CHUNK_ROWS):
            high = min(CHUNK_ROWS, rows - top)
            stacked = np.concatenate(
                [
                    padded[:, top + row * down : top + row * down + high, column * across : column * across + columns]
                    for row in range(tall)
                    for column in range(wide)
                ]
            )
            out[:, top : top + high] = (taps @ stacked.reshape(taps.shape[1], -1)).reshape(kinds, high, columns)
        return out + self.bias[:, None, None]


@dataclass(frozen=True)
class Network:
    """Layers, each but the first added to what came before it; ``heads`` (M, K) weigh the last into M marks' scores.

    ``none`` (M,) is the score of a column without the mark.
    """

    layers: tuple[Layer, ...]
    heads: np.ndarray
    heads_bias: np.ndarray
    none: np.ndarray

    def scores(self, channels: np.ndarray) -> np.ndarray:
        """Scores (M, R, C) float32 of M marks in every cell of ``channels`` (K, R, C)."""
        held = np.maximum(self.layers[0].of(channels), 0.0)
        for layer in self.layers[1:]:
            held += np.maximum(layer.of(held), 0.0)
        marks = self.heads @ held.reshape(len(held), -1)
        return np.asarray(marks.reshape(len(self.heads), *held.shape[1:]) + self.heads_bias[:, None, None])


@lru_cache(maxsize=2)
def load_network(name: str) -> Network:
    """The shipped network of that name ("edge_and_line" or "course")."""
    with np.load(WEIGHTS / f"{name}.npz") as stored:
        layers = tuple(
            Layer(stored[f"weights{at}"], stored[f"bias{at}"], (int(apart[0]), int(apart[1])))
            for at, apart in enumerate(stored["apart"])
        )
        return Network(layers, stored["heads"], stored["heads_bias"], stored["none"])
