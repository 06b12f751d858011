"""Standard output and error as every command writes to them: no control codes, and no letter that cannot be written."""

from __future__ import annotations

import codecs
import contextlib
import json
import os
import re
import sys
import unicodedata
from collections.abc import Iterator
from typing import Any, TextIO, cast

#: What a terminal takes as a command or turns the text round with: C0, C1, delete, and the marks of direction.
_CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]|\r(?!\n)")
#: Signs of ours that an ASCII terminal does not have.
_IN_ASCII = {
    "±": "+-",
    "°": " deg",
    "×": "x",
    "–": "-",
    "—": "-",
    "−": "-",
    "…": "...",
    "≥": ">=",
    "≤": "<=",
    "→": "->",
}
_ERRORS = "fitcheck"


def plain(text: str) -> str:
    r"""``text`` with every control code in letters, so that a name or a note can do nothing to a terminal.

    The letters are those of JSON, which stays JSON.

    >>> print(plain("4 port \x1b[2J"))
    4 port \u001b[2J
    """
    return _CONTROLS.sub(lambda code: f"\\u{ord(code[0]):04x}", text)


class Guarded:
    """A text stream that is written to through :func:`plain`."""

    def __init__(self, stream: TextIO) -> None:
        self.bare = stream

    def write(self, text: str) -> int:
        """Write ``text``, its control codes in letters."""
        self.bare.write(plain(text))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        # Without its bytes: nothing is written past this class.
        if name == "buffer":
            raise AttributeError(name)
        return getattr(self.bare, name)


def bare(stream: TextIO) -> TextIO:
    """The stream itself, for what draws on the terminal with codes of its own; text from outside goes by `plain`."""
    return cast(TextIO, getattr(stream, "bare", stream))


def json_line(value: Any, *, indent: int | None = 1) -> str:
    """``value`` as JSON for standard output, in letters that it can write. Raises ValueError for NaN."""
    wide = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "") == "utf8"
    return json.dumps(value, ensure_ascii=not wide, allow_nan=False, indent=indent) + "\n"


@contextlib.contextmanager
def guarded() -> Iterator[None]:
    """Standard output and error made safe while a command runs; a full or closed one raises no more afterwards."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = (cast(TextIO, Guarded(_writable(stream))) for stream in before)
    try:
        yield
    finally:
        for stream in (sys.stdout, sys.stderr):
            _emptied(bare(stream))
        sys.stdout, sys.stderr = before


def _writable(stream: TextIO | None) -> TextIO:
    """The stream, with a stand-in for letters it has not; nowhere, where the process was started without it."""
    if stream is None:
        return open(os.devnull, "w", encoding="utf-8")  # closed with the process
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors=_ERRORS)
    return stream


def _emptied(stream: TextIO) -> None:
    try:
        stream.flush()
    except OSError:
        # What is left in it would be tried again, and fail again, when the interpreter ends.
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _stand_in(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(_in_ascii, error.object[error.start : error.end])), error.end


def _in_ascii(letter: str) -> str:
    known = _IN_ASCII.get(letter) or unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
    return known or letter.encode("ascii", "backslashreplace").decode()


codecs.register_error(_ERRORS, _stand_in)
