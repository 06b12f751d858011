"""Smooth random functions along the plank: what hand and batten leave of a fair line."""

from collections.abc import Callable

import numpy as np

from tests.scenes.arrays import Array

Wander = Callable[[Array], Array]


def wander(rng: np.random.Generator, half_range: float, wave_mm: float, parts: int = 6) -> Wander:
    """A sum of sines with wavelengths from 0.75 to 2 times `wave_mm`, scaled to stay within about ± `half_range`.

    The shorter waves are the smaller, as in a bent batten: the height of each goes as its wavelength.
    """
    waves = wave_mm * np.exp(rng.uniform(np.log(0.75), np.log(2.0), parts))
    phases = rng.uniform(0.0, 2.0 * np.pi, parts)
    heights = rng.normal(1.0, 0.4, parts) * waves
    heights *= half_range / (1.8 * np.sqrt(0.5 * np.sum(heights**2)))

    def value(x: Array) -> Array:
        x = np.asarray(x, float)
        total = np.zeros_like(x)
        for height, wave, phase in zip(heights, waves, phases, strict=True):
            total += height * np.sin(2.0 * np.pi * x / wave + phase)
        return total

    return _tabled(value)


def _tabled(value: Wander) -> Wander:
    """The same function, read from a table with 0.5 mm steps where asked for many places: within 1e-4 mm, in a tenth
    of the time."""

    def quick(x: Array) -> Array:
        x = np.asarray(x)
        if x.size < 20_000:
            return value(x)
        low = float(np.floor(x.min()))
        table = value(low + 0.5 * np.arange(int(2 * (float(x.max()) - low)) + 3))
        at = 2.0 * (x - low)
        k = at.astype(np.intp)
        return np.asarray(table[k] + (at - k) * np.diff(table)[k])

    return quick


def steady(x: Array, rng: np.random.Generator, wave_mm: float) -> Array:
    """Unit-variance smooth noise at evenly spaced `x` (N,), correlated over about `wave_mm`."""
    step = float(x[1] - x[0])
    knots = rng.normal(size=int(np.ptp(x) / wave_mm) + 6)
    at = (x - x[0]) / wave_mm + rng.uniform(1.0, 2.0)
    noise = np.interp(at, np.arange(len(knots)), knots)
    reach = max(1, round(0.5 * wave_mm / step))
    smooth = np.convolve(np.pad(noise, reach, mode="edge"), np.ones(2 * reach + 1) / (2 * reach + 1), "valid")
    return (smooth - smooth.mean()) / (smooth.std() + 1e-12)
