"""Load a photograph: JPEG, PNG or HEIC, decoded once, turned as a person sees it, with what identifies its camera."""

from __future__ import annotations

import hashlib
import io
import os
import warnings
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile

from fitcheck.ground.files import MOST_PHOTO_BYTES, need_file, read_bytes
from fitcheck.ground.refusal import Refused
from fitcheck.picture.focus import blur_px, exposure_and_focus
from fitcheck.picture.identity import UNKNOWN_CAMERA, CameraIdentity, ExifFacts, exif_facts
from fitcheck.picture.jpeg import decode_jpeg, need_few_scans
from fitcheck.picture.jpeg_parts import DamagedPicture, read_jpeg_parts
from fitcheck.picture.orientation import turned_pixels, turned_size
from fitcheck.picture.picture_file import kind_of, png_is_whole

__all__ = ["CameraIdentity", "Photo", "blur_px", "exposure_and_focus", "load_photo"]

#: Nothing smaller can hold a card and a lap; nothing larger comes from one exposure of a phone or hand camera.
SMALLEST_SIDE_PX = 240
MOST_MEGAPIXELS = 120


@dataclass(frozen=True, eq=False)
class Photo:
    """A photograph, upright.

    ``pixels`` is (H, W, 3) uint8, blue green red. ``orientation`` is the EXIF orientation, 1 to 8, that turned the
    stored pixels upright; ``size_stored_px`` is (w, h) before that turn, the frame a camera file describes. ``digest``
    is the SHA-256 of the file, ``taken`` the time its EXIF gives, ``data`` the file's bytes: it is read once, and
    measured, looked at again and kept from these.
    """

    pixels: np.ndarray
    path: Path
    digest: str
    orientation: int
    size_stored_px: tuple[int, int]
    identity: CameraIdentity = UNKNOWN_CAMERA
    taken: str | None = None
    data: bytes = field(default=b"", repr=False)

    def decoded(self) -> np.ndarray:
        """The pixels: those at hand, or, where they were let go, decoded again from the file as it was first read."""
        return self.pixels if self.pixels.size else _photo_of(self.data, self.path).pixels

    @property
    def name(self) -> str:
        """The file's name, as it is told to the builder."""
        return self.path.name

    @property
    def size_px(self) -> tuple[int, int]:
        """(w, h) of the upright picture."""
        return turned_size(self.size_stored_px, self.orientation)

    def as_json(self) -> dict[str, Any]:
        """The photograph as the JSON contract names it."""
        return {
            "name": self.name,
            "sha256": self.digest,
            "orientation": self.orientation,
            "size_stored_px": list(self.size_stored_px),
            "taken": self.taken,
            "identity": self.identity.as_json(),
        }


def load_photo(path: str | os.PathLike[str], *, size_px: tuple[int, int] | None = None) -> Photo:
    """Load the photograph at ``path``.

    ``size_px`` is the (w, h) that its camera was calibrated at. A photograph whose stored pixels are of another size
    will be refused, so it is not decoded: its ``pixels`` are (0, 0, 3).

    Raises :class:`WrongCall` where there is no such file or it may not be read, and :class:`Refused` where the file
    cannot be measured: ``photo-empty``, ``photo-kind`` (not JPEG, PNG or HEIC), ``photo-damaged`` (cut off,
    unreadable, or damaged inside), ``photo-small``, ``photo-huge`` (too many pixels, or too many times gone over).

    >>> import tempfile
    >>> folder = Path(tempfile.mkdtemp())
    >>> _ = cv2.imwrite(str(folder / "fit.png"), np.zeros((300, 400, 3), np.uint8))
    >>> load_photo(folder / "fit.png").size_px
    (400, 300)
    """
    path = Path(path)
    return _photo_of(_read(path), path, size_px)


def _photo_of(data: bytes, path: Path, size_px: tuple[int, int] | None = None) -> Photo:
    kind = kind_of(data)
    if kind is None:
        raise Refused("photo-kind", f"{path.name} is not a JPEG, PNG or HEIC picture; use the camera's own file.")
    try:
        photo = _DECODE[kind](data, path, size_px)
    except DamagedPicture as damaged:
        text = f"{path.name} is damaged ({damaged}); copy it from the camera again."
        raise Refused("photo-damaged", text) from damaged
    return replace(photo, digest=hashlib.sha256(data).hexdigest(), data=data)


