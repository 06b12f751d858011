"""A process that measures nothing and does as the note beside the photographs says, for tests of the line."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

from fitcheck.page.measurer import GO
from fitcheck.page.shop import FOLDER

#: What takes its time.
SLEEPS_S = {"hang": 600.0, "slow": 2.0}


def pretended(pipe, hull_path: Path) -> None:
    """Answer jobs as the real one does; what was recorded is told by a line in a file of the job's folder."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        try:
            _, job = pipe.recv()
        except EOFError:
            return
        folder = hull_path.with_name(FOLDER) / f"{job['id']:06d}"
        _count(folder / "begun")
        note = job["told"]["note"]
        pipe.send(("share", 0.5))
        if note in SLEEPS_S:
            time.sleep(SLEEPS_S[note])
        if note == "crash" or (note == "crash once" and (folder / "begun").read_text() == "+"):
            os.kill(os.getpid(), signal.SIGKILL)
        if note == "refuse":
            pipe.send(("ended", "refused", "", None))
        elif note == "fail":
            pipe.send(("ended", "failed", "cannot be measured so", None))
        else:
            pipe.send(("record",))
            if pipe.recv() != GO:
                return
            _count(folder / "recorded")
            if note == "crash recorded" and (folder / "begun").read_text() == "+":
                os.kill(os.getpid(), signal.SIGKILL)
            pipe.send(("ended", "measured", "", 7))
        pipe.send(("idle",))


def _count(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a") as file:
        file.write("+")
