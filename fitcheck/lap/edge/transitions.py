"""How well two transitions, so far apart, explain a profile: plank's face, edge face, strake."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.edge.on_strake import step_shape

#: An edge face under a millimetre wide shows no slope of its own.
LEAST_SLOPE_MM = 1.0
#: An eased corner is so much less sharp than the picture.
EASED_MM = 0.12
SINGULAR = 1e-8


@dataclass(frozen=True)
class Pairs:
    """Pairs of transitions to be tried: widths (W, 1) and outer corners (1, O).

    ``lag_mm`` (W, O) is how far beyond the inner corner its step is seen; a negative width is a corner hidden.
    """

    widths_mm: np.ndarray
    outers_mm: np.ndarray
    lag_mm: np.ndarray

    @classmethod
    def of(cls, widths_mm: np.ndarray, outers_mm: np.ndarray) -> Pairs:
        """All pairs of widths (W,) and outer corners (O,), their steps seen in place."""
        return cls(widths_mm[:, None], outers_mm[None, :], np.zeros((len(widths_mm), len(outers_mm))))

    @property
    def inner_mm(self) -> np.ndarray:
        """Inner corners (W, O)."""
        return np.asarray(self.widths_mm + self.outers_mm)


@dataclass(frozen=True)
class Tie:
    """What the step at the outer corner should be, as a sample more for the fit: its value and its weight."""

    value: float
    weight: float

    @classmethod
    def of(cls, step: float, u_step: float, noise: float, weight: float) -> Tie:
        """A step ± its doubt, for levels in units of ``noise`` whose squares count ``weight`` each."""
        scale = u_step * np.sqrt(weight)
        return cls(step / scale, noise / scale)


def colour_lag(y: np.ndarray, light: np.ndarray, inner_mm: np.ndarray, blur_mm: float) -> np.ndarray:
    """How far beyond an inner corner (W, O) a ratio of colours changes: blur mixes light, so the brighter side wins."""
    from scipy.special import ndtri

    away = 1.5 * blur_mm
    ratio = np.interp(inner_mm + away, y, light) / np.interp(inner_mm - away, y, light)
    return np.asarray(blur_mm * ndtri(1.0 / (1.0 + np.clip(ratio, 0.1, 10.0))))


def misfits(
    y: np.ndarray, level: np.ndarray, pairs: Pairs, blur_mm: float, more: list[np.ndarray], tie: Tie | None
) -> np.ndarray:
    """Sum of squares (W, O) left by the best levels for every pair of transitions.

    ``level`` (M,) over ``y`` (M,) is in units of noise; ``more`` are shapes (M,) of what else lies on the strake;
    ``tie`` holds the outer corner's step to a level, None lets it free.
    """
    widths = pairs.widths_mm[:, 0]
    result = np.empty(pairs.inner_mm.shape)
    # Colours, whose step is tied, have no slope on the edge face.
    wide = (widths > LEAST_SLOPE_MM) & (tie is None)
    if tie is not None:
        level = np.append(level, tie.value)
    for column, outer in enumerate(pairs.outers_mm[0]):
        inner = outer + np.maximum(widths, 0.0) + pairs.lag_mm[:, column]
        at_outer = [step_shape(y - outer, float(np.hypot(blur_mm, EASED_MM))), np.ones_like(y), y, *more]
        for some, shapes in ((~wide, at_outer), (wide, [*at_outer, _ramp(y - outer, blur_mm)])):
            if not some.any():
                continue
            beyond = y - inner[some, None]
            fixed = np.broadcast_to(np.stack(shapes, axis=-1), (*beyond.shape, len(shapes)))
            free = np.stack([step_shape(beyond, blur_mm), _ramp(beyond, blur_mm)], axis=-1)
            basis = np.concatenate([fixed, free], axis=-1)
            if tie is not None:
                basis = np.pad(basis, ((0, 0), (0, 1), (0, 0)))
                basis[:, -1, 0] = tie.weight
            result[some, column] = level @ level - _explained(basis, level)
    return result


def _explained(basis: np.ndarray, level: np.ndarray) -> np.ndarray:
    """Sum of squares (W,) of ``level`` (M,) that each ``basis`` (W, M, K) explains, by its normal equations."""
    turned = np.swapaxes(basis, 1, 2)
    # Shapes that fall together (a step beyond the window) leave the equations singular but for this.
    square = turned @ basis + SINGULAR * np.eye(basis.shape[2])
    along = turned @ level
    return np.einsum("wk,wk->w", along, np.linalg.solve(square, along[..., None])[..., 0])


def _ramp(y: np.ndarray, blur: float) -> np.ndarray:
    return np.asarray(y * step_shape(y, blur) + blur * np.exp(-0.5 * (y / blur) ** 2) / np.sqrt(2.0 * np.pi))
