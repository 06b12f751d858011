"""A HEIC file without what it tells of people and places (ISO/IEC 14496-12, 23008-12).

Nothing is moved, since other parts of the file point at places in it: what goes is written over where it lies, and what
lies after the last box is cut off.
"""

from __future__ import annotations

import struct
import warnings
from collections.abc import Iterator
from dataclasses import dataclass

from fitcheck.fitlog.kept_exif import kept_exif

#: Boxes of the file that stay; others are emptied, known or not.
_STAY = (b"ftyp", b"meta", b"mdat", b"free", b"skip")
#: Kinds of items that hold no picture: XMP and other documents.
_DOCUMENTS = (b"mime", b"uri ")


class CutOff(ValueError):
    """Raised where a box does not end where it should."""


@dataclass(frozen=True)
class _Box:
    kind: bytes
    start: int
    body: int
    end: int


def stripped_heic(data: bytes) -> bytes:
    """The file with its EXIF cut down to what stays, and its documents and unknown boxes emptied.

    Raises ValueError, IndexError or struct.error where the file cannot be followed.
    """
    out = bytearray(data)
    seen: set[bytes] = set()
    end = 0
    try:
        for box in _boxes(data, 0, len(data)):
            seen.add(box.kind)
            end = box.end
            if box.kind not in _STAY:
                out[box.start + 4 : box.start + 8] = b"free"
                out[box.body : box.end] = bytes(box.end - box.body)
            elif box.kind == b"meta":
                _strip_items(out, data, {inner.kind: inner for inner in _boxes(data, box.body + 4, box.end)})
    except CutOff:
        if not {b"meta", b"mdat"} <= seen:
            raise
    # What comes after the last box is no part of the picture.
    return bytes(out[:end])


def _strip_items(out: bytearray, data: bytes, meta: dict[bytes, _Box]) -> None:
    if b"iinf" not in meta or b"iloc" not in meta:
        raise ValueError("the HEIC does not say where its parts lie")
    kinds = dict(_kinds(data, meta[b"iinf"]))
    inside = meta[b"idat"].body if b"idat" in meta else None
    for item, spans in _places(data, meta[b"iloc"], inside):
        if kinds.get(item) in _DOCUMENTS:
            _write_over(out, spans, b"", b" ")
        elif kinds.get(item) == b"Exif":
            _write_over(out, spans, _kept(b"".join(data[start:end] for start, end in spans)), b"\0")


def _kept(payload: bytes) -> bytes:
    """An EXIF item cut down; where it cannot be read, or would become longer, one that says nothing."""
    from PIL import Image

    nothing = b"\0\0\0\x06Exif\0\0II*\0\x08\0\0\0\0\0\0\0\0\0"
    start = 4 + int.from_bytes(payload[:4], "big")
    exif = Image.Exif()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            exif.load(b"Exif\0\0" + payload[start:])
            tiff = kept_exif(exif)
        except Exception:  # the reader raises many kinds for a damaged block
            tiff = b""
    kept = b"\0\0\0\x06Exif\0\0" + tiff
    return kept if tiff and len(kept) <= len(payload) else nothing


def _write_over(out: bytearray, spans: list[tuple[int, int]], content: bytes, fill: bytes) -> None:
    whole = sum(end - start for start, end in spans)
    content = (content if len(content) <= whole else b"").ljust(whole, fill)
    for start, end in spans:
        if end > len(out):
            raise ValueError("a part of the HEIC lies past its end")
        out[start:end], content = content[: end - start], content[end - start :]


def _boxes(data: bytes, at: int, end: int) -> Iterator[_Box]:
    while at + 8 <= end:
        length, kind = struct.unpack_from(">I4s", data, at)
        body = at + 8
        if length == 1:
            length, body = struct.unpack_from(">Q", data, body)[0], body + 8
        until = end if length == 0 else at + length
        if not body <= until <= end:
            raise CutOff("a box of the HEIC is longer than what it lies in")
        yield _Box(kind, at, body, until)
        at = until


def _kinds(data: bytes, iinf: _Box) -> Iterator[tuple[int, bytes]]:
    entries = iinf.body + (6 if data[iinf.body] == 0 else 8)
    for entry in _boxes(data, entries, iinf.end):
        version = data[entry.body]
        if version < 2:
            raise ValueError("the HEIC lists its parts in an old way")
        size = 2 if version == 2 else 4
        at = entry.body + 4
        yield int.from_bytes(data[at : at + size], "big"), data[at + size + 2 : at + size + 6]


def _places(data: bytes, iloc: _Box, inside: int | None) -> Iterator[tuple[int, list[tuple[int, int]]]]:
    """Each item's number, and where its bytes lie in the file as (start, end)."""
    version, at = data[iloc.body], iloc.body + 4
    offset_size, length_size, base_size = data[at] >> 4, data[at] & 15, data[at + 1] >> 4
    index_size = data[at + 1] & 15 if version in (1, 2) else 0
    wide = 4 if version == 2 else 2
    at += 2

    def take(size: int) -> int:
        nonlocal at
        at += size
        if at > iloc.end:
            raise ValueError("the HEIC's list of places is cut off")
        return int.from_bytes(data[at - size : at], "big")

    for _ in range(take(wide)):
        item = take(wide)
        how = take(2) & 15 if version in (1, 2) else 0
        take(2)
        base, spans = take(base_size), []
        for _ in range(take(2)):
            take(index_size)
            start, length = base + take(offset_size), take(length_size)
            if how == 1 and inside is not None:
                start += inside
            spans.append((start, start + length))
        yield item, spans if how in (0, 1) else []
