"""The command line as a real process, for what only a process has, and in this one, which starts at once."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

from fitcheck.cli import main
from tests.samples import LAPS, ROOT, TEAL

__all__ = ["LAPS", "ROOT", "TEAL", "TOLD", "run", "run_here"]

#: What a builder gives with every sample photograph.
TOLD = ["--camera", str(TEAL), "--reference", "id1", "--thickness", "12.7mm", "--lap", "25.4mm", "--bevel", "6deg"]


def run(*arguments: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the command line with these arguments, in ``cwd`` or at the project's root."""
    code = "from fitcheck.cli.main import main; main()"
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, cwd=cwd or ROOT, env=environment)


def run_here(*arguments: object) -> subprocess.CompletedProcess[str]:
    """The same in this process and its folder: statuses and lines are those of a process, without its start."""
    words, out, err = [str(word) for word in arguments], io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        status = main.run(words)
    return subprocess.CompletedProcess(words, status, out.getvalue(), err.getvalue())
