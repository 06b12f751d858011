"""Every check in one command: style, types, then the tests. ``python -m tests.check``"""

from __future__ import annotations

import subprocess
import sys

STEPS = (
    ("style", ["ruff", "check", "."]),
    ("types", ["mypy"]),
    ("tests", ["pytest", "-q", "-n", "2", "--dist", "worksteal"]),
)


def main() -> int:
    """Run the steps in turn and stop at the first that fails."""
    for name, command in STEPS:
        print(f"--- {name}: {' '.join(command)}", flush=True)
        status = subprocess.run([sys.executable, "-m", *command], check=False).returncode
        if status:
            return status
    return 0


if __name__ == "__main__":
    sys.exit(main())
