"""Load a photograph: JPEG, PNG or HEIC, decoded once, turned as a person sees it, with what identifies its camera."""

from __future__ import annotations

import hashlib
import io
import os
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile

from fitcheck.focus import blur_px, exposure_and_focus
from fitcheck.identity import UNKNOWN_CAMERA, CameraIdentity, ExifFacts, exif_facts
from fitcheck.orientation import turned_pixels, turned_size
from fitcheck.picture_file import is_whole, kind_of
from fitcheck.refusal import Refused, WrongCall

__all__ = ["CameraIdentity", "Photo", "blur_px", "exposure_and_focus", "load_photo"]

#: Nothing smaller can hold a card and a lap; nothing larger comes from one exposure of a phone or hand camera.
SMALLEST_SIDE_PX = 240
MOST_MEGAPIXELS = 120
MOST_FILE_BYTES = 300_000_000


@dataclass(frozen=True, eq=False)
class Photo:
    """A photograph, upright.

    ``pixels`` is (H, W, 3) uint8, blue green red. ``orientation`` is the EXIF orientation, 1 to 8, that turned the
    stored pixels upright; ``size_stored_px`` is (w, h) before that turn, the frame a camera file describes. ``digest``
    is the SHA-256 of the file, ``taken`` the time its EXIF gives.
    """

    pixels: np.ndarray
    path: Path
    digest: str
    orientation: int
    size_stored_px: tuple[int, int]
    identity: CameraIdentity = UNKNOWN_CAMERA
    taken: str | None = None

    @property
    def name(self) -> str:
        """The file's name, as it is told to the builder."""
        return self.path.name

    @property
    def size_px(self) -> tuple[int, int]:
        """(w, h) of the upright picture."""
        return self.pixels.shape[1], self.pixels.shape[0]

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


def load_photo(path: str | os.PathLike[str]) -> Photo:
    """Load the photograph at ``path``.

    Raises :class:`WrongCall` where there is no such file or it may not be read, and :class:`Refused` where the file
    cannot be measured: ``photo-empty``, ``photo-kind`` (not JPEG, PNG or HEIC), ``photo-damaged`` (cut off or
    unreadable), ``photo-small``, ``photo-huge``.

    >>> import tempfile
    >>> folder = Path(tempfile.mkdtemp())
    >>> _ = cv2.imwrite(str(folder / "fit.png"), np.zeros((300, 400, 3), np.uint8))
    >>> load_photo(folder / "fit.png").size_px
    (400, 300)
    """
    path = Path(path)
    data = _read(path)
    kind = kind_of(data)
    if kind is None:
        raise Refused("photo-kind", f"{path.name} is not a JPEG, PNG or HEIC picture; use the camera's own file.")
    if not is_whole(data, kind):
        raise _damaged(path, "the file ends before its picture does")
    pixels, size_stored_px, orientation, facts = _decode(data, kind, path)
    return Photo(
        pixels=pixels,
        path=path,
        digest=hashlib.sha256(data).hexdigest(),
        orientation=orientation,
        size_stored_px=size_stored_px,
        identity=facts.identity,
        taken=facts.taken,
    )


def _read(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_FILE_BYTES:
            raise Refused("photo-huge", f"{path.name} is larger than {MOST_FILE_BYTES // 10**6} MB; use a photograph.")
        data = path.read_bytes()
    except OSError as error:
        raise WrongCall(f"cannot read {path}: {error.strerror or error}") from error
    if not data:
        raise Refused("photo-empty", f"{path.name} is an empty file; copy it from the camera again.")
    return data


def _decode(data: bytes, kind: str, path: Path) -> tuple[np.ndarray, tuple[int, int], int, ExifFacts]:
    """Upright pixels, size of the stored pixels, the orientation applied, and the EXIF facts."""
    if kind == "heic":
        return _decode_heic(data, path)
    size_px, facts = _read_header(data, kind, path)
    orientation = facts.orientation or 1
    try:
        stored = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    except cv2.error as error:
        raise _damaged(path, "it cannot be decoded") from error
    if stored is None or (stored.shape[1], stored.shape[0]) != tuple(size_px):
        raise _damaged(path, "it cannot be decoded")
    return turned_pixels(stored, orientation), (int(size_px[0]), int(size_px[1])), orientation, facts


def _decode_heic(data: bytes, path: Path) -> tuple[np.ndarray, tuple[int, int], int, ExifFacts]:
    """As :func:`_decode`; the HEIC reader turns the pixels by itself and tells how."""
    import pi_heif

    try:
        heif = pi_heif.open_heif(io.BytesIO(data), bgr_mode=True)
        picture = heif[heif.primary_index]
        _check_size(picture.size, path)
        orientation = pi_heif.set_orientation(picture.info) or 1
        exif = Image.Exif()
        if picture.info.get("exif"):
            exif.load(picture.info["exif"])
        facts = exif_facts(exif)
        # A copy: the array the reader offers of itself does not outlive the reader.
        pixels = np.array(picture)
    except Refused:
        raise
    except Exception as error:  # the reader raises many kinds for a damaged file
        raise _damaged(path, str(error)) from error
    if pixels.ndim == 2:
        pixels = cv2.cvtColor(pixels, cv2.COLOR_GRAY2BGR)
    pixels = np.ascontiguousarray(pixels[:, :, :3])
    upright_px = (pixels.shape[1], pixels.shape[0])
    return pixels, turned_size(upright_px, orientation), orientation, facts


def _read_header(data: bytes, kind: str, path: Path) -> tuple[tuple[int, int], ExifFacts]:
    """Size (w, h) of the stored pixels and the EXIF facts; nothing is decoded, a picture too large is refused."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a damaged EXIF block is no reason to speak: the picture may be sound
        try:
            # The reader's class itself, not Image.open, which judges the size by limits of its own.
            header = (JpegImageFile if kind == "jpeg" else PngImageFile)(io.BytesIO(data))
            size_px = header.size
        except Exception as error:  # the reader raises many kinds for a damaged header
            raise _damaged(path, str(error)) from error
        _check_size(size_px, path)
        try:
            return size_px, exif_facts(header.getexif())
        except Exception:  # as above, for a damaged EXIF block
            return size_px, ExifFacts()


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


def _damaged(path: Path, why: str) -> Refused:
    return Refused("photo-damaged", f"{path.name} is damaged ({why}); copy it from the camera again.")
