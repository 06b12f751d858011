"""One cut, fair as a batten would lie: a linear programme over a cubic spline, under the guard everywhere."""

from __future__ import annotations

from typing import Any

import numpy as np

from fitcheck.advice.planing.programme import solve

#: Knots as far apart as this bend like a thin batten; closer ones are tried where the wood asks for it.
KNOTS_MM = (200.0, 100.0, 50.0)
#: Wood left undone by the fairest spline that is not worth a stiffer turn of the plane.
LEFT_MM = 0.1
#: Wood left undone counts this many times wood taken off.
LEFT_WEIGHT = 10.0
#: What the sharpest bend of the spline's net counts for, in wood.
BEND_WEIGHT = 0.1


def fair_cut(at_mm: np.ndarray, need_mm: np.ndarray, most_mm: np.ndarray, *, prefer: str = "least-wood") -> np.ndarray:
    """Depths (N,) of a fair cut at places (N,) in order.

    ``need_mm`` (N,) is the wood that should come off, ``most_mm`` (N,) what may: the cut never passes it, and leaves
    wood undone where a fair cut under it cannot reach the need. The fewest knots that leave less than
    :data:`LEFT_MM` undone are used. Minimises the mean depth ("least-wood") or the deepest ("shallowest").

    >>> x = np.arange(0, 205, 5.0); hump = np.sin(np.pi * x / 200)
    >>> depth = fair_cut(x, 0.8 * hump, hump)
    >>> bool((depth <= hump + 1e-9).all()), round(float(depth.max()), 1)
    (True, 0.8)
    """
    if len(at_mm) < 3:
        return np.array(need_mm, float)
    depth = np.zeros(len(at_mm))
    for knots_mm in KNOTS_MM:
        depth = _cut_on(_basis(at_mm, knots_mm), need_mm, most_mm, prefer == "shallowest")
        if (need_mm - depth).max() <= LEFT_MM:
            break
    # The solver keeps its constraints to 1e-7 mm; the guard is kept exactly.
    return np.clip(depth, 0.0, most_mm)


def _basis(at_mm: np.ndarray, knots_mm: float) -> Any:
    """The B-splines (N, M), sparse, at the places: cubic, or of lower degree where there are too few for that."""
    from scipy.interpolate import BSpline

    degree = min(3, len(at_mm) - 1)
    spans = max(1, round(float(at_mm[-1] - at_mm[0]) / knots_mm))
    inner = np.linspace(at_mm[0], at_mm[-1], spans + 1)
    knots = np.concatenate([[at_mm[0]] * degree, inner, [at_mm[-1]] * degree])
    return BSpline.design_matrix(at_mm, knots, degree)


def _cut_on(basis: Any, need: np.ndarray, most: np.ndarray, shallowest: bool) -> np.ndarray:
    from scipy.sparse import csr_array, eye_array

    places, splines = basis.shape
    bend = csr_array(np.diff(np.eye(splines), n=2, axis=0))
    deepest, sharpest = csr_array(np.ones((places, 1))), csr_array(np.ones((splines - 2, 1)))
    # Columns: spline weights, wood left undone, the deepest cut, the sharpest bend of the spline's net.
    rows = [
        [basis, None, None, None],
        [-basis, None, None, None],
        [-basis, -eye_array(places), None, None],
        [basis, None, -deepest, None],
        [bend, None, None, -sharpest],
        [-bend, None, None, -sharpest],
    ]
    limits = np.concatenate([most, np.zeros(places), -need, np.zeros(places + 2 * (splines - 2))])
    mean_weight, deepest_weight = (1e-3, 1.0) if shallowest else (1.0, 1e-3)
    cost = np.concatenate(
        [
            mean_weight * np.asarray(basis.mean(axis=0)).ravel(),
            np.full(places, LEFT_WEIGHT / places),
            [deepest_weight, BEND_WEIGHT],
        ]
    )
    columns = solve(cost, rows, limits, [(None, None)] * splines + [(0, None)] * (places + 2))
    return np.asarray(basis @ columns[:splines])
