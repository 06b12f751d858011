"""Boards: grain that runs along the lap, as light and dark reflectance on a fine net."""

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np

from fitcheck.ground.light import light_of_levels
from tests.scenes.arrays import Array

STEP_ALONG_MM, STEP_ACROSS_MM = 0.6, 0.14


@dataclass(frozen=True)
class Species:
    """Look of a wood: sRGB colour, spacing of its rings, strength of rings, streaks, pores and fibre, knots per m²."""

    colour: tuple[int, int, int]
    ring_mm: float
    rings: float
    streaks: float
    pores: float
    fibre: float
    knots: float


SPECIES = {
    "cedar": Species((196, 150, 118), 2.5, 0.16, 0.09, 0.00, 0.030, 12.0),
    "larch": Species((206, 164, 118), 4.0, 0.26, 0.09, 0.00, 0.030, 14.0),
    "spruce": Species((226, 198, 154), 2.2, 0.14, 0.06, 0.00, 0.025, 8.0),
    "pine": Species((222, 188, 134), 5.0, 0.22, 0.07, 0.00, 0.025, 16.0),
    "oak": Species((186, 152, 108), 3.0, 0.10, 0.08, 0.22, 0.045, 3.0),
    "elm": Species((170, 130, 96), 3.5, 0.18, 0.12, 0.12, 0.045, 4.0),
    "mahogany": Species((150, 88, 62), 9.0, 0.06, 0.10, 0.25, 0.040, 0.5),
    "okoume": Species((188, 128, 104), 12.0, 0.05, 0.08, 0.18, 0.030, 0.0),
    "teak": Species((158, 116, 74), 6.0, 0.16, 0.13, 0.16, 0.040, 1.0),
    "ash": Species((222, 204, 172), 5.0, 0.20, 0.05, 0.14, 0.030, 2.0),
}
PAINTS = {
    "white": (236, 236, 230),
    "grey": (168, 172, 174),
    "cream": (226, 216, 186),
    "blue": (70, 96, 128),
    "primer": (190, 120, 100),
}


def linear(colour: tuple[int, int, int]) -> Array:
    """Linear BGR of an sRGB colour."""
    return light_of_levels(np.array(colour[::-1], np.uint8))


@dataclass(frozen=True)
class Board:
    """Linear BGR reflectance on a net over the board: rows across, columns along."""

    shade: Array
    from_mm: tuple[float, float]
    step_mm: tuple[float, float] = (STEP_ALONG_MM, STEP_ACROSS_MM)

    def at(self, along_mm: Array, across_mm: Array) -> Array:
        """Reflectance (N, 3) at places (N,) each; beyond the net it is mirrored."""
        u = ((along_mm - self.from_mm[0]) / self.step_mm[0]).astype(np.float32)
        v = ((across_mm - self.from_mm[1]) / self.step_mm[1]).astype(np.float32)
        return remap_list(self.shade, u, v)


