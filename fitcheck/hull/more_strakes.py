"""A strake more in a hull's settings file, whose text and comments stay as they are."""

from __future__ import annotations

from pathlib import Path

from fitcheck.ground.files import read_text
from fitcheck.hull.change_settings import write_if_usable
from fitcheck.hull.settings_file import load_hull


def with_strake(path: Path, number: int) -> None:
    """Add the strake ``number`` to the end of the settings file ``path``.

    Raises :class:`WrongCall` where the file is not usable as it is or would not be then; it is left as it was.
    """
    load_hull(path)
    before = read_text(path, "a settings file")
    written = f"{before.rstrip()}\n\n[[strakes]]\nnumber = {number}\n"
    write_if_usable(path, before, written)