def _read(path: Path) -> bytes:
    need_file(path)
    if path.stat().st_size > MOST_PHOTO_BYTES:
        raise Refused("photo-huge", f"{path.name} is larger than {MOST_PHOTO_BYTES // 10**6} MB; use a photograph.")
    data = read_bytes(path, "the photograph", most_bytes=MOST_PHOTO_BYTES)
    if not data:
        raise Refused("photo-empty", f"{path.name} is an empty file; copy it from the camera again.")
    return data


def _load_jpeg(data: bytes, path: Path, wanted_px: tuple[int, int] | None) -> Photo:
    parts = read_jpeg_parts(data)
    _check_size(parts.size_px, path)
    need_few_scans(parts, path.name)
    photo = _undecoded(path, parts.size_px, _facts(data, JpegImageFile))
    if wanted_px not in (None, parts.size_px):
        return photo
    return replace(photo, pixels=turned_pixels(decode_jpeg(parts), photo.orientation))


def _load_png(data: bytes, path: Path, wanted_px: tuple[int, int] | None) -> Photo:
    if not png_is_whole(data):
        raise DamagedPicture("the file ends before its picture does")
    # A header's first chunk holds width and height (ISO/IEC 15948, 11.2.2).
    size_px = int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")
    _check_size(size_px, path)
    photo = _undecoded(path, size_px, _facts(data, PngImageFile))
    if wanted_px not in (None, size_px):
        return photo
    try:
        stored = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    except cv2.error as error:
        raise DamagedPicture("it cannot be decoded") from error
    if stored is None or (stored.shape[1], stored.shape[0]) != size_px:
        raise DamagedPicture("it cannot be decoded")
    return replace(photo, pixels=turned_pixels(stored, photo.orientation))


def _load_heic(data: bytes, path: Path, wanted_px: tuple[int, int] | None) -> Photo:
    """The HEIC reader turns the pixels by itself and tells how."""
    import pi_heif

    try:
        heif = pi_heif.open_heif(io.BytesIO(data), bgr_mode=True)
        picture = heif[heif.primary_index]
        _check_size(picture.size, path)
        orientation = pi_heif.set_orientation(picture.info) or 1
        exif = Image.Exif()
        if picture.info.get("exif"):
            exif.load(picture.info["exif"])
        facts = replace(exif_facts(exif), orientation=orientation)
        photo = _undecoded(path, turned_size(picture.size, orientation), facts)
        if wanted_px not in (None, photo.size_stored_px):
            return photo
        # A copy: the array the reader offers of itself does not outlive the reader.
        pixels = np.array(picture)
    except Refused:
        raise
    except Exception as error:  # the reader raises many kinds for a damaged file
        raise DamagedPicture(str(error)) from error
    if pixels.ndim == 2:
        pixels = cv2.cvtColor(pixels, cv2.COLOR_GRAY2BGR)
    return replace(photo, pixels=np.ascontiguousarray(pixels[:, :, :3]))


_DECODE = {"jpeg": _load_jpeg, "png": _load_png, "heic": _load_heic}


def _undecoded(path: Path, size_stored_px: tuple[int, int], facts: ExifFacts) -> Photo:
    return Photo(
        pixels=np.empty((0, 0, 3), np.uint8),
        path=path,
        digest="",
        orientation=facts.orientation or 1,
        size_stored_px=(int(size_stored_px[0]), int(size_stored_px[1])),
        identity=facts.identity,
        taken=facts.taken,
    )


def _facts(data: bytes, reader: type[JpegImageFile] | type[PngImageFile]) -> ExifFacts:
    """What the EXIF block says; nothing is decoded. A damaged block says nothing, and the picture may yet be sound."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            # The reader's class itself, not Image.open, which judges the size by limits of its own.
            return exif_facts(reader(io.BytesIO(data)).getexif())
        except Exception:  # the reader raises many kinds
            return ExifFacts()


def _check_size(size_px: tuple[int, int], path: Path) -> None:
    width, height = size_px
    if width * height > MOST_MEGAPIXELS * 1_000_000:
        raise Refused(
            "photo-huge",
            f"{path.name} is {width} x {height} pixels, over {MOST_MEGAPIXELS} megapixels; "
            "photograph at the camera's ordinary size.",
        )
    if min(width, height) < SMALLEST_SIDE_PX:
        raise Refused(
            "photo-small",
            f"{path.name} is only {width} x {height} pixels; at least {SMALLEST_SIDE_PX} are needed each way. "
            "Use the camera's own file, not a preview.",
        )