def remap_list(picture: Array, u: Array, v: Array) -> Array:
    """`picture` (rows, columns, channels) at a list of places (N,), bilinear."""
    if not len(u):
        return np.zeros((0, picture.shape[2] if picture.ndim > 2 else 1), np.float32)
    width = 1024
    rows = -(-len(u) // width)
    pad = (0, rows * width - len(u))
    at = [np.pad(c, pad).reshape(rows, width) for c in (u, v)]
    flat = [
        cv2.remap(picture, at[0][k : k + 16000], at[1][k : k + 16000], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        for k in range(0, rows, 16000)
    ]
    return np.concatenate(flat).reshape(rows * width, -1)[: len(u)]


def noise(rng: np.random.Generator, shape: tuple[int, int], along: float, across: float) -> Array:
    """Unit smooth noise of `shape` (rows, columns), correlated over `along` and `across` steps."""
    rows, columns = max(4, int(shape[0] / across) + 3), max(4, int(shape[1] / along) + 3)
    field = cv2.resize(
        rng.standard_normal((rows, columns), dtype=np.float32), shape[::-1], interpolation=cv2.INTER_CUBIC
    )
    return np.asarray(field / (field[::3, ::3].std() + 1e-9), np.float32)


def _rings(rng: np.random.Generator, rows: int, ring_mm: float) -> Array:
    """Dark latewood at the end of every ring: (rows, 1), about 0 to 1."""
    gaps = ring_mm * np.exp(rng.normal(0.0, 0.45, int(3 * rows * STEP_ACROSS_MM / ring_mm) + 10))
    bounds = np.cumsum(gaps)
    at = np.arange(rows) * STEP_ACROSS_MM
    k = np.searchsorted(bounds, at)
    phase = 1.0 - (bounds[k] - at) / gaps[k]
    late = np.exp(rng.normal(0.0, 0.5, len(gaps)))[k] * phase ** rng.uniform(2.0, 6.0, len(gaps))[k]
    return np.asarray(cv2.GaussianBlur(late[:, None].astype(np.float32), (1, 5), 1.0)).reshape(-1, 1)


def _streaks(rng: np.random.Generator, shape: tuple[int, int]) -> Array:
    """Streaks of many widths, 0.3 to 8 mm, each kind far longer than wide; the narrow ones mostly dark."""
    total = np.zeros(shape, np.float32)
    for width, length, weight in (
        (0.3, 40, 0.5),
        (0.5, 90, 0.7),
        (0.8, 150, 0.8),
        (1.5, 200, 0.7),
        (3.5, 300, 0.7),
        (9, 400, 0.8),
    ):
        layer = noise(rng, shape, length / STEP_ALONG_MM, width / STEP_ACROSS_MM)
        total += np.float32(weight) * (np.maximum(layer - 0.8, 0.0) * 2.0 if width < 1.0 else layer)
    return total


def _knots(rng: np.random.Generator, shape: tuple[int, int], density: float) -> tuple[Array, Array]:
    """Darkness of the knots, and how far across (mm) they push the grain aside, both of `shape`."""
    dark, push = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    area = shape[0] * shape[1] * STEP_ALONG_MM * STEP_ACROSS_MM * 1e-6
    y = (np.arange(shape[0], dtype=np.float32) * STEP_ACROSS_MM)[:, None]
    x = (np.arange(shape[1], dtype=np.float32) * STEP_ALONG_MM)[None]
    for _ in range(rng.poisson(density * area)):
        x0, y0 = float(rng.uniform(0, x[0, -1])), float(rng.uniform(0, y[-1, 0]))
        size = float(rng.uniform(2.0, 6.0))
        columns = slice(*np.searchsorted(x[0], (x0 - 10.0 * size, x0 + 10.0 * size)))
        dx, dy = (x[:, columns] - x0) / (1.5 * size), (y - y0) / size
        far = np.sqrt(dx * dx + dy * dy)
        dark[:, columns] += np.exp(-(far**4)) * (1.0 + 0.25 * np.cos(9.0 * far)) + 0.6 * np.exp(
            -33.0 * (far - 1.0) ** 2
        )
        push[:, columns] += 1.1 * size * np.sign(dy) * np.exp(-np.abs(dy) / 1.8) * np.exp(-0.2 * dx * dx)
    return dark, push


def _coloured(tone: Array, depth: list[Array]) -> Array:
    """A tone (3,) dimmed by exp(−depth), a depth (rows, columns) for each of its three colours."""
    shade = cv2.merge([float(t) * cv2.exp(-d) for t, d in zip(tone, depth, strict=True)])
    return np.asarray(np.clip(shade, 0.01, 0.95), np.float32)


@lru_cache(maxsize=6)
def board(
    seed: int,
    species: str,
    drift_deg: float,
    strength: float,
    span_mm: tuple[float, float],
    height_mm: tuple[float, float],
) -> Board:
    """A board over `span_mm` along and `height_mm` across, its grain drifting by `drift_deg` from the lap."""
    rng = np.random.default_rng([seed, 29])
    wood = SPECIES[species]
    shape = (int((height_mm[1] - height_mm[0]) / STEP_ACROSS_MM), int((span_mm[1] - span_mm[0]) / STEP_ALONG_MM))
    dark, push = _knots(rng, shape, wood.knots)
    grain = wood.rings * _rings(rng, shape[0], wood.ring_mm) + wood.streaks * _streaks(rng, shape)
    along = np.arange(shape[1], dtype=np.float32)[None] * STEP_ALONG_MM
    drift = np.float32(np.tan(np.radians(drift_deg))) * (along - along.mean())
    drift = drift + 1.5 * noise(rng, shape, 250 / STEP_ALONG_MM, 60 / STEP_ACROSS_MM) - push
    row = np.arange(shape[0], dtype=np.float32)[:, None] + drift / STEP_ACROSS_MM
    column = np.broadcast_to(np.arange(shape[1], dtype=np.float32)[None], shape)
    grain = cv2.remap(
        grain, np.ascontiguousarray(column), row.astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
    )
    grain += np.float32(wood.fibre) * (noise(rng, shape, 3.0, 1.6) + noise(rng, shape, 10.0, 2.0))
    if wood.pores:
        grain += np.float32(wood.pores) * np.clip(noise(rng, shape, 5.0, 1.5) - 1.7, 0.0, 1.2)
    depth = np.float32(strength) * (grain + 0.05 * noise(rng, shape, 300.0, 300.0)) + 0.9 * dark
    depth -= np.float32(np.median(depth[::8, ::8]))
    hue = np.array([1.35, 1.0, 0.72], np.float32) + rng.normal(0.0, 0.06, 3).astype(np.float32)
    tone = linear(wood.colour) * np.float32(np.exp(rng.normal(0.0, 0.12)))
    return Board(_coloured(tone, [1.6 * h * depth for h in hue]), (span_mm[0], height_mm[0]))


@lru_cache(maxsize=6)
def painted(seed: int, paint: str, span_mm: tuple[float, float], height_mm: tuple[float, float]) -> Board:
    """A painted board: even, with brush marks and faint telegraphed grain."""
    rng = np.random.default_rng([seed, 31])
    shape = (int((height_mm[1] - height_mm[0]) / STEP_ACROSS_MM), int((span_mm[1] - span_mm[0]) / STEP_ALONG_MM))
    depth = (
        0.010 * noise(rng, shape, 200.0, 5.0)
        + 0.008 * noise(rng, shape, 60.0, 3.0)
        + 0.02 * noise(rng, shape, 300.0, 160.0)
    )
    return Board(_coloured(linear(PAINTS[paint]), [depth] * 3), (span_mm[0], height_mm[0]))
