"""Files read whole if they are files at all, and written whole or not at all.

Writing is to a temporary file in the same folder, then one rename.
"""

from __future__ import annotations

import json
import os
import stat
import tomllib
from pathlib import Path
from typing import Any

from fitcheck.ground.part_files import part_of
from fitcheck.ground.refusal import WrongCall

#: No settings, camera or stations file is longer; a larger one is something else.
MOST_BYTES = 1_000_000
#: Nor any photograph.
MOST_PHOTO_BYTES = 300_000_000


def read_bytes(path: str | os.PathLike[str], what: str, *, most_bytes: int = MOST_BYTES) -> bytes:
    """The bytes of the file at ``path``; ``what`` names it in the error, as "the camera file".

    Raises :class:`WrongCall` for what is not there, may not be read, is larger than ``most_bytes``, or is no ordinary
    file: a folder, a pipe or a device is never waited for.
    """
    if "\0" in os.fspath(path):
        raise WrongCall(f"cannot read {what} {os.fspath(path)!r}: no file has such a name")
    try:
        with open(path, "rb", opener=_unblocked) as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise WrongCall(f"cannot read {what} {path}: it is a pipe or a device, and a file is needed")
            data = file.read(most_bytes + 1)
    except IsADirectoryError as error:
        raise WrongCall(f"cannot read {what} {path}: it is a folder, and a file is needed") from error
    except OSError as error:
        raise WrongCall(f"cannot read {what} {path}: {error.strerror or error}") from error
    if len(data) > most_bytes:
        raise WrongCall(f"{path} is too large to be {what}")
    return data


def read_text(path: str | os.PathLike[str], what: str, *, most_bytes: int = MOST_BYTES) -> str:
    """The text of the file at ``path``, UTF-8 with or without its mark of order; see :func:`read_bytes`."""
    try:
        return read_bytes(path, what, most_bytes=most_bytes).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise WrongCall(f"{path} is not text in UTF-8") from error


def read_toml(path: str | os.PathLike[str], what: str) -> dict[str, Any]:
    """The TOML in the file at ``path``; see :func:`read_text`. Raises :class:`WrongCall` for what is no TOML."""
    text = read_text(path, what)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise WrongCall(f"{path} is not TOML that can be used: its brackets are nested too deep") from error
    except ValueError as error:  # what is no TOML, and a number of thousands of digits
        raise WrongCall(f"{path} is not TOML: {error}") from error


def need_file(path: str | os.PathLike[str], what: str = "") -> None:
    """Raise :class:`WrongCall` unless ``path`` is an ordinary file; it is not opened."""
    named = f"{what} {path}".strip()
    try:
        mode = os.stat(path).st_mode
    except FileNotFoundError as error:
        raise WrongCall(f"cannot read {named}: there is no such file") from error
    except OSError as error:
        raise WrongCall(f"cannot read {named}: {error.strerror or error}") from error
    if stat.S_ISDIR(mode):
        raise WrongCall(f"cannot read {named}: it is a folder; name the files in it, as {Path(path) / '*.jpg'}")
    if not stat.S_ISREG(mode):
        raise WrongCall(f"cannot read {named}: it is a pipe or a device, and a file is needed")


def write_bytes(path: str | os.PathLike[str], data: bytes) -> Path:
    """Write ``data`` to ``path`` so that a reader finds the old file or the new one, never a part; give the path back.

    Folders on the way are made. Raises :class:`WrongCall` with the system's reason where the file cannot be written;
    an old file of that name is then untouched.

    >>> import tempfile
    >>> write_bytes(Path(tempfile.mkdtemp()) / "fit" / "note.txt", b"dry fit").read_bytes()
    b'dry fit'
    """
    path = Path(path)
    need_writable(path)
    try:
        with part_of(path) as part:
            with open(part, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.replace(part, path)
    except (FileExistsError, NotADirectoryError) as error:
        raise WrongCall(f"cannot write {path}: {path.parent} lies in a file, not in a folder") from error
    except OSError as error:
        raise WrongCall(f"cannot write {path}: {error.strerror or error}") from error
    return path


def write_text(path: str | os.PathLike[str], text: str) -> Path:
    """Write ``text`` as UTF-8, what is no text in escapes that JSON reads too; see :func:`write_bytes`."""
    return write_bytes(path, text.encode("utf-8", "backslashreplace"))


def write_json(path: str | os.PathLike[str], value: Any) -> Path:
    """Write ``value`` as JSON, UTF-8; see :func:`write_bytes`. Raises ValueError for a number JSON cannot hold."""
    return write_text(path, json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1) + "\n")


def need_writable(path: Path) -> None:
    """Raise :class:`WrongCall` unless ``path`` is a file's name, with no folder, pipe or device in its place."""
    if path.name in ("", ".."):
        raise WrongCall(f"cannot write {str(path)!r}: give the name of a file")
    try:
        mode = os.stat(path).st_mode
    except (OSError, ValueError):  # not there yet, or told by the writing itself
        return
    if stat.S_ISDIR(mode):
        raise WrongCall(f"cannot write {path}: it is a folder; give the name of a file in it")
    if not stat.S_ISREG(mode):
        raise WrongCall(f"cannot write {path}: it is a pipe or a device; give the name of a file")


def _unblocked(path: str, flags: int) -> int:
    """Open without waiting for whoever writes into a pipe."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
