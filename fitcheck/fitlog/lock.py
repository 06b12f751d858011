"""Who is at work on a record: many at once, or one alone.

The lock is laid on the record's folder, so that it leaves no file behind, holds in a folder that cannot be written, and
ends with its process however that ends. Where the system has no such lock, or the folder takes none, the work goes on
without: SQLite's own locks still keep every change whole.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fitcheck.ground.refusal import WrongCall

try:
    import fcntl
except ImportError:  # pragma: no cover - a system without these locks
    fcntl = None  # type: ignore[assignment]

#: How long one process waits for another.
WAIT_S = 30.0


@contextmanager
def at_work(db_path: Path) -> Iterator[None]:
    """Among others: to be held while the record or its photographs are read or written.

    Raises :class:`WrongCall` where one who is alone on the record does not end in :data:`WAIT_S`.
    """
    with _locked(db_path, alone=False, wait_s=WAIT_S) as gained:
        if not gained:
            raise WrongCall(f"{db_path} is being restored by another fitcheck, which did not end: try again")
        yield


@contextmanager
def alone(db_path: Path, *, wait_s: float = WAIT_S) -> Iterator[bool]:
    """With no one else at work, whether or not that was gained in ``wait_s``. Never inside :func:`at_work`."""
    with _locked(db_path, alone=True, wait_s=wait_s) as gained:
        yield gained


@contextmanager
def _locked(db_path: Path, *, alone: bool, wait_s: float) -> Iterator[bool]:
    try:
        folder = os.open(db_path.absolute().parent, os.O_RDONLY)
    except OSError:  # no such folder, which is told where it is needed, or a system that opens none
        yield True
        return
    try:
        yield _gained(folder, alone, wait_s)
    finally:
        os.close(folder)


def _gained(folder: int, alone: bool, wait_s: float) -> bool:
    if fcntl is None:
        return True
    deadline = time.monotonic() + wait_s
    while True:
        try:
            fcntl.flock(folder, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
            return True
        except BlockingIOError:
            if time.monotonic() >= deadline:
                return False
            time.sleep(0.01)
        except OSError:  # a file system that locks no folders
            return True
