"""What goes wrong, in one line and a status: the one place that knows every kind of trouble."""

from __future__ import annotations

import os
import re
import sqlite3
import traceback

from fitcheck.ground.refusal import Refused, WrongCall

#: What this call has put on record: it stays there whatever comes after, and the line about that says so.
RECORDED: list[str] = []


def in_words(error: BaseException) -> tuple[str, int]:
    """The line to say about ``error``, empty for none, and the exit status.

    2 is a wrong call, 3 a refusal, 130 a stop by the user, 1 what the system would not do or an error of ours.

    >>> in_words(WrongCall("--lap 12: give a unit"))
    ('fitcheck: --lap 12: give a unit', 2)
    """
    if isinstance(error, SystemExit) and isinstance(error.__context__, BrokenPipeError):
        error = error.__context__  # which the command line turns into an end without a word
    if isinstance(error, BrokenPipeError):
        # Whoever reads the output may stop when enough is read.
        text, status = "the output was closed before all was written" if RECORDED else "", 1
    elif isinstance(error, SystemExit):
        text, status = "", error.code if isinstance(error.code, int) else int(error.code is not None)
    elif isinstance(error, KeyboardInterrupt) or type(error).__name__ == "Abort":
        text, status = "stopped" if RECORDED else "stopped; nothing was recorded", 130
    elif hasattr(error, "format_message"):
        return _usage(error)
    else:
        text, status = _told(error)
    kept = f"on record and kept: {'; '.join(RECORDED)}" if RECORDED and status else ""
    line = "; ".join(part for part in (text, kept) if part)
    return (f"fitcheck: {_short(line)}" if line else ""), status


def _short(line: str) -> str:
    """The line, with the middle of a name of hundreds of letters left out."""
    return re.sub(r"\S{200,}", lambda long: f"{long[0][:60]}…{long[0][-20:]}", line)


def _told(error: BaseException) -> tuple[str, int]:
    if isinstance(error, WrongCall):
        return str(error), 2
    if isinstance(error, Refused):
        return error.reason.text, 3
    if isinstance(error, OSError):
        return _system(error), 1
    if isinstance(error, MemoryError):
        return "this computer has not memory enough for it: give fewer or smaller photographs", 1
    if isinstance(error, sqlite3.Error):
        return f"the record could not be used ({error}); nothing new was recorded", 1
    return _ours(error), 1


def _system(error: OSError) -> str:
    """What the system said, with the file where it names one."""
    if error.filename is None and not _folder_is_there():
        return "the folder you work in is gone: go to one that is there"
    why = error.strerror or str(error)
    if error.filename is None:
        return f"the answer could not be written: {why}"
    return f"{os.fsdecode(error.filename) if isinstance(error.filename, str | bytes) else error.filename}: {why}"


def _folder_is_there() -> bool:
    try:
        os.getcwd()
    except OSError:
        return False
    return True


def _usage(error: BaseException) -> tuple[str, int]:
    """A call that the command line itself cannot read; help that was asked for by giving no words is shown whole."""
    status = int(getattr(error, "exit_code", 2))
    text = str(error.format_message())  # type: ignore[attr-defined]
    if "\n" in text:
        return text, status
    context = getattr(error, "ctx", None)
    more = f" See: {context.command_path} --help" if context is not None else ""
    return f"fitcheck: {text}{more}", status


def _ours(error: BaseException) -> str:
    """An error of this program's own, with the line of it, so that it can be mended."""
    where = traceback.extract_tb(error.__traceback__)
    at = f" at {os.path.basename(where[-1].filename)} line {where[-1].lineno}" if where else ""
    said = " ".join(str(error).split())[:200]
    return f"an error of this program's own ({type(error).__name__}: {said}{at}): please report it, with the command"
