"""Decode a JPEG, and believe it only where nothing speaks against it.

Most decoders fill what they cannot read with grey or with whatever they can make of it, and say so on standard error,
if at all. This one stops at the first complaint. What no decoder can tell is looked for in the picture itself.
"""

from __future__ import annotations

import numpy as np

from fitcheck.ground.refusal import Refused
from fitcheck.picture.jpeg_parts import DamagedPicture, JpegParts
from fitcheck.picture.jpeg_shift import is_shifted

__all__ = ["decode_jpeg", "need_few_scans"]

#: Progressive pictures go over the pixels some ten times. A file of a few kilobytes may ask for thousands.
MOST_SCANS = 40
MOST_SCANNED_MEGAPIXELS = 1200


def need_few_scans(parts: JpegParts, name: str) -> None:
    """Refuse (``photo-huge``) a picture that takes the decoder over its pixels so often that it would take minutes."""
    scanned = parts.size_px[0] * parts.size_px[1] * parts.scans
    if parts.scans > MOST_SCANS or scanned > MOST_SCANNED_MEGAPIXELS * 1_000_000:
        raise Refused(
            "photo-huge",
            f"{name} is coded in {parts.scans} scans of {parts.size_px[0]} x {parts.size_px[1]} pixels, more than any "
            "camera makes; use the camera's own file.",
        )


def decode_jpeg(parts: JpegParts) -> np.ndarray:
    """The stored pixels (H, W, 3) uint8, blue green red.

    Raises :class:`DamagedPicture` at the decoder's first complaint, and where the picture is shifted from one place on
    (:func:`fitcheck.picture.jpeg_shift.is_shifted`). A single block of 8 x 8 pixels that is wrong by itself may pass.
    """
    import simplejpeg

    try:
        pixels: np.ndarray = simplejpeg.decode_jpeg(parts.picture, colorspace="BGR", strict=True)
    except ValueError as error:
        raise DamagedPicture(f"inside its picture: {str(error) or 'it cannot be decoded'}") from error
    if is_shifted(pixels, parts):
        raise DamagedPicture("inside its picture: from one place on it is lighter, darker or of another colour")
    return pixels
