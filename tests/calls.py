"""Commands called as the command line calls them: what was printed, and the status that trouble gives."""

from __future__ import annotations

from dataclasses import dataclass

from typer import Typer
from typer.testing import CliRunner

from fitcheck.cli.trouble import RECORDED, in_words


@dataclass(frozen=True)
class Done:
    """What a command said, ``output`` with the error stream, ``stdout`` and ``stderr`` apart, and its exit status."""

    output: str
    stdout: str
    stderr: str
    exit_code: int


def call(app: Typer, *words: str) -> Done:
    """Run ``app`` with ``words``; an error that leaves a command is told as the program tells it."""
    RECORDED.clear()
    done = CliRunner().invoke(app, list(words))
    error = done.exception
    if error is None or isinstance(error, SystemExit):
        return Done(done.output, done.stdout, done.stderr, done.exit_code)
    text, status = in_words(error)
    return Done(f"{done.output}{text}\n", done.stdout, f"{done.stderr}{text}\n", status)
