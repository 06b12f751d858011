"""How far values scatter about nothing, with outliers among them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

#: A normal distribution's standard deviation over its median size, 1 / 0.67449, to four decimals.
NORMAL = 1.4826


def robust_spread(values: np.ndarray, axis: int | tuple[int, ...] | None = None) -> Any:
    """The standard deviation of normal ``values`` about zero, from the median of their sizes, along ``axis`` or of all.

    Up to half of the values may be foreign. NaN for no values. It is scipy's ``median_abs_deviation`` about zero with
    ``scale="normal"``, in a line of its own because loading ``scipy.stats`` takes longer than what it is needed for.

    >>> import numpy as np
    >>> round(float(robust_spread(np.array([-0.6745, 0.1, 0.6745, 0.6745, 99.0]))), 3)
    1.0
    """
    import numpy as np

    return NORMAL * np.median(np.abs(values), axis=axis)
