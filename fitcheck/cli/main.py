"""The command line's start and end, which nothing leaves but a status and one line.

Exit status: 0 measured, 1 the system would not, 2 a wrong call, 3 refused, 130 stopped by the user.
"""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typer import Typer

# Everything else is imported inside, so that a stop at any time after this is a line and no traceback.
STOPPED = "stopped; nothing was recorded"


def main() -> None:
    """Run the command line and leave with its status."""
    # Small matrices by the thousand: threads of the linear algebra cost more than they give. Set before numpy loads.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Looking for plugins of the settings' library reads every installed package's papers: a tenth of a short command.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    sys.exit(run())


def run(words: Sequence[str] | None = None) -> int:
    """The status of one command, given by its ``words`` (those of the process unless given).

    Whatever goes wrong is told in one plain line on standard error, never as a traceback.
    """
    try:
        from fitcheck.ground.streams import guarded

        with guarded():
            return _status(words)
    except KeyboardInterrupt:
        print(f"fitcheck: {STOPPED}", file=sys.stderr)
        return 130


def _status(words: Sequence[str] | None) -> int:
    from fitcheck.cli import trouble

    trouble.RECORDED.clear()
    try:
        app = _commands(sys.argv[1:] if words is None else words)
        with warnings.catch_warnings():
            # A chart shows a box for a letter its font has not; the page beside it shows the letter.
            warnings.filterwarnings("ignore", message="Glyph .* missing", category=UserWarning)
            status = int(app(words, standalone_mode=False, prog_name="fitcheck") or 0)
        sys.stdout.flush()
        if status != 130:
            return status
        raise KeyboardInterrupt
    except BaseException as error:
        text, status = trouble.in_words(error)
    if text:
        print(text, file=sys.stderr)
    return status


def _commands(words: Sequence[str]) -> Typer:
    """The commands that these words may mean; the record's and the page come by themselves, without the others."""
    if list(words[:1]) == ["log"]:
        from fitcheck.cli.log import log_alone

        return log_alone()
    if list(words[:1]) == ["page"]:
        from fitcheck.cli.page_command import page_alone

        return page_alone()
    from fitcheck.cli.app import app

    return app
