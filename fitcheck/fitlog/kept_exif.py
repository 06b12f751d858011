"""What stays of a photograph's EXIF: how it was taken, and nothing of people and places."""

from __future__ import annotations

from typing import Any

#: EXIF tags that stay (JEITA CP-3451): make, model, orientation, resolution and its unit, time.
_TOP = (0x010F, 0x0110, 0x0112, 0x011A, 0x011B, 0x0128, 0x0132)
#: Exposure, aperture, speed, times, flash, focal lengths, size, zoom, lens.
_BLOCK = (
    0x829A,
    0x829D,
    0x8827,
    0x9003,
    0x9004,
    0x9209,
    0x920A,
    0xA001,
    0xA002,
    0xA003,
    0xA404,
    0xA405,
    0xA433,
    0xA434,
)
_EXIF_BLOCK = 0x8769


def kept_exif(exif: Any) -> bytes:
    """What stays of an EXIF block, as a TIFF; empty where nothing does."""
    from PIL import Image

    kept = Image.Exif()
    for tag in _TOP:
        if tag in exif:
            kept[tag] = exif[tag]
    told = exif.get_ifd(_EXIF_BLOCK)
    block = {tag: told[tag] for tag in _BLOCK if tag in told}
    if block:
        kept.get_ifd(_EXIF_BLOCK).update(block)
        kept[_EXIF_BLOCK] = block
    return kept.tobytes().removeprefix(b"Exif\0\0") if len(kept) else b""
