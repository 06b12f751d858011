"""A photograph's file without what it tells of people and places: location, owner, serial numbers, notes, previews.

What the picture is and how it was taken stays: the coded picture byte for byte, so that it measures the same, its
orientation, the camera's make, model and lens, the zoom and the time. Everything else goes, known or not.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
import zlib

from fitcheck.fitlog.kept_exif import kept_exif
from fitcheck.fitlog.stripped_heic import stripped_heic
from fitcheck.picture.picture_file import kind_of

#: In the coded part of a JPEG, a marker is 0xFF followed by anything but 0, a restart number or a fill byte.
_MARKER = re.compile(rb"\xff([^\x00\xd0-\xd7\xff])")
_SOI, _EOI, _COMMENT = 0xD8, 0xD9, 0xFE
#: Segments for applications that stay: they say how the samples are to be read.
_STAY = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}
_PNG_START = b"\x89PNG\r\n\x1a\n"
_PNG_STAY = (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"bKGD", b"pHYs")


def stripped(data: bytes) -> bytes:
    """The bytes of a picture file without what it tells of people and places; a file of another kind as it is.

    Raises ValueError where the file cannot be followed.
    """
    kind = kind_of(data)
    try:
        if kind == "jpeg":
            return _jpeg(data)
        if kind == "png":
            return _png(data)
        if kind == "heic":
            return stripped_heic(data)
    except (IndexError, struct.error, OverflowError) as error:
        raise ValueError(str(error)) from error
    return data


def _jpeg(data: bytes) -> bytes:
    parts, at, told = [data[:2]], 2, False
    while found := _MARKER.search(data, at):
        marker, start = found.group(1)[0], found.start()
        parts.append(data[at:start])
        if marker == _EOI:
            return b"".join([*parts, data[start : start + 2]])  # what phones append has no place here
        at = found.end() + max(2, int.from_bytes(data[found.end() : found.end() + 2], "big"))
        segment = data[start:at]
        if marker == 0xE1 and segment[4:10] == b"Exif\0\0" and not told:
            exif, told = _exif_of(data, "jpeg"), True
            if exif:
                parts.append(b"\xff\xe1" + struct.pack(">H", len(exif) + 8) + b"Exif\0\0" + exif)
        elif _stays(marker, segment):
            parts.append(segment)
    raise ValueError("the JPEG has no end")


def _stays(marker: int, segment: bytes) -> bool:
    if 0xE0 <= marker <= 0xEF:
        return marker in _STAY and segment[4:].startswith(_STAY[marker])
    return marker not in (_COMMENT, _SOI)


def _png(data: bytes) -> bytes:
    parts, at = [_PNG_START], len(_PNG_START)
    exif = _exif_of(data, "png")
    while at + 12 <= len(data):
        kind, end = data[at + 4 : at + 8], at + 12 + int.from_bytes(data[at : at + 4], "big")
        if kind in _PNG_STAY:
            parts.append(data[at:end])
        if kind == b"IHDR" and exif:
            body = b"eXIf" + exif
            parts.append(struct.pack(">I", len(exif)) + body + struct.pack(">I", zlib.crc32(body)))
        if kind == b"IEND":
            return b"".join(parts)
        at = end
    raise ValueError("the PNG has no end")


def _exif_of(data: bytes, kind: str) -> bytes:
    """What stays of a file's EXIF; a damaged block is dropped, as it is where the photograph is measured."""
    from PIL.JpegImagePlugin import JpegImageFile
    from PIL.PngImagePlugin import PngImageFile

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return kept_exif((JpegImageFile if kind == "jpeg" else PngImageFile)(io.BytesIO(data)).getexif())
        except Exception:  # the reader raises many kinds for a damaged block
            return b""
