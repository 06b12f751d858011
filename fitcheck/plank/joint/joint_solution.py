"""One solution for all photographs of a plank: where the cards lie, how the hull bends, where the cameras stood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.plank.joint.card_views import View
from fitcheck.plank.joint.curved_pose import CurvedPose
from fitcheck.plank.joint.equations import OF_CARD, OF_VIEW, Equations
from fitcheck.plank.joint.hull_shape import Shape
from fitcheck.plank.joint.layout import Layout

MOST_ROUNDS = 12
LEAST_DAMPING, MOST_DAMPING = 1e-9, 1e6
#: A step that betters the sum of squares by less than this moves no unknown by a tenth of its uncertainty.
LEAST_GAIN = 0.01
#: A photograph sees no further along the plank than this, so its pose needs the hull's shape no further.
SHAPE_REACH_MM = 1000.0


@dataclass(frozen=True, eq=False)
class Joint:
    """The joint solution.

    ``numbers`` (K,) names the cards, ``cards`` (K, 3) are their s, w and turn on the laid-out ``shape``, ``covariance``
    (2 K, 2 K) that of all their s, then all their w. ``poses`` (V) are those of the face under each view. ``misfit``
    (V,) is each view's mean square residual over what its points promise. ``u_scale`` is the doubt of the cards' print,
    common to all lengths and not in the covariance of the cards.
    """

    numbers: tuple[int, ...]
    cards: np.ndarray
    covariance: np.ndarray
    shape: Shape
    poses: tuple[CurvedPose, ...]
    misfit: np.ndarray
    u_scale: float

    def place_covariance(self) -> np.ndarray:
        """Covariance (K, K) of the cards' s, the doubt of the print's scale in it."""
        off = self.cards[:, 0] - self.cards[0, 0]
        count = len(self.numbers)
        return np.asarray(self.covariance[:count, :count] + self.u_scale**2 * np.outer(off, off))


def solve(views: Sequence[View], layout: Layout) -> Joint:
    """The joint solution of views that hang together by their cards, started from a rough layout.

    Levenberg and Marquardt's method on the normal equations (K. Levenberg 1944, D. W. Marquardt 1963). Where the
    residuals are larger than the marker corners promise, the whole covariance grows by as much.
    """
    equations = Equations(views, layout)
    none = np.zeros(equations.size)
    damping = 1e-6
    for _ in range(MOST_ROUNDS):
        misses, (held, held_slopes) = equations.misses(none), equations.held()
        slopes = equations.slopes(misses)
        normal = slopes.T @ slopes + held_slopes.T @ held_slopes
        pull = slopes.T @ misses + held_slopes.T @ held
        before = after = float(misses @ misses + held @ held)
        while damping < MOST_DAMPING:
            step = -np.linalg.solve(normal + damping * np.diag(np.diag(normal)), pull)
            after = float((equations.misses(step) ** 2).sum() + ((held + held_slopes @ step) ** 2).sum())
            if after <= before:
                equations.take(step)
                break
            damping *= 10.0
        damping = max(damping / 10.0, LEAST_DAMPING)
        if before - after < LEAST_GAIN:
            break
    return _joint(views, equations, np.linalg.inv(normal))


def _joint(views: Sequence[View], equations: Equations, covariance: np.ndarray) -> Joint:
    squares = (equations.misses(np.zeros(equations.size)) ** 2).reshape(-1, 2).sum(axis=1)
    excess = float(squares.sum()) / max(1, 2 * len(squares) - equations.shape_from)
    covariance = (covariance + covariance.T) / 2.0 * max(1.0, excess)
    count = np.bincount(equations.view, minlength=len(views))
    by_view = np.bincount(equations.view, squares, len(views))
    residual_px = np.sqrt(np.bincount(equations.view, squares * equations.u_px**2, len(views)) / count)
    u_scale = max(card.u_scale for view in views for card in view.cards)
    places = equations.cards_from + OF_CARD * np.arange(len(equations.cards))
    at = np.concatenate([places, places + 1])
    return Joint(
        numbers=equations.numbers,
        cards=equations.cards,
        covariance=covariance[np.ix_(at, at)],
        shape=equations.shape,
        poses=tuple(
            _pose(view, v, equations, covariance, u_scale, float(residual_px[v])) for v, view in enumerate(views)
        ),
        misfit=by_view / np.maximum(1, 2 * count - OF_VIEW),
        u_scale=u_scale,
    )


def _pose(
    view: View, v: int, equations: Equations, covariance: np.ndarray, u_scale: float, residual_px: float
) -> CurvedPose:
    """One view's pose, with the part of the hull's shape that it sees."""
    knots = equations.shape.knots_mm
    near = np.flatnonzero(np.abs(knots - equations.origins[v, 0]) < SHAPE_REACH_MM)
    mine = np.concatenate(
        [OF_VIEW * v + np.arange(OF_VIEW), equations.shape_from + near, equations.shape_from + len(knots) + near]
    )
    own = covariance[np.ix_(mine, mine)].copy()
    own[3:6, 3:6] += u_scale**2 * np.outer(equations.shift[v], equations.shift[v])
    return CurvedPose(
        view.lens,
        equations.rotation[v],
        equations.shift[v],
        own,
        equations.lens[v],
        residual_px,
        shape=equations.shape.between(near),
        origin_mm=equations.origins[v],
    )
