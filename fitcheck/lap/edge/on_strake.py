"""What else the common profile of the edge shows on the strake: the end of a shadow, and the pencil line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

#: A shadow counts where the light rises by this much (relative).
LEAST_SHADOW = 0.12
#: Its depth is read so far to either side of its end.
BESIDE_MM = 1.2
#: A dark band narrower than this may be a pencil line, if it is darker by so many times the wood's unevenness.
PENCIL_MM, LEAST_PENCIL = 1.4, 3.0


@dataclass(frozen=True, eq=False)
class Shadow:
    """A dark band on the strake: ``at_mm`` where it ends, ``depth`` how much of the light it takes, 0..1."""

    at_mm: float
    depth: float
    #: How far beyond the inner corner it must end to be seen, and what supposing it costs (log odds).
    clear_mm: ClassVar[float] = 1.0
    penalty: ClassVar[float] = 4.0

    def shape(self, y: np.ndarray, px_mm: float) -> np.ndarray:
        """Its form over places ``y`` (M,), of unknown height."""
        return step_shape(y - self.at_mm, float(np.hypot(0.7 * px_mm, 0.2)))


@dataclass(frozen=True, eq=False)
class Pencil:
    """A narrow dark band on the strake: its middle, and its form (M,) as seen."""

    at_mm: float
    dip: np.ndarray
    clear_mm: ClassVar[float] = 0.6
    penalty: ClassVar[float] = 2.0

    def shape(self, y: np.ndarray, px_mm: float) -> np.ndarray:
        """Its form over the places it was found in, of unknown height."""
        return self.dip


def find_shadow(y: np.ndarray, light: np.ndarray, px_mm: float) -> Shadow | None:
    """Where a dark band on the strake ends: the steepest rise of light toward the keel, if there is one worth the
    name."""
    from scipy.ndimage import gaussian_filter1d

    rise = np.gradient(gaussian_filter1d(light, 0.5 * px_mm / float(y[1] - y[0])), y)
    steepest = int(np.argmax(np.where(y > -1.0, rise, -np.inf)))
    end = float(y[steepest])
    inside, outside = light[(y > end - BESIDE_MM) & (y < end)], light[(y >= end) & (y < end + BESIDE_MM)]
    depth = 1.0 - float(inside.min() / outside.max()) if len(inside) and len(outside) else 0.0
    return Shadow(end, depth) if depth > LEAST_SHADOW else None


def find_pencil(y: np.ndarray, light: np.ndarray, noise: float) -> Pencil | None:
    """The deepest narrow dark band below the profile's zero, if it stands out of the wood."""
    from scipy.ndimage import grey_closing

    dip = grey_closing(light, (max(3, round(PENCIL_MM / float(y[1] - y[0]))),)) - light
    deepest = int(np.argmax(np.where(y > -0.5, dip, 0.0)))
    if dip[deepest] < LEAST_PENCIL * noise:
        return None
    return Pencil(float(y[deepest]), np.where(np.abs(y - y[deepest]) < PENCIL_MM, dip, 0.0))


def step_shape(y: np.ndarray, blur_mm: float) -> np.ndarray:
    """A step from 0 to 1 at zero, blurred by a Gaussian."""
    from scipy.special import ndtr

    return np.asarray(ndtr(y / blur_mm))
