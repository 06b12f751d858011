"""One page a hull: a second one would take up the work that the first has in hand."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fitcheck.ground.refusal import WrongCall

try:
    import fcntl
except ImportError:  # pragma: no cover - a system without these locks
    fcntl = None  # type: ignore[assignment]


@contextmanager
def only_one(folder: Path) -> Iterator[None]:
    """While this page is served no other is, of the hull whose page keeps its work in ``folder``.

    The lock ends with its process, however that ends. Raises :class:`WrongCall` where another page is served.
    """
    file = os.open(folder / "served", os.O_CREAT | os.O_RDWR, 0o600)
    try:
        if fcntl is not None:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise WrongCall(f"the page of {folder.parent} is served already: stop that one first") from None
            except OSError:  # a file system without these locks
                pass
        yield
    finally:
        os.close(file)
