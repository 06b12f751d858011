"""Run a study over the cores, each worker a process started afresh.

A forked worker inherits the locks of the threads its parent had but not the threads: OpenCV's pool then waits for ever.
Where the tests themselves run in several processes the cores are taken: the work is then done in the one that asks.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import TypeVar

Item, Result = TypeVar("Item"), TypeVar("Result")


def _one_thread() -> None:
    import cv2

    cv2.setNumThreads(1)


def in_processes(function: Callable[[Item], Result], items: Iterable[Item], workers: int = 2) -> list[Result]:
    """What ``function`` gives for each item, in order; function and items must pickle."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        return [function(item) for item in items]
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_one_thread) as pool:
        return list(pool.map(function, items))
