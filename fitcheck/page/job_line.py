"""The line at which jobs wait: worked off by processes beside the page, one job each at a time.

A thread for each process takes the next job from the record, hands it over, and writes down what became of it. A
process that ends before its job did has the job put back; one that is to be stopped is ended, whatever it does.
"""

from __future__ import annotations

import multiprocessing
import sys
import threading
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.ground.refusal import WrongCall
from fitcheck.page import jobs
from fitcheck.page.measurer import GO, measurer
from fitcheck.page.shop import folder_of
from fitcheck.page.tidying import tidy

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

#: A process that says nothing for so long is ended: a whole plank of forty photographs takes under two minutes.
SILENT_S = 900.0
SILENT = "measuring these photographs took over a quarter of an hour and was stopped"
#: A record that could not be used is tried again after this.
AGAIN_S = 5.0
#: Jobs after which a process makes room for a new one, so that what libraries keep is given back.
MOST_JOBS = 100


class Line:
    """Works the jobs of one hull off; ``target`` is what a process does, :func:`fitcheck.page.measurer.measurer`."""

    def __init__(self, hull_path: Path, *, processes: int = 1, target: Callable[..., None] = measurer) -> None:
        self.hull_path, self.db_path = hull_path, hull_path.with_name("fitcheck.db")
        self._benches = [_Bench(self, target) for _ in range(processes)]

    def start(self) -> None:
        """Put back what a page before this one had in hand, clear what is long done, and work."""
        jobs.put_back(self.db_path)
        tidy(self.db_path, folder_of(self.hull_path))
        for bench in self._benches:
            bench.thread.start()

    def wake(self) -> None:
        """Look for jobs: one was sent."""
        for bench in self._benches:
            bench.woken.set()

    def share(self, job_id: int) -> float:
        """The share of a job's work that is done, 0 to 1."""
        return next((bench.share for bench in self._benches if bench.job_id == job_id), 0.0)

    def cancel(self, job_id: int) -> bool:
        """Stop a job that waits or is measured; False where it is being recorded or has ended."""
        if not jobs.change(self.db_path, job_id, to="cancelled", among=("open", "waiting", "measuring")):
            return False
        for bench in self._benches:
            bench.drop(job_id)
        return True

    def stop(self) -> None:
        """End every process. What was being measured waits for the next start."""
        for bench in self._benches:
            bench.stop()
        for bench in self._benches:
            if bench.thread.is_alive():
                bench.thread.join(5.0)


class _Bench:
    """One process and the thread that serves it."""

    def __init__(self, line: Line, target: Callable[..., None]) -> None:
        self.line, self.target = line, target
        self.woken, self.stopped = threading.Event(), threading.Event()
        self.thread = threading.Thread(target=self._serve, daemon=True)
        self.job_id: int | None = None
        self.share = 0.0
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._done = 0
        self._changing = threading.Lock()

    def drop(self, job_id: int) -> None:
        """End the process if it has this job; it was cancelled on record."""
        with self._changing:
            if self.job_id == job_id and self._process is not None:
                self._process.kill()

    def stop(self) -> None:
        """End the process and its thread."""
        self.stopped.set()
        self.woken.set()
        with self._changing:
            if self._process is not None:
                self._process.kill()

    def _serve(self) -> None:
        while not self.stopped.is_set():
            self.woken.clear()
            try:
                self._begin()  # at hand before it is needed
                job = jobs.take_next(self.line.db_path)
                if job is not None:
                    self._work(job)
                    self.woken.set()
            except (WrongCall, OSError) as error:
                print(f"fitcheck: {error}", file=sys.stderr)
                self.woken.wait(AGAIN_S)
                continue
            self.woken.wait()
        self._end()

    def _work(self, job: jobs.Job) -> None:
        """Have one job measured, and write down what became of it."""
        with self._changing:
            self.job_id, self.share = job.id, 0.0
        try:
            self._send(("job", asdict(job)))
            while (said := self._heard())[0] != "idle":
                self._note(job, *said)
        except (EOFError, OSError):
            # The process has ended: by a crash, by cancelling, or since the page stops.
            if not self.stopped.is_set():
                jobs.put_back(self.line.db_path, job_id=job.id)
            self._end()
        finally:
            with self._changing:
                self.job_id = None
        self._done += 1
        if self._done >= MOST_JOBS:
            self._end()

    def _note(self, job: jobs.Job, what: str, *more: Any) -> None:
        if what == "share":
            self.share = float(more[0])
        elif what == "record":
            # From here on it can no longer be cancelled; before that, a cancelled job goes no further.
            if not jobs.change(self.line.db_path, job.id, to="recording", among=("measuring",)):
                raise EOFError
            self._send(GO)
        elif what == "ended":
            state, said, fit = more
            jobs.change(self.line.db_path, job.id, to=state, among=("measuring", "recording"), said=said, fit=fit)

    def _begin(self) -> None:
        if self._process is not None and self._process.is_alive():
            return
        self._end()
        context = multiprocessing.get_context("spawn")
        mine, theirs = context.Pipe()
        process = context.Process(target=self.target, args=(theirs, self.line.hull_path), daemon=True)
        process.start()
        theirs.close()
        with self._changing:
            self._process, self._pipe, self._done = process, mine, 0

    def _end(self) -> None:
        with self._changing:
            process, pipe, self._process, self._pipe = self._process, self._pipe, None, None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.kill()
            process.join(5.0)

    def _send(self, what: object) -> None:
        if self._pipe is None:
            raise EOFError
        self._pipe.send(what)

    def _heard(self) -> tuple[Any, ...]:
        if self._pipe is None:
            raise EOFError
        if not self._pipe.poll(SILENT_S):
            if self.job_id is not None:
                jobs.change(self.line.db_path, self.job_id, to="failed", among=("measuring", "recording"), said=SILENT)
            raise EOFError
        said: tuple[Any, ...] = self._pipe.recv()
        return said
