"""The parts of a JPEG file (ITU-T T.81, annex B), read without decoding it: its size, its scans, what it is made of."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["DamagedPicture", "JpegParts", "read_jpeg_parts"]

_END = b"\xd9"
_SCAN, _TABLES, _RESTARTS = 0xDA, 0xDB, 0xDD
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_JFIF, _ADOBE = 0xE0, 0xEE
#: What a picture is decoded from: tables (B.2.4), frame, scans, and the two blocks that say how its colours are coded.
_NEEDED = _FRAMES | {0xC4, 0xCC, 0xDC, _SCAN, _TABLES, _RESTARTS}
#: In the coded part of a scan a marker is 0xFF followed by anything but 0, a restart number or a fill byte.
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")


class DamagedPicture(ValueError):
    """Raised where the bytes of a picture contradict themselves; the words say how."""


@dataclass(frozen=True)
class JpegParts:
    """What the markers of a JPEG say.

    ``size_px`` is (w, h) of the stored pixels; ``unit_px`` is (w, h) of the smallest unit in which they are coded, one
    after another along a row (T.81, A.2); ``restart_units`` is after how many of these the coding begins afresh, 0 for
    never; ``scans`` is how many times the decoder goes over the picture. A unit's mean is coded in whole multiples of
    ``quantum``, in levels of 255, the coarsest of its components' (A.3.4). ``picture`` is a JPEG of the parts that make
    up the picture, without notes, previews and what is appended.
    """

    size_px: tuple[int, int]
    unit_px: tuple[int, int]
    scans: int
    restart_units: int
    quantum: float
    picture: bytes


def read_jpeg_parts(data: bytes) -> JpegParts:
    """The parts of the JPEG file ``data`` up to the end of its picture; whatever is appended is passed over.

    Raises :class:`DamagedPicture` where the file ends before its picture does, or its parts do not follow one another.
    """
    frame, scans, restart_units, coarsest = b"", 0, 0, 1
    kept = [data[:2]]
    for marker, start, body, end in _segments(data):
        if marker in _NEEDED or _says_colours(marker, data[body:end]):
            kept.append(_plain(marker, data[start:end], body - start))
        if marker in _FRAMES:
            if frame:
                raise DamagedPicture("it has two frames")
            frame = data[start + 1 : start + 2] + data[body:end]
        elif marker == _SCAN:
            scans += 1
        elif marker == _TABLES:
            coarsest = max(coarsest, *_first_quanta(data[body:end]))
        elif marker == _RESTARTS:
            restart_units = int.from_bytes(data[body : body + 2], "big")
    if len(frame) < 10 or not scans:
        raise DamagedPicture("it holds no picture")
    return JpegParts(_size(frame), _unit(frame), scans, restart_units, coarsest / 8, b"".join([*kept, b"\xff\xd9"]))


def _segments(data: bytes) -> Iterator[tuple[int, int, int, int]]:
    """(marker, start, where its body begins, end) of each segment up to the end marker; a scan's coded data with it."""
    at = 2
    while True:
        start = at
        while data[at : at + 1] == b"\xff":  # fill bytes may stand before any marker
            at += 1
        if at == start:
            raise DamagedPicture("its parts do not follow one another" if at < len(data) else _CUT)
        if data[at : at + 1] == _END:
            return
        body = at + 3
        end = at + 1 + int.from_bytes(data[at + 1 : body], "big")
        if max(end, body) > len(data):
            raise DamagedPicture(_CUT)
        marker = data[at]
        if end < body or marker < 0xC0:
            raise DamagedPicture("its parts do not follow one another")
        if marker == _SCAN:
            found = _MARKER.search(data, end)
            if found is None:
                raise DamagedPicture(_CUT)
            end = found.start()
        yield marker, at - 1, body, end
        at = end


_CUT = "the file ends before its picture does"


def _says_colours(marker: int, body: bytes) -> bool:
    return (marker == _JFIF and body[:5] == b"JFIF\0") or (marker == _ADOBE and body[:5] == b"Adobe")


def _plain(marker: int, segment: bytes, body: int) -> bytes:
    """The segment; a JFIF block with an unknown revision, which changes nothing, is given a known one."""
    if marker != _JFIF:
        return segment
    return segment[: body + 5] + b"\x01\x01" + segment[body + 7 :]


def _first_quanta(body: bytes) -> list[int]:
    """The first quantum, that of a block's mean, of each table in a segment (B.2.4.1): a byte, or two, of 64 such."""
    quanta, at = [0], 0
    while at < len(body):
        size = 2 if body[at] >> 4 else 1
        quanta.append(int.from_bytes(body[at + 1 : at + 1 + size], "big"))
        at += 1 + 64 * size
    return quanta


def _size(frame: bytes) -> tuple[int, int]:
    """(w, h) from a frame's marker and body: marker, precision, height, width, ..."""
    return int.from_bytes(frame[4:6], "big"), int.from_bytes(frame[2:4], "big")


def _unit(frame: bytes) -> tuple[int, int]:
    factors = [frame[8 + 3 * k] for k in range(frame[6]) if 8 + 3 * k < len(frame)]
    if len(factors) <= 1:  # one component is coded block by block, whatever its factors say
        return 8, 8
    return 8 * max(f >> 4 for f in factors), 8 * max(f & 15 for f in factors)
