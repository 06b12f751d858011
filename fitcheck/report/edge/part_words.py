"""What every sheet says of a plank in parts, and of photographs that could not be used."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fitcheck.advice.planing.advice_in_parts import unused
from fitcheck.contract.measurement import Measurement, Part


def frame_line(part: Part | None) -> str:
    """Which part of the plank this is and what its places count from, where that is not the plank's whole from card 0.

    >>> frame_line(Part(2, 2, 4, (4, 8), (), None))
    'Part 2 of 2: cards 4 to 8. Places count from card 4.'
    """
    if part is None or (part.of == 1 and part.tied_by is not None):
        return ""
    if part.of == 1:
        return f"Places count from card {part.from_card}, not from card 0."
    return f"Part {part.number} of {part.of}: {part.words}. Places count from card {part.from_card}."


def unused_lines(measurement: Measurement) -> list[str]:
    """Each of several photographs that could not be used, with the reason and what to photograph again."""
    if len(measurement.photos) < 2:
        return []
    return [f"not used: {_why_unused(photo)}" for photo in unused(measurement)]


def _why_unused(photo: Mapping[str, Any]) -> str:
    name, text = str(photo.get("name", "")), " ".join(str(reason["text"]) for reason in photo["reasons"])
    return text if name in text else f"{name}. {text}"
