"""Files written whole or not at all: a temporary file in the same folder, then one rename."""

from __future__ import annotations

import json
import os
import uuid
from pathlib import Path
from typing import Any

from fitcheck.refusal import WrongCall


def write_bytes(path: str | os.PathLike[str], data: bytes) -> Path:
    """Write ``data`` to ``path`` so that a reader finds the old file or the new one, never a part; give the path back.

    Folders on the way are made. Raises :class:`WrongCall` with the system's reason where the file cannot be written;
    an old file of that name is then untouched.

    >>> import tempfile
    >>> write_bytes(Path(tempfile.mkdtemp()) / "fit" / "note.txt", b"dry fit").read_bytes()
    b'dry fit'
    """
    path = Path(path)
    part = path.with_name(f".{uuid.uuid4().hex}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with open(part, "xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.replace(part, path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise WrongCall(f"cannot write {path}: {error.strerror or error}") from error
    return path


def write_text(path: str | os.PathLike[str], text: str) -> Path:
    """Write ``text`` as UTF-8; see :func:`write_bytes`."""
    return write_bytes(path, text.encode("utf-8"))


def write_json(path: str | os.PathLike[str], value: Any) -> Path:
    """Write ``value`` as JSON, UTF-8; see :func:`write_bytes`. Raises ValueError for a number JSON cannot hold."""
    return write_text(path, json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1) + "\n")
