"""One photograph of many: which are worth a picture of their own, and what is drawn on each."""

from __future__ import annotations

import numpy as np

from fitcheck.advice.planing.advice_in_parts import unused
from fitcheck.advice.states import stretches
from fitcheck.contract.measurement import Measurement
from fitcheck.ground.refusal import Reason

#: More pictures than this make a page heavy and are not looked at; the other photographs are named.
MOST_SHOWN = 6
#: A shorter ambiguous stretch is passed over, as a clamp's width is.
LONG_MM = 100.0
#: A picture of one of many is no wider than this.
WIDEST_PX = 1200


def worth_showing(measurement: Measurement, most: int = MOST_SHOWN) -> list[int]:
    """Indices of the photographs to be shown by themselves: those not used, then those with an ambiguous stretch.

    None of a measurement of one photograph, which is its own picture; at the most ``most``.
    """
    if len(measurement.photos) < 2:
        return []
    lost = [str(photo.get("name")) for photo in unused(measurement)]
    torn = {name for part in measurement.each_part() for name in _long_ambiguous(part)}
    names = [str(photo.get("name")) for photo in measurement.photos]
    refused = [index for index, name in enumerate(names) if name in lost]
    ambiguous = [index for index, name in enumerate(names) if name in torn and index not in refused]
    return [*refused, *ambiguous][:most]


def _long_ambiguous(part: Measurement) -> set[str]:
    """The photographs that show a stretch ambiguous which is too long to be passed over."""
    ordered = sorted(part.samples, key=lambda one: one.place_mm())
    runs = [run for run in stretches(ordered) if run.label == "ambiguous" and run.length_mm >= LONG_MM]
    return {
        one.photos[0] for one in ordered for run in runs if one.photos and run.from_mm <= one.place_mm() <= run.to_mm
    }


def of_photo(measurement: Measurement, index: int) -> tuple[Measurement, int]:
    """What is to be drawn on one of the photographs, and its index in that.

    On a photograph that was not used its reasons, and what was found in it; on another the part of the plank it is of:
    a place has one meaning in one part alone.
    """
    if len(measurement.photos) < 2 or index >= len(measurement.photos):
        return measurement, index
    photo = measurement.photos[index]
    if photo.get("state") != "refused":
        name = photo.get("name")
        own = (one for one in measurement.each_part() if one.part is not None and name in one.part.photos)
        return next(own, measurement), index
    reasons = tuple(Reason(one["code"], one["text"]) for one in photo.get("reasons", ()))
    found = tuple(one for one in measurement.candidates if one.photo == photo.get("name"))
    settings = {**measurement.settings, "plank": None}
    return Measurement("refused", settings, reasons=reasons, photos=(photo,), candidates=found), 0


def caption(measurement: Measurement, index: int) -> str:
    """What stands under the picture of one photograph."""
    photo = measurement.photos[index] if index < len(measurement.photos) else {}
    name = str(photo.get("name", ""))
    if len(measurement.photos) > 1 and photo.get("state") == "refused":
        return f"Photograph {name}, not used: what was found in it"
    return f"Photograph {name}, marked".replace(" ,", ",")


def narrowed(picture: np.ndarray) -> np.ndarray:
    """The picture (H, W, 3), no wider than :data:`WIDEST_PX`; its letters shrink with it, a phone shows them alike."""
    import cv2

    high, wide = picture.shape[:2]
    if wide <= WIDEST_PX:
        return picture
    return cv2.resize(picture, (WIDEST_PX, round(high * WIDEST_PX / wide)), interpolation=cv2.INTER_AREA)
