"""The ways a file comes to harm on its way: one function a kind, each from sound bytes and a random draw."""

from __future__ import annotations

import random
from collections.abc import Callable

Harm = Callable[[bytes, random.Random], bytes]


def _place(data: bytes, draw: random.Random) -> int:
    return draw.randrange(2, max(len(data) - 2, 3))


def bits(data: bytes, draw: random.Random) -> bytes:
    """One to three single bits the other way round."""
    changed = bytearray(data)
    for _ in range(draw.randint(1, 3)):
        changed[_place(data, draw)] ^= 1 << draw.randrange(8)
    return bytes(changed)


def many_bytes(data: bytes, draw: random.Random) -> bytes:
    """Four to forty bytes of chance, here and there."""
    changed = bytearray(data)
    for _ in range(draw.randint(4, 40)):
        changed[_place(data, draw)] = draw.randrange(256)
    return bytes(changed)


def cut(data: bytes, draw: random.Random) -> bytes:
    """The end is missing."""
    return data[: _place(data, draw)]


def zeros(data: bytes, draw: random.Random) -> bytes:
    """A run of zeros, as of a block of the card that was never written."""
    at, size = _place(data, draw), draw.choice((16, 512, 4096))
    return data[:at] + bytes(min(size, len(data) - at)) + data[at + size :]


def swapped(data: bytes, draw: random.Random) -> bytes:
    """Two blocks of 512 bytes in each other's place."""
    first, other = sorted((_place(data, draw) // 512 * 512, _place(data, draw) // 512 * 512))
    if other < first + 512:
        return data
    a, b = data[first : first + 512], data[other : other + 512]
    return data[:first] + b + data[first + 512 : other] + a + data[other + 512 :]


def lost(data: bytes, draw: random.Random) -> bytes:
    """A few bytes fewer in the middle."""
    at = _place(data, draw)
    return data[:at] + data[at + draw.choice((1, 2, 64, 512)) :]


def markers(data: bytes, draw: random.Random) -> bytes:
    """A bit in what stands before the coded data: tables, sizes, kinds of parts, the EXIF block."""
    head = data.find(b"\xff\xda")
    changed = bytearray(data)
    changed[draw.randrange(2, head if head > 2 else min(len(data), 600))] ^= 1 << draw.randrange(8)
    return bytes(changed)


def exif(data: bytes, draw: random.Random) -> bytes:
    """Forty bytes of chance in the EXIF block."""
    at = data.find(b"Exif\0\0")
    at = 200 if at < 0 else at + 6 + draw.randrange(60)
    return data[:at] + draw.randbytes(40) + data[at + 40 :]


KINDS: dict[str, Harm] = {harm.__name__: harm for harm in (bits, many_bytes, cut, zeros, swapped, lost, markers, exif)}
