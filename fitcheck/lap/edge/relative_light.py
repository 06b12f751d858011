"""The common profile of the edge in amounts of light, relative to the plank's face: lightness and colour apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.edge.edge_path import values_of

#: The lens mixes light, the file stores about its 2.2th root: a step read in stored levels lies toward its dark side.
GAMMA = 2.2
#: Columns of :func:`relative_light`.
DIFFERENCES, RATIOS = (1, 2), (3, 4)
LEAST_NOISE = np.array([0.025, 0.013, 0.013, 0.013, 0.013])
#: Evidence counts once a millimetre (blur and grain join neighbouring rows) and two thirds of that, because grain is no
#: white noise; both set on made pictures by the share of errors inside the stated uncertainty.
EVIDENCE_MM, CAUTION = 1.0, 1.5


@dataclass(frozen=True)
class Profile:
    """What :func:`relative_light` gives at ``y_mm`` (M,), in units of ``noise`` (5,): ``level`` (M, 5)."""

    y_mm: np.ndarray
    level: np.ndarray
    noise: np.ndarray
    px_mm: float

    @property
    def light(self) -> np.ndarray:
        """The amount of light (M,), relative to the plank's face."""
        return np.asarray(self.level[:, 0] * self.noise[0])

    @property
    def weight(self) -> float:
        """What a sample's square counts."""
        return float(self.y_mm[1] - self.y_mm[0]) / (EVIDENCE_MM * CAUTION)


def relative_light(profile: np.ndarray, face: np.ndarray) -> np.ndarray:
    """Light (M, 5) relative to the plank's face, rows ``face`` (M,).

    Columns are the amount; red and blue each less green, which blur leaves in place; and the log ratios of red and of
    blue to green, which shade leaves alone. ``profile`` (M, 3) holds tone and colours as
    :func:`fitcheck.lap.edge.edge_path.log_tone` gives them.
    """
    light = np.maximum(values_of(profile), 1.0) ** GAMMA
    blue, green, red = (light / np.median(light[face], axis=0)).T
    amount = (blue + green + red) / 3.0
    return np.column_stack([amount, red - green, blue - green, np.log(red / green), np.log(blue / green)])


def wood_noise(across: np.ndarray, light: np.ndarray) -> np.ndarray:
    """Unevenness (5,) of ``light`` (M, 5) at ``across`` (M,) over the plank's face, where nothing but wood is seen."""
    line = np.column_stack([np.ones(len(across)), across])
    left = light - line @ np.linalg.lstsq(line, light, rcond=None)[0]
    return np.asarray(np.maximum(np.sqrt((left**2).mean(axis=0)), LEAST_NOISE))
