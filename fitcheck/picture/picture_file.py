"""The bytes of a picture file: which kind it is, and whether a PNG is whole, told without decoding it."""

from __future__ import annotations

import zlib

_HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_PNG_START = b"\x89PNG\r\n\x1a\n"


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


def png_is_whole(data: bytes) -> bool:
    """Whether every chunk of a PNG up to its last is there, each with its check sum (ISO/IEC 15948, 5.3)."""
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
