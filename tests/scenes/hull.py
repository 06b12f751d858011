"""The curved, twisting hull: from flat lap coordinates to the face frame at the reference."""

import math
from dataclasses import dataclass

import numpy as np

from tests.scenes.arrays import Array


@dataclass(frozen=True)
class Hull:
    """A strip bent to `radius_mm` along x and turned by `twist_deg_per_m` about the line y = `pivot_mm`.

    At x = 0 the flat coordinates and the face frame are one.
    """

    radius_mm: float = math.inf
    twist_deg_per_m: float = 0.0
    pivot_mm: float = 0.0

    def axes(self, x: Array) -> tuple[Array, Array, Array, Array]:
        """Origin and the three unit axes (N, 3) in the face frame of the sections at arc lengths `x` (N,)."""
        x = np.asarray(x, float)
        zero, one = np.zeros_like(x), np.ones_like(x)
        bend = x / self.radius_mm
        half_sinc = np.sinc(bend / (2.0 * np.pi))
        chord = x * half_sinc
        origin = np.stack([chord * np.cos(bend / 2), zero, -chord * np.sin(bend / 2)], -1)
        along = np.stack([np.cos(bend), zero, -np.sin(bend)], -1)
        out = np.stack([np.sin(bend), zero, np.cos(bend)], -1)
        up = np.stack([zero, one, zero], -1)
        turn = np.radians(self.twist_deg_per_m * x / 1000.0)[..., None]
        toward_sheer = up * np.cos(turn) + out * np.sin(turn)
        outward = out * np.cos(turn) - up * np.sin(turn)
        return origin + self.pivot_mm * (up - toward_sheer), along, toward_sheer, outward

    def face(self, x: Array, y: Array, z: Array) -> Array:
        """Points (N, 3) in the face frame of flat coordinates (N,) each."""
        origin, _, toward_sheer, outward = self.axes(x)
        return origin + np.asarray(y)[..., None] * toward_sheer + np.asarray(z)[..., None] * outward
