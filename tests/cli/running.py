"""The command line as a real process, for what only a process has: its streams, its status, its folder."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.samples import LAPS, ROOT, TEAL

__all__ = ["LAPS", "ROOT", "TEAL", "TOLD", "run"]

#: What a builder gives with every sample photograph.
TOLD = ["--camera", str(TEAL), "--reference", "id1", "--thickness", "12.7mm", "--lap", "25.4mm", "--bevel", "6deg"]


def run(*arguments: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the command line with these arguments, in ``cwd`` or at the project's root."""
    code = "from fitcheck.cli.main import main; main()"
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, cwd=cwd or ROOT, env=environment)
