"""Strips made directly in millimetres: a plank's face, its edge face, the strake and a pencil line, blurred and noisy.

Light is mixed by the blur, then stored by the sRGB curve (IEC 61966-2-1), as a camera does it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.special import ndtr

from fitcheck.lap.strip import Strip

ROW_MM, COLUMN_MM = 0.1, 0.5
DOWN = np.arange(-15.0, 18.0, ROW_MM)


@dataclass(frozen=True, kw_only=True)
class Lap:
    """Light (relative, BGR) of the three facets, where the steps between them lie, and the line.

    ``edge_mm`` is the boundary between edge face and strake, ``width_mm`` how wide the edge face shows above it,
    ``wander_mm`` how far the edge wanders; ``line_mm`` is how far below the edge the line lies, None for none, and
    ``knuckle`` how much lighter the strake is below it than above.
    """

    face: tuple[float, float, float] = (0.20, 0.32, 0.45)
    edge_face: tuple[float, float, float] = (0.07, 0.11, 0.16)
    strake: tuple[float, float, float] = (0.13, 0.20, 0.30)
    edge_mm: float = 0.0
    width_mm: float = 2.5
    wander_mm: float = 0.0
    line_mm: float | None = None
    line_width_mm: float = 0.5
    line_dark: float = 0.45
    line_flicker: float = 0.35
    knuckle: float = 0.0
    grain: float = 0.0
    blur_mm: float = 0.2
    noise: float = 1.5
    seed: int = 1

    def edge_at(self, along_mm: np.ndarray) -> np.ndarray:
        return np.asarray(self.edge_mm + self.wander_mm * np.sin(along_mm / 60.0))

    def strip(self, length_mm: float = 400.0) -> Strip:
        along = np.arange(-length_mm / 2, length_mm / 2, COLUMN_MM)
        rng = np.random.default_rng(self.seed)
        below = DOWN[:, None] - self.edge_at(along)[None, :]
        step = lambda off: ndtr(off / self.blur_mm)[..., None]  # noqa: E731
        facets = [np.array(facet) for facet in (self.face, self.edge_face, self.strake)]
        light = facets[0] + step(below + self.width_mm) * (facets[1] - facets[0])
        light = light + step(below) * (facets[2] - facets[1])
        streaks = gaussian_filter1d(gaussian_filter1d(rng.normal(size=below.shape), 60.0, axis=1), 4.0, axis=0)
        light = light * np.exp(self.grain * streaks / streaks.std())[..., None]
        if self.line_mm is not None:
            half = self.line_width_mm / 2
            off = below - self.line_mm
            light = light * (1.0 + self.knuckle * step(off))
            bar = ndtr((off + half) / self.blur_mm) - ndtr((off - half) / self.blur_mm)
            tooth = gaussian_filter1d(rng.normal(size=len(along)), 0.8)
            dark = self.line_dark * np.clip(1.0 + self.line_flicker * tooth / tooth.std(), 0.0, 2.0)
            light = light * (1.0 - bar * np.minimum(dark, 0.95)[None, :])[..., None]
        stored = 255.0 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        stored = stored + self.noise * rng.normal(size=stored.shape)
        return Strip(
            np.clip(np.round(stored), 0, 255).astype(np.float32),
            np.ones(below.shape, bool),
            along,
            DOWN,
            np.full(len(along), 40.0),
        )
