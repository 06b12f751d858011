"""A progress bar on standard error, where that is a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from fitcheck.ground.streams import bare


@contextmanager
def share_done(words: str) -> Iterator[Callable[[float], None] | None]:
    """A bar that is told the share of the work done, where standard error is a terminal; else nothing."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(file=bare(sys.stderr)), transient=True) as shown:
        task = shown.add_task(words, total=1.0)
        yield lambda share: shown.update(task, completed=share)
