"""Normal equations of a bundle adjustment, with the board's points kept apart: each meets only itself, 3 x 3.

So the points are eliminated first and the system that is left is small (the Schur complement; Triggs and others, Bundle
Adjustment, a Modern Synthesis, 2000).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Normal:
    """The weighted normal equations.

    ``core`` (P, P) and ``core_slope`` (P,) are of the lens and the poses; ``points`` (N, 3, 3) and ``points_slope``
    (N, 3) of the board's points; ``cross`` (P, N, 3) joins the two. Held flat, N is 0.
    """

    core: np.ndarray
    core_slope: np.ndarray
    points: np.ndarray
    points_slope: np.ndarray
    cross: np.ndarray

    @classmethod
    def empty(cls, size: int, points: int) -> Normal:
        """Equations of ``size`` lens and pose terms and ``points`` free points, nothing yet added."""
        return cls(
            np.zeros((size, size)),
            np.zeros(size),
            np.zeros((points, 3, 3)),
            np.zeros((points, 3)),
            np.zeros((size, points, 3)),
        )

    def add(self, own: np.ndarray, with_core: np.ndarray, with_point: np.ndarray, residuals: np.ndarray) -> None:
        """Add one view, weighted already.

        ``own`` (K,) are its lens and pose terms in the core; ``with_core`` (N, 2, K) and ``with_point`` (N, 2, 3) are
        how each pixel moves with them and with its own board point; ``residuals`` (N, 2).
        """
        # einsum, not a matrix product: the parts are small, and threads of a matrix library cost more than the sums.
        self.core[np.ix_(own, own)] += np.einsum("nij,nik->jk", with_core, with_core)
        self.core_slope[own] += np.einsum("nij,ni->j", with_core, residuals)
        if len(self.points):
            self.cross[own] += np.einsum("nij,nik->jnk", with_core, with_point)
            self.points[...] += np.einsum("nij,nik->njk", with_point, with_point)
            self.points_slope[...] += np.einsum("nij,ni->nj", with_point, residuals)

    def hold_points(self, off: np.ndarray, spread: float) -> None:
        """Hold each board point to its told place, from which it is ``off`` (N, 3), within a standard deviation."""
        self.points[:, range(3), range(3)] += 1.0 / spread**2
        self.points_slope[...] -= off / spread**2

    def step(self, damping: float) -> tuple[np.ndarray, np.ndarray]:
        """The damped step, (P,) of the lens and poses and (N, 3) of the points. LinAlgError where none is told."""
        core = self.core + damping * np.diag(np.diag(self.core))
        points = self.points.copy()
        points[:, range(3), range(3)] *= 1.0 + damping
        inverse = np.linalg.inv(points)
        carried = np.einsum("pnj,njk->pnk", self.cross, inverse)
        left = core - np.einsum("pnk,qnk->pq", carried, self.cross)
        core_step = np.linalg.solve(left, self.core_slope - np.einsum("pnk,nk->p", carried, self.points_slope))
        right = self.points_slope - np.einsum("pnk,p->nk", self.cross, core_step)
        return core_step, np.einsum("njk,nk->nj", inverse, right)

    def covariance(self, count: int) -> np.ndarray:
        """Covariance (count, count) of the first core terms, all else being free."""
        carried = np.einsum("pnj,njk->pnk", self.cross, np.linalg.inv(self.points))
        left = self.core - np.einsum("pnk,qnk->pq", carried, self.cross)
        return np.linalg.inv(left)[:count, :count]
