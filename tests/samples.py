"""The sample photographs of the project, and copies of them altered as photographs get altered on their way."""

from __future__ import annotations

import io
import struct
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from fitcheck.contract.settings import Settings

ROOT = Path(__file__).resolve().parent.parent
LAPS = ROOT / "sample_images" / "laps"
TEAL = ROOT / "calib" / "teal.json"
#: Near square, the lap line in sight; a shadow over the line; the line hidden behind the edge.
PLAIN, SHADOW, HIDDEN = (
    LAPS / f"{name}.jpg" for name in ("strake4-port-fit1", "strake2-starboard-fit1", "strake6-port-from-above")
)
SETTINGS = Settings(reference="id1", thickness_mm=12.7, lap_mm=25.4, bevel_deg=6.0)


def retagged(source: Path, target: Path, change: Callable[[Image.Exif], None]) -> Path:
    """A copy whose EXIF block alone is changed: the coded picture stays bit for bit what it was."""
    exif = _exif_of(source)
    change(exif)
    block = b"Exif\0\0" + exif.tobytes().removeprefix(b"Exif\0\0")
    data, at, kept = source.read_bytes(), 2, b""
    while data[at + 1] != 0xDA:
        (size,) = struct.unpack(">H", data[at + 2 : at + 4])
        segment = data[at : at + 2 + size]
        if segment[:2] != b"\xff\xe1":
            kept += segment
        at += 2 + size
    target.write_bytes(b"\xff\xd8\xff\xe1" + struct.pack(">H", len(block) + 2) + block + kept + data[at:])
    return target


def repainted(source: Path, target: Path, change: Callable[[np.ndarray], np.ndarray]) -> Path:
    """A copy whose pixels are changed and coded anew, with the EXIF block of the source."""
    pixels = cv2.imread(str(source), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    coded = io.BytesIO()
    picture = Image.fromarray(np.ascontiguousarray(change(pixels)[:, :, ::-1]))
    picture.save(coded, "JPEG", quality=95, exif=_exif_of(source))
    target.write_bytes(coded.getvalue())
    return target


def _exif_of(source: Path) -> Image.Exif:
    with Image.open(source) as picture:
        exif = picture.getexif()
        exif.get_ifd(0x8769)
        return exif
