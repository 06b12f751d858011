"""The shape of the hull under a run of station cards: how much it bends and twists along the plank.

The strake's face is taken as flat across and smooth along. Its centre line bends by ``bend`` (radians in a millimetre,
+ where the hull bulges outward) and its cross direction turns about that line by ``twist`` (the same unit, + where the
side of rising w comes outward), both running straight from knot to knot and nothing beyond the last. The centre line is
straight within the face (a geodesic of it). Coordinates on the laid-out face are s along, w across and z off the face.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

GRID_MM = 40.0
#: Hulls bend to a radius of some 3 m and twist by a few degrees a metre; one standard deviation each, in rad/mm.
U_BEND, U_TWIST = 1.0 / 3000.0, np.radians(4.0) / 1000.0
#: Over about this length along a plank the bend and the twist change by as much as they amount to.
CHANGE_MM = 1500.0


class _Line(NamedTuple):
    """Places (G,) on a grid, and there the centre line (G, 3) and the axes (G, 3, 3)."""

    grid: np.ndarray
    centre: np.ndarray
    axes: np.ndarray


@dataclass(frozen=True)
class Shape:
    """Bend and twist (J,) at knots (J,) along the plank."""

    knots_mm: np.ndarray
    bend: np.ndarray
    twist: np.ndarray

    @classmethod
    def flat(cls, knots_mm: np.ndarray) -> Shape:
        """The shape of a flat hull."""
        return cls(np.asarray(knots_mm, float), np.zeros(len(knots_mm)), np.zeros(len(knots_mm)))

    def changed(self, bend: np.ndarray, twist: np.ndarray) -> Shape:
        """The shape with ``bend`` (J,) and ``twist`` (J,) added."""
        return replace(self, bend=self.bend + bend, twist=self.twist + twist)

    def between(self, knots: np.ndarray) -> Shape:
        """The shape with these of its knots (J',) alone, by their indices."""
        return Shape(self.knots_mm[knots], self.bend[knots], self.twist[knots])

    @cached_property
    def _line(self) -> _Line:
        low, high = self.knots_mm[0], self.knots_mm[-1]
        grid = np.linspace(low, high, max(2, int(np.ceil((high - low) / GRID_MM)) + 1))
        turns = np.diff(self._turned(grid), axis=0)
        steps, centres = _turns(turns), _ways(turns, np.diff(grid))
        axes, centre = np.empty((len(grid), 3, 3)), np.zeros((len(grid), 3))
        axes[0] = np.eye(3)
        for at, (step, way) in enumerate(zip(steps, centres, strict=True)):
            centre[at + 1] = centre[at] + axes[at] @ way
            axes[at + 1] = axes[at] @ step
        return _Line(grid, centre, axes)

    def _turned(self, s_mm: np.ndarray) -> np.ndarray:
        """Twist and bend (N, 2) in radians, summed from the first knot to each place (N,) among the knots."""
        knots, rates = self.knots_mm, np.stack([self.twist, self.bend], axis=-1)
        apart = np.diff(knots)[:, None]
        whole = np.vstack([np.zeros(2), np.cumsum((rates[1:] + rates[:-1]) / 2.0 * apart, axis=0)])
        left = np.clip(np.searchsorted(knots, s_mm, side="right") - 1, 0, len(knots) - 2)
        part = (s_mm - knots[left])[:, None]
        slope = np.diff(rates, axis=0) / apart
        return np.asarray(whole[left] + (rates[left] + slope[left] * part / 2.0) * part)

    def frames(self, s_mm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Centre line (N, 3) and axes (N, 3, 3) at places (N,): columns along, toward the sheer, outward.

        All in one frame, whose origin and axes are those at the first knot.

        >>> bent = Shape(np.array([0.0, 1000.0]), np.full(2, 1 / 3000), np.zeros(2))
        >>> bool(abs(bent.frames(np.array([600.0]))[0][0, 2] + 3000 * (1 - np.cos(0.2))) < 1e-4)
        True
        """
        s_mm = np.asarray(s_mm, float)
        grid, centre, axes = self._line
        inside = np.clip(s_mm, grid[0], grid[-1])
        left = np.clip(((inside - grid[0]) / (grid[1] - grid[0])).astype(int), 0, len(grid) - 2)
        turn = self._turned(inside) - self._turned(grid)[left]
        here = axes[left] @ _turns(turn)
        way = np.einsum("nij,nj->ni", axes[left], _ways(turn, inside - grid[left]))
        return centre[left] + way + (s_mm - inside)[:, None] * here[:, :, 0], here


def _turns(turn: np.ndarray) -> np.ndarray:
    """Rotations (N, 3, 3) for small twists and bends (N, 2) about the face's own x and y, to the third order."""
    cross = _cross(turn)
    return np.asarray(np.eye(3) + cross + cross @ cross / 2.0 + cross @ cross @ cross / 6.0)


def _ways(turn: np.ndarray, length_mm: np.ndarray) -> np.ndarray:
    """Ways (N, 3) along the face's x over lengths (N,) in which it steadily turns by twists and bends (N, 2)."""
    cross = _cross(turn)
    return np.asarray((np.eye(3) + cross / 2.0 + cross @ cross / 6.0)[:, :, 0] * length_mm[:, None])


def _cross(turn: np.ndarray) -> np.ndarray:
    cross = np.zeros((len(turn), 3, 3))
    cross[:, 0, 2], cross[:, 2, 0] = turn[:, 1], -turn[:, 1]
    cross[:, 2, 1], cross[:, 1, 2] = turn[:, 0], -turn[:, 0]
    return cross


def place_on(shape: Shape, points: np.ndarray) -> np.ndarray:
    """Points (N, 3) in the shape's one frame of points (N, 3) given as s, w, z on the laid-out face."""
    centre, axes = shape.frames(points[:, 0])
    return np.asarray(centre + points[:, 1:2] * axes[:, :, 1] + points[:, 2:3] * axes[:, :, 2])


def held_by_change(shape: Shape) -> tuple[np.ndarray, np.ndarray]:
    """Matrix (J, J) and per-knot scale (2,) of the prior: ``matrix @ (bend / U_BEND)`` has unit variance.

    A first-order chain from knot to knot: neighbours are alike, knots ``CHANGE_MM`` apart hardly so.
    """
    alike = np.exp(-np.diff(shape.knots_mm) / CHANGE_MM)
    fresh = np.sqrt(1.0 - alike**2)
    matrix = np.eye(len(shape.knots_mm))
    for row, (keep, new) in enumerate(zip(alike, fresh, strict=True), start=1):
        matrix[row, row] = 1.0 / new
        matrix[row, row - 1] = -keep / new
    return matrix, np.array([U_BEND, U_TWIST])
