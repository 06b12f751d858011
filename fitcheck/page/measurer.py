"""What a process beside the page does: it waits for jobs, measures them, and says how it goes."""

from __future__ import annotations

import signal
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.ground.refusal import Refused, WrongCall

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

#: Said to a process that asks whether it may record.
GO = ("go",)


def measurer(pipe: Connection, hull_path: Path) -> None:
    """Measure jobs of the hull with the settings ``hull_path``, as they come through the ``pipe``, until it closes.

    Comes in: ``("job", fields of a Job)``, then :data:`GO` once recording is asked for. Goes out: ``("share", 0 to
    1)``, ``("record",)`` before anything goes on record, ``("ended", state, words, fit)`` when the answer is there,
    ``("idle",)`` when what comes after the answer is done as well.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the page, which ends this process
    sys.stdin.close()
    from fitcheck.page.work import warm

    with suppress(EOFError, BrokenPipeError, ConnectionError):
        warm()
        while True:
            _, told = pipe.recv()
            _one(pipe, hull_path, told)
            pipe.send(("idle",))


def _one(pipe: Connection, hull_path: Path, told: dict[str, Any]) -> None:
    from fitcheck.page.jobs import Job
    from fitcheck.page.work import after, work

    def may_record() -> None:
        pipe.send(("record",))
        if pipe.recv() != GO:
            raise EOFError

    job = Job(**told)
    try:
        outcome = work(hull_path, job, progress=lambda share: pipe.send(("share", share)), may_record=may_record)
    except (EOFError, BrokenPipeError):
        raise  # the page is gone
    except (WrongCall, Refused, OSError, MemoryError) as error:
        pipe.send(("ended", "failed", _in_words(error), None))
        return
    except Exception as error:
        print(f"fitcheck: job {job.id}: {type(error).__name__}: {error}", file=sys.stderr)
        text = f"an error of this program's own ({type(error).__name__}): please report it, with the photographs"
        pipe.send(("ended", "failed", text, None))
        return
    pipe.send(("ended", outcome.state, outcome.said, outcome.fit))
    try:
        after(hull_path, job, outcome)
    except Exception as error:  # the answer stands without its papers
        print(f"fitcheck: the papers of job {job.id} were not made: {error}", file=sys.stderr)


def _in_words(error: BaseException) -> str:
    if isinstance(error, MemoryError):
        return "this computer has not memory enough for it: send fewer or smaller photographs"
    if isinstance(error, OSError) and not isinstance(error, WrongCall):
        return f"the computer would not: {error.strerror or error}"
    return str(error)
