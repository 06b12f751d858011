"""The bytes of a picture file: which kind it is, and whether the file is whole, told without decoding it."""

from __future__ import annotations

import re
import zlib

_HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_PNG_START = b"\x89PNG\r\n\x1a\n"
#: In the coded part of a JPEG, a marker is 0xFF followed by anything but 0, a restart number or a fill byte.
_JPEG_MARKER = re.compile(rb"\xff([^\x00\xd0-\xd7\xff])")
_JPEG_END = 0xD9


def kind_of(data: bytes) -> str | None:
    """The kind of picture file, from its first bytes: "jpeg", "png", "heic", or None for anything else.

    >>> kind_of(b"plank 4, port side"), kind_of(b"\\xff\\xd8\\xff\\xe0")
    (None, 'jpeg')
    """
    if data.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    if data.startswith(_PNG_START):
        return "png"
    if data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS:
        return "heic"
    return None


def is_whole(data: bytes, kind: str) -> bool:
    """Whether the file reaches the end of its picture.

    A decoder fills the missing part of a cut-off file with grey and says nothing. For a JPEG the markers are walked to
    the end of the picture (ITU-T T.81, annex B); anything after it, as phones append, is passed over. For a PNG every
    chunk must be there with its check sum (ISO/IEC 15948, 5.3). A HEIC reader tells by itself, so HEIC passes.
    """
    if kind == "jpeg":
        return _jpeg_is_whole(data)
    if kind == "png":
        return _png_is_whole(data)
    return True


def _jpeg_is_whole(data: bytes) -> bool:
    at = 2
    while found := _JPEG_MARKER.search(data, at):
        if found.group(1)[0] == _JPEG_END:
            return True
        length = int.from_bytes(data[found.end() : found.end() + 2], "big")
        at = found.end() + max(length, 2)
    return False


def _png_is_whole(data: bytes) -> bool:
    at = len(_PNG_START)
    while at + 12 <= len(data):
        length = int.from_bytes(data[at : at + 4], "big")
        end = at + 8 + length
        if zlib.crc32(data[at + 4 : end]) != int.from_bytes(data[end : end + 4], "big"):
            return False
        if data[at + 4 : at + 8] == b"IEND":
            return True
        at = end + 4
    return False
