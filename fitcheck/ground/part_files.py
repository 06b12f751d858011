"""Files while they are being written: beside their place, under a name of their own, cleared if their writer is killed.

A part is locked as long as its writer lives. Any process that meets a part without a lock may clear it away.
"""

from __future__ import annotations

import os
import re
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

try:
    import fcntl
except ImportError:  # pragma: no cover - a system without these locks
    fcntl = None  # type: ignore[assignment]

#: A part, and what is written beside it under its name.
_PART = re.compile(r"(\.[0-9a-f]{32}\.part)(-[a-z-]+)?")
#: Without locks, a part so old is nobody's.
OLD_S = 24 * 3600.0


@contextmanager
def part_of(path: Path) -> Iterator[Path]:
    """A new empty file beside ``path``, to be written and renamed; it, and what has its name and more, is cleared then.

    Folders on the way are made, and parts of killed writers beside it are cleared. Raises OSError where no file can be
    made there.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    clear_parts(path.parent)
    part, file = _new_part(path)
    try:
        yield part
    finally:
        _clear(part)
        if file is not None:
            os.close(file)


def clear_parts(folder: Path) -> None:
    """Clear the parts in ``folder`` whose writers are gone; what cannot be cleared is left."""
    try:
        names = [found for entry in os.scandir(folder) if (found := _PART.fullmatch(entry.name))]
    except OSError:
        return
    for part in {folder / name[1] for name in names}:
        _clear_if_left(part)


def _new_part(path: Path) -> tuple[Path, int | None]:
    while True:
        part = path.with_name(f".{uuid.uuid4().hex}.part")
        file = os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o666)
        if fcntl is None:
            os.close(file)
            return part, None
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if part.exists():
                return part, file
        except BlockingIOError:  # met by another process before it was locked
            pass
        except OSError:  # a file system without these locks
            return part, file
        os.close(file)


def _clear_if_left(part: Path) -> None:
    try:
        file = os.open(part, os.O_RDWR)
    except FileNotFoundError:  # only what had its name and more is left
        _clear(part)
        return
    except OSError:
        return
    try:
        if fcntl is not None:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        elif time.time() - os.fstat(file).st_mtime < OLD_S:
            return
        _clear(part)
    except OSError:  # its writer is alive
        return
    finally:
        os.close(file)


def _clear(part: Path) -> None:
    for path in (part, *part.parent.glob(f"{part.name}-*")):
        try:
            path.unlink(missing_ok=True)
        except OSError:
            continue
