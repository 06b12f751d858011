"""Standard uncertainties: put together, carried along a straight line, and widened to an interval.

Sizes may be single numbers or numpy arrays of one shape; nothing is imported for single numbers. Source: JCGM
100:2008 (the GUM), section 5.1.2 (root sum of squares), annex G.4 (effective degrees of freedom), H.3 (a line).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

#: Half-width of the 95 % interval of a normal distribution, in standard deviations.
Z95 = 1.959963984540054
#: The same as measurements use it, and the factor for 95 % on one side (JCGM 100:2008, table G.1, 95 and 90 %).
COVERAGE, ONE_SIDED = 1.96, 1.645


@dataclass(frozen=True)
class Part:
    """One part of a budget: a standard uncertainty ``u`` in the unit of the result, with its degrees of freedom.

    ``u`` already carries its sensitivity (how much the result moves for one unit of the cause). Infinite degrees of
    freedom mean that ``u`` itself is taken as surely known.
    """

    u: Any
    dof: Any = math.inf


def combine(parts: Iterable[Part]) -> Part:
    """The parts, independent of each other, put together: root sum of squares, Welch-Satterthwaite for the freedom.

    Not in it: anything the parts have in common, which must be put together before. No parts give zero.

    >>> whole = combine([Part(25.0, 18), Part(9.7, 25.6), Part(2.9, 50), Part(16.6, 2)])
    >>> round(whole.u, 1), round(whole.dof, 1)
    (31.7, 16.8)
    """
    parts = list(parts)
    u = sum(part.u**2 for part in parts) ** 0.5
    slack = sum(part.u**4 / part.dof for part in parts)
    return Part(u, _freedom(u**4, slack))


def coverage_factor(dof: Any = math.inf, *, level: float = 0.95) -> Any:
    """How many standard uncertainties the two-sided interval of ``level`` reaches, by Student's distribution.

    ``dof`` is a number or an array, above zero. Raises ValueError for a level outside 0 to 1.

    >>> round(float(coverage_factor()), 2), round(float(coverage_factor(16, level=0.99)), 2)
    (1.96, 2.92)
    """
    if not 0 < level < 1:
        raise ValueError(f"a level lies between 0 and 1, not at {level}")
    if isinstance(dof, (int, float)) and math.isinf(dof):
        from statistics import NormalDist

        return NormalDist().inv_cdf((1 + level) / 2)
    from scipy.special import stdtrit

    return stdtrit(dof, (1 + level) / 2)


@dataclass(frozen=True)
class Line:
    """A straight line ``intercept + slope * x`` fitted by weighted least squares, with the covariance of the two."""

    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    correlation: float
    #: Standard deviation of one observation about the line: told, or found from the residuals.
    scatter: float
    dof: float

    def at(self, x: float) -> tuple[float, float]:
        """The line at ``x`` and its standard uncertainty (the fit's alone, not the scatter of a new observation)."""
        crossed = 2 * x * self.correlation * self.u_intercept * self.u_slope
        variance = self.u_intercept**2 + (x * self.u_slope) ** 2 + crossed
        return self.intercept + self.slope * x, math.sqrt(max(variance, 0.0))


def fit_line(x: Sequence[float], y: Sequence[float], u: Sequence[float] | None = None) -> Line:
    """The line through the points (``x``, ``y``), weighted by 1/``u``² where their standard uncertainties are told.

    Without ``u`` the scatter is found from the residuals. Errors of the points must be independent; errors of ``x``
    are not in it.
    Raises ValueError for fewer than two places (three without ``u``), or where all ``x`` are one.

    >>> line = fit_line([0.0, 1.0, 2.0], [1.0, 3.0, 5.0], [0.1, 0.1, 0.1])
    >>> round(line.intercept, 6), round(line.slope, 6), round(line.u_slope, 4)
    (1.0, 2.0, 0.0707)
    """
    x, y = [float(value) for value in x], [float(value) for value in y]
    weights = [1.0] * len(x) if u is None else [1 / float(value) ** 2 for value in u]
    if len(y) != len(x) or len(weights) != len(x) or len(x) < (3 if u is None else 2):
        raise ValueError("a line needs three points, or two with their uncertainties")
    total = math.fsum(weights)
    middle_x = math.fsum(w * a for w, a in zip(weights, x, strict=True)) / total
    middle_y = math.fsum(w * b for w, b in zip(weights, y, strict=True)) / total
    spread = math.fsum(w * (a - middle_x) ** 2 for w, a in zip(weights, x, strict=True))
    if spread <= 0:
        raise ValueError("a line needs points at more than one place")
    slope = math.fsum(w * (a - middle_x) * (b - middle_y) for w, a, b in zip(weights, x, y, strict=True)) / spread
    scatter, dof = (1.0, math.inf) if u is not None else _scatter(x, y, middle_y - slope * middle_x, slope)
    u_middle, u_slope = scatter / math.sqrt(total), scatter / math.sqrt(spread)
    u_intercept = math.hypot(u_middle, middle_x * u_slope)
    correlation = -middle_x * u_slope / u_intercept if u_intercept else 0.0
    return Line(
        intercept=middle_y - slope * middle_x,
        slope=slope,
        u_intercept=u_intercept,
        u_slope=u_slope,
        correlation=correlation,
        scatter=scatter,
        dof=dof,
    )


def _scatter(x: list[float], y: list[float], intercept: float, slope: float) -> tuple[float, float]:
    dof = len(x) - 2
    squares = math.fsum((b - intercept - slope * a) ** 2 for a, b in zip(x, y, strict=True))
    return math.sqrt(squares / dof), float(dof)


def _freedom(top: Any, slack: Any) -> Any:
    if isinstance(slack, (int, float)):
        return top / slack if slack else math.inf
    import numpy as np

    return np.divide(top, slack, out=np.full_like(slack, np.inf), where=slack > 0)
