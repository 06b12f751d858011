"""The lap as one fair curve on the laid-out face of the plank, and places along it as a tape would read them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

KNOT_MM = 80.0
#: Waves of the lap shorter than this are not followed: planking lines are fair.
FOLLOWED_MM = 450.0
GRID_MM = 5.0
#: Points further off than this count less and less, reached in steps.
TRUSTED_MM = (30.0, 8.0, 3.0, 1.5, 1.0, 1.0)


@dataclass(frozen=True)
class LapCurve:
    """w (G,) of the lap over s (G,) on the laid-out face, in steps of :data:`GRID_MM`; straight on beyond its ends."""

    s_mm: np.ndarray
    w_mm: np.ndarray

    def w(self, s_mm: np.ndarray) -> np.ndarray:
        """The lap's w (N,) at s (N,)."""
        return np.asarray(np.interp(s_mm, self._long[0], self._long[1]))

    def place(self, s_mm: np.ndarray) -> np.ndarray:
        """Length along the lap (N,) from the curve's first place to those over s (N,)."""
        s, w = self._long
        length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(s), np.diff(w)))])
        return np.asarray(np.interp(s_mm, s, length - length[1]))

    def s_at(self, place_mm: np.ndarray) -> np.ndarray:
        """The s (N,) of lengths along the lap (N,): the inverse of :meth:`place`."""
        s = np.arange(self._long[0][0], self._long[0][-1], GRID_MM)
        return np.asarray(np.interp(place_mm, self.place(s), s))

    def foot(self, s_mm: float, w_mm: float) -> float:
        """The s where a square dropped from (s, w) meets the lap.

        >>> level = LapCurve(np.arange(0.0, 500.0, 5.0), np.full(100, 40.0))
        >>> level.foot(120.0, 3.0), float(level.place(np.array([120.0]))[0])
        (120.0, 120.0)
        """
        at = s_mm
        for _ in range(4):
            w, slope = self.w(np.array([at - 20.0, at + 20.0])), 0.0
            slope = float(w[1] - w[0]) / 40.0
            at = s_mm - slope * (float(w.mean()) - w_mm)
        return float(at)

    @cached_property
    def _long(self) -> tuple[np.ndarray, np.ndarray]:
        """The curve with a long straight piece at either end."""
        s, w, far = self.s_mm, self.w_mm, 2000.0
        near = min(len(s) - 1, 10)
        before = w[0] - (w[near] - w[0]) / (s[near] - s[0]) * far
        after = w[-1] + (w[-1] - w[-1 - near]) / (s[-1] - s[-1 - near]) * far
        return np.concatenate([[s[0] - far], s, [s[-1] + far]]), np.concatenate([[before], w, [after]])


def fit_curve(s_mm: np.ndarray, w_mm: np.ndarray, *, followed_mm: float = FOLLOWED_MM) -> LapCurve:
    """The fair curve through points (N,), most of which lie near it: a stiff spline, reweighted.

    The stiffness passes half of a wave of ``followed_mm``, as a batten of that stiffness would.
    """
    from scipy.interpolate import BSpline

    low, high = float(s_mm.min()), float(s_mm.max())
    pieces = max(2, int((high - low) / KNOT_MM))
    inner = np.linspace(low, high, pieces + 1)
    step = inner[1] - inner[0]
    knots = np.concatenate([inner[0] - step * np.arange(3, 0, -1), inner, inner[-1] + step * np.arange(1, 4)])
    basis = np.asarray(BSpline.design_matrix(np.clip(s_mm, low, high - 1e-9), knots, 3).todense())
    bends = np.diff(np.eye(basis.shape[1]), 2, axis=0) / step**2
    stiffness = (followed_mm / (2.0 * np.pi)) ** 4 * len(s_mm) / max(high - low, 1.0) * step
    weight = np.ones(len(s_mm))
    for trusted in TRUSTED_MM:
        normal = basis.T @ (basis * weight[:, None]) + stiffness * bends.T @ bends
        found = np.linalg.solve(normal + 1e-9 * np.eye(len(normal)), basis.T @ (weight * w_mm))
        weight = 1.0 / (1.0 + ((w_mm - basis @ found) / trusted) ** 2)
    grid = np.append(np.arange(low, high, GRID_MM), high)
    return LapCurve(grid, np.asarray(BSpline(knots, found, 3)(np.clip(grid, low, high - 1e-9))))
