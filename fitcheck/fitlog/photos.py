"""Photographs of the record, known by the SHA-256 of their bytes and kept in a store under that name."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from fitcheck.files import write_bytes
from fitcheck.refusal import WrongCall

#: File name endings kept in the store; a photograph's own name is data and never becomes a path.
ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif", ".tif", ".tiff")


@dataclass(frozen=True)
class Photograph:
    """One photograph: ``digest`` (64 hex digits), the name it came under, its size, and where it lies now."""

    digest: str
    name: str
    bytes: int
    place: str
    stored: bool


def photo_store(db_path: Path) -> Path:
    """The folder that holds the copies."""
    return db_path.with_name("fitcheck-photos")


def take_in(paths: Iterable[str | os.PathLike[str]], db_path: Path, *, keep: str = "copy") -> list[Photograph]:
    """Know each photograph by its digest; ``keep`` "copy" lays a copy in the store, "leave" leaves it where it is.

    The same photograph given twice counts once. Raises :class:`WrongCall` where one cannot be read, or not be stored.
    """
    if keep not in ("copy", "leave"):
        raise WrongCall(f"photographs are kept by 'copy' or 'leave', not {keep!r}")
    found: dict[str, Photograph] = {}
    for path in map(Path, paths):
        photograph = _known(path, db_path, copy=keep == "copy")
        found.setdefault(photograph.digest, photograph)
    return list(found.values())


def _known(path: Path, db_path: Path, *, copy: bool) -> Photograph:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise WrongCall(f"cannot read the photograph {printable(path)}: {error.strerror or error}") from error
    digest = hashlib.sha256(data).hexdigest()
    if not copy:
        return Photograph(digest, printable(path.name), len(data), printable(path.absolute()), False)
    ending = path.suffix.lower() if path.suffix.lower() in ENDINGS else ""
    place = f"{digest[:2]}/{digest}{ending}"
    stored = photo_store(db_path) / place
    if not stored.exists():
        write_bytes(stored, data)
    return Photograph(digest, printable(path.name), len(data), place, True)


def printable(path: str | os.PathLike[str]) -> str:
    """A path as text that can be stored and printed, whatever bytes its name is made of."""
    return os.fsencode(path).decode("utf-8", "replace")
