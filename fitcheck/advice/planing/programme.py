"""A linear programme in blocks of columns, solved by HiGHS."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np


def solve(
    cost: np.ndarray,
    rows: Sequence[Sequence[Any]],
    most: np.ndarray,
    bounds: Sequence[tuple[float | None, float | None]],
) -> np.ndarray:
    """The columns (N,) of least ``cost @ columns`` with ``rows @ columns <= most`` within ``bounds``.

    ``rows`` are blocks, sparse arrays or None for zeros. Raises ArithmeticError where there is no solution, which the
    programmes here, all with slack, never come to.
    """
    from scipy.optimize import linprog
    from scipy.sparse import block_array

    matrix: Any = block_array([list(row) for row in rows], format="csr")
    # HiGHS's presolve now and then gives up on a degenerate programme that it solves without.
    for presolve in (True, False):
        options: Any = {"presolve": presolve}
        found: Any = linprog(cost, A_ub=matrix, b_ub=most, bounds=list(bounds), method="highs", options=options)
        if found.success:
            break
    else:
        raise ArithmeticError(f"the linear programme has no solution: {found.message}")
    return np.asarray(found.x, float)
