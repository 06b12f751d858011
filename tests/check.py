"""Every check in one command: style, types, then the tests. ``python -m tests.check``"""

from __future__ import annotations

import os
import subprocess
import sys

STEPS = (
    ("style", ["ruff", "check", "."]),
    ("types", ["mypy"]),
    ("tests", ["pytest", "-q", "-n", "2", "--dist", "worksteal", "--durations=15"]),
)
#: Two processes on two cores: a library that starts threads of its own in each only takes turns with itself.
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"), "1")


def main() -> int:
    """Run the steps in turn and stop at the first that fails."""
    for name, command in STEPS:
        print(f"--- {name}: {' '.join(command)}", flush=True)
        status = subprocess.run([sys.executable, "-m", *command], check=False, env=os.environ | ONE_THREAD).returncode
        if status:
            return status
    return 0


if __name__ == "__main__":
    sys.exit(main())
