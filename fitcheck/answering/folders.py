"""Where the reports of several answers go."""

from __future__ import annotations

from pathlib import Path


def folders_of(folder: Path | None, count: int) -> list[Path]:
    """A folder for each of ``count`` answers: the one given, or numbered ones in it; none where none is given.

    >>> [one.as_posix() for one in folders_of(Path("out"), 2)], folders_of(None, 2)
    (['out/01', 'out/02'], [])
    """
    if folder is None:
        return []
    return [folder] if count == 1 else [folder / f"{number + 1:02d}" for number in range(count)]
