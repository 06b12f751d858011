"""Photographs of the record, known by the SHA-256 of their file, and kept in a store, each copy named by its own."""

from __future__ import annotations

import hashlib
import os
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from fitcheck.fitlog.stripped import stripped
from fitcheck.ground.files import MOST_PHOTO_BYTES, read_bytes, write_bytes
from fitcheck.ground.refusal import WrongCall

#: File name endings kept in the store; a photograph's own name is data and never becomes a path.
ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif", ".tif", ".tiff")

#: In the store, where copies lie until their fit is on record.
LAID_BY = ".laid-by"


class Loaded(Protocol):
    """A photograph that was loaded: its path, and the bytes of its file as they were read then."""

    @property
    def path(self) -> Path: ...
    @property
    def data(self) -> bytes: ...


Given = str | os.PathLike[str] | Loaded


@dataclass(frozen=True)
class Photograph:
    """One photograph: ``digest`` of the file it came in (64 hex digits), that file's name and size, its place now.

    In the store, ``place`` names the copy, which is without location and owner, by the copy's own digest.
    """

    digest: str
    name: str
    bytes: int
    place: str
    stored: bool


def photo_store(db_path: Path) -> Path:
    """The folder that holds the copies."""
    return db_path.with_name("fitcheck-photos")


def any_kept(db_path: Path) -> bool:
    """Whether the store holds a photograph of a fit."""
    return next(photo_store(db_path).glob("[0-9a-f][0-9a-f]/[0-9a-f]*"), None) is not None


def take_in(photos: Iterable[Given], db_path: Path, *, keep: str = "copy") -> list[Photograph]:
    """Know each photograph by its digest; ``keep`` "copy" lays a copy by for the store, "leave" leaves it where it is.

    Of a loaded photograph the bytes that were measured are kept, whatever has become of the file since. The copy is
    without location, owner and serial numbers (:func:`stripped`); a file in which these cannot be found is left where
    it is.

    What is laid by gets its place by :func:`put_in_place`, once its fit is on record: the store holds photographs of
    fits only, whenever a recording is cut short. A copy in the store that is not as it was written is made anew. The
    same photograph given twice counts once. Raises :class:`WrongCall` where one cannot be read, or not be laid by.
    """
    if keep not in ("copy", "leave"):
        raise WrongCall(f"photographs are kept by 'copy' or 'leave', not {keep!r}")
    found: dict[str, Photograph] = {}
    for one in photos:
        photograph = _known(one, db_path, copy=keep == "copy")
        found.setdefault(photograph.digest, photograph)
    return list(found.values())


def need_measured(photographs: Iterable[Photograph], measured: object) -> None:
    """Raise :class:`WrongCall` for a photograph that is none of those ``measured``, where all these tell a digest."""
    told = (
        [one.get("sha256") if isinstance(one, dict) else None for one in measured] if isinstance(measured, list) else []
    )
    if not told or None in told:
        return
    for photograph in photographs:
        if photograph.digest not in told:
            raise WrongCall(f"{photograph.name} is not the photograph that was measured: its file is another now")


def put_in_place(photographs: Iterable[Photograph], db_path: Path) -> None:
    """Give what :func:`take_in` laid by its place in the store. Raises :class:`WrongCall` where that cannot be done."""
    for photograph in photographs:
        laid_by = _laid_by(db_path, photograph.place)
        if photograph.stored and laid_by.exists():
            _move(laid_by, photo_store(db_path) / photograph.place)


def not_as_kept(connection: sqlite3.Connection, db_path: Path) -> Iterator[str]:
    """What is wrong with the photographs in the store, each in a line; every one of them is read."""
    rows = connection.execute(
        "SELECT ph.name, ph.place, min(t.fit_id) AS fit_id FROM photographs ph"
        " JOIN take_photographs tp ON tp.photograph = ph.digest JOIN takes t ON t.id = tp.take_id"
        " WHERE ph.stored = 1 GROUP BY ph.digest ORDER BY fit_id, ph.name"
    )
    for row in rows.fetchall():
        path = photo_store(db_path) / row["place"]
        if _is_sound(path, Path(row["place"]).stem):
            continue
        fit = connection.execute(
            "SELECT f.number, p.strake, p.side, p.part FROM fits f JOIN planks p ON p.id = f.plank_id WHERE f.id = ?",
            (row["fit_id"],),
        ).fetchone()
        whose = " ".join(str(fit[key]) for key in ("strake", "side", "part") if fit[key] != "")
        what = "is not as it was kept" if path.exists() else "is missing from the store"
        yield (
            f"the photograph {row['name']} of fit {fit['number']} of {whose} {what}"
            " (give the same file to fitcheck measure or gap again, for this plank, and its copy is mended)"
        )


def settle(connection: sqlite3.Connection, db_path: Path) -> None:
    """What killed runs laid by: photographs that are on record get their place, others are cleared.

    To be called alone (:func:`fitcheck.fitlog.lock.alone`): another run may be about to record what it laid by.
    """
    known = {row["place"] for row in connection.execute("SELECT place FROM photographs WHERE stored = 1")}
    for laid_by in (photo_store(db_path) / LAID_BY).glob("[0-9a-f]*"):
        place = f"{laid_by.name[:2]}/{laid_by.name}"
        if place in known:
            _move(laid_by, photo_store(db_path) / place)
        else:
            laid_by.unlink(missing_ok=True)


def _known(given: Given, db_path: Path, *, copy: bool) -> Photograph:
    path, data = _read(given)
    digest, name = hashlib.sha256(data).hexdigest(), printable(path.name)
    try:
        plain = stripped(data) if copy else None
    except ValueError:
        plain = None
    if plain is None:
        return Photograph(digest, name, len(data), printable(path.absolute()), False)
    kept = hashlib.sha256(plain).hexdigest()
    ending = path.suffix.lower() if path.suffix.lower() in ENDINGS else ""
    place = f"{kept[:2]}/{kept}{ending}"
    if not _is_sound(photo_store(db_path) / place, kept):
        write_bytes(_laid_by(db_path, place), plain)
    return Photograph(digest, name, len(data), place, True)


def _read(given: Given) -> tuple[Path, bytes]:
    """The path and the bytes of a photograph: those that were measured, where it was loaded."""
    if isinstance(given, (str, os.PathLike)):
        return Path(given), read_bytes(given, "the photograph", most_bytes=MOST_PHOTO_BYTES)
    return given.path, given.data


def _laid_by(db_path: Path, place: str) -> Path:
    return photo_store(db_path) / LAID_BY / Path(place).name


def _is_sound(path: Path, digest: str) -> bool:
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == digest
    except OSError:
        return False


def _move(laid_by: Path, place: Path) -> None:
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        os.replace(laid_by, place)
    except FileNotFoundError:
        if not place.exists():  # or another run has put the same photograph in its place
            raise WrongCall(f"cannot keep the photograph {place.name}: its copy is gone") from None
    except OSError as error:
        raise WrongCall(f"cannot keep the photograph {place.name}: {error.strerror or error}") from error


def printable(path: str | os.PathLike[str]) -> str:
    """A path as text that can be stored and printed, whatever bytes its name is made of."""
    return os.fsencode(path).decode("utf-8", "replace")
