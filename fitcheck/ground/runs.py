"""Runs: the stretches of neighbouring places of which something is true."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np


def runs(true: np.ndarray, joined: np.ndarray | None = None) -> list[slice]:
    """The runs of ``true`` (N,), in order; ``joined`` (N - 1,) tells which places hang together with the next.

    Without ``joined`` all do; a run never reaches over two that do not.

    >>> import numpy as np
    >>> runs(np.array([True, True, False, True]))
    [slice(0, 2, None), slice(3, 4, None)]
    >>> runs(np.array([True, True, False, True]), np.array([False, True, True]))
    [slice(0, 1, None), slice(1, 2, None), slice(3, 4, None)]
    """
    import numpy as np

    true = np.asarray(true, bool)
    on = true[:-1] & true[1:] if joined is None else true[:-1] & true[1:] & joined
    parted = np.concatenate([[True], ~on, [True]])
    first, last = np.flatnonzero(true & parted[:-1]), np.flatnonzero(true & parted[1:])
    return [slice(int(start), int(stop) + 1) for start, stop in zip(first, last, strict=True)]
