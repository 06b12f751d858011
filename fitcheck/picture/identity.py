"""What identifies a camera: its make, model, lens and zoom, from the EXIF block of a photograph."""

from __future__ import annotations

import math
import warnings
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

from PIL import Image

# EXIF tags, JEITA CP-3451.
_MAKE, _MODEL, _ORIENTATION, _CHANGED, _EXIF_BLOCK = 0x010F, 0x0110, 0x0112, 0x0132, 0x8769
_TAKEN, _FOCAL, _ZOOM, _FOCAL_35MM, _LENS = 0x9003, 0x920A, 0xA404, 0xA405, 0xA434


@dataclass(frozen=True)
class CameraIdentity:
    """What a photograph says of its camera; None where it does not say.

    ``focal_mm`` is the lens's own focal length, ``focal_35mm_mm`` its equivalent on 35 mm film, which moves with a
    zoom; ``digital_zoom`` is 1 where the picture was not cropped by zooming.

    >>> CameraIdentity("Saltmarsh", "Teal 3", focal_35mm_mm=28.0).described()
    'Saltmarsh Teal 3, 28 mm (35 mm film)'
    """

    make: str | None = None
    model: str | None = None
    lens: str | None = None
    focal_mm: float | None = None
    focal_35mm_mm: float | None = None
    digital_zoom: float | None = None

    def described(self) -> str:
        """The camera in one line, for the builder."""
        name = " ".join(part for part in (self.make, self.model) if part)
        parts = [name or "unnamed camera"]
        if self.lens:
            parts.append(self.lens)
        if self.focal_35mm_mm is not None:
            parts.append(f"{self.focal_35mm_mm:g} mm (35 mm film)")
        elif self.focal_mm is not None:
            parts.append(f"{self.focal_mm:g} mm lens")
        return ", ".join(parts)

    def as_json(self) -> dict[str, Any]:
        """The identity as the camera file writes it."""
        return asdict(self)

    @classmethod
    def from_json(cls, value: Mapping[str, Any]) -> CameraIdentity:
        """The identity a camera file holds; unknown keys are passed over. Raises ValueError for a wrong value."""
        given = {field.name: value.get(field.name) for field in fields(cls)}
        for name in ("make", "model", "lens"):
            if given[name] is not None and not isinstance(given[name], str):
                raise ValueError(f"{name} is not a text")
        for name in ("focal_mm", "focal_35mm_mm", "digital_zoom"):
            if given[name] is not None:
                number = _positive(given[name])
                if number is None:
                    raise ValueError(f"{name} is not a positive number")
                given[name] = number
        return cls(**given)


#: Of a photograph that says nothing of its camera.
UNKNOWN_CAMERA = CameraIdentity()


@dataclass(frozen=True)
class ExifFacts:
    """What the EXIF block of a photograph says: its camera, orientation (None where not given) and time."""

    identity: CameraIdentity = UNKNOWN_CAMERA
    orientation: int | None = None
    taken: str | None = None


def exif_facts(exif: Image.Exif) -> ExifFacts:
    """Read an EXIF block; damaged or absent entries read as not given, since a picture measures without them."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            block = exif.get_ifd(_EXIF_BLOCK)
            top = {tag: exif.get(tag) for tag in (_MAKE, _MODEL, _ORIENTATION, _CHANGED)}
    except Exception:  # the reader raises many kinds for a damaged block, and none of them matters to the picture
        return ExifFacts()
    orientation = top[_ORIENTATION]
    identity = CameraIdentity(
        make=_text(top[_MAKE]),
        model=_text(top[_MODEL]),
        lens=_text(block.get(_LENS)),
        focal_mm=_positive(block.get(_FOCAL)),
        focal_35mm_mm=_positive(block.get(_FOCAL_35MM)),
        digital_zoom=_positive(block.get(_ZOOM)),
    )
    return ExifFacts(
        identity=identity,
        orientation=orientation if isinstance(orientation, int) and 1 <= orientation <= 8 else None,
        taken=_text(block.get(_TAKEN)) or _text(top[_CHANGED]),
    )


def _text(value: Any) -> str | None:
    if isinstance(value, bytes):
        value = value.decode("ascii", "replace")
    if not isinstance(value, str):
        return None
    return value.split("\0")[0].strip() or None


def _positive(value: Any) -> float | None:
    """A number above zero; EXIF writes 0 for a focal length that is not known and for a zoom that was not used."""
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return number if math.isfinite(number) and number > 0 else None
