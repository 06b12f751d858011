"""What is trained on: a photograph's two strips, cut as the measure cuts them, with the true marks in their rows."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np

#: Amounts of light are kept in 16 bits.
WHITE = 65535.0


@dataclass(frozen=True)
class CourseStrip:
    """The small strip for the lap's course: ``light`` (R, C, 3) from 0 to 1, ``seen`` (R, C).

    ``edge_row`` (C,) is the outer corner's row, NaN beyond the truth; ``clear`` (C,) tells columns with no clamp near;
    ``sheer_up`` whether the sheer lies toward the top.
    """

    light: np.ndarray
    seen: np.ndarray
    edge_row: np.ndarray
    clear: np.ndarray
    sheer_up: bool


@dataclass(frozen=True)
class LapStrip:
    """The fine strip for edge and line: ``light`` (R, C, 3), ``seen`` (R, C), rows ``down_mm`` (R,), ``along_mm`` (C,).

    ``outer_mm``, ``inner_mm`` and ``line_mm`` (C,) are the true marks' places down the strip, NaN beyond the truth;
    ``line_mm`` is the witness line's where one was struck ``witness_mm`` below the lap line. ``line_seen`` (C,) tells
    where a line was drawn and nothing of the lap hides it. ``clamp_mm`` (C,) is how far the nearest clamp's middle is.
    """

    light: np.ndarray
    seen: np.ndarray
    down_mm: np.ndarray
    along_mm: np.ndarray
    outer_mm: np.ndarray
    inner_mm: np.ndarray
    line_mm: np.ndarray
    line_seen: np.ndarray
    clamp_mm: np.ndarray
    px_per_mm: float
    witness_mm: float

    @property
    def width_mm(self) -> float:
        """How far below the outer corner the inner one is seen, in the middle; negative where the plank hides it."""
        return float(np.nanmedian(self.inner_mm - self.outer_mm))


@dataclass(frozen=True)
class Strips:
    """Both strips of one photograph; no lap strip where too little of the lap is in the picture."""

    name: str
    woods: tuple[str, str]
    course: CourseStrip
    lap: LapStrip | None

    def save(self, path: Path) -> None:
        """Write all to a compressed file of arrays."""
        arrays: dict[str, Any] = {f"course_{name}": one for name, one in asdict(self.course).items()}
        arrays |= {f"lap_{name}": one for name, one in asdict(self.lap).items()} if self.lap else {}
        kept = {name: _bits(one) if name.endswith("_light") else one for name, one in arrays.items()}
        part = path.with_suffix(".part")
        with part.open("wb") as file:
            np.savez_compressed(file, about=json.dumps([self.name, *self.woods]), **kept)
        part.replace(path)


def load_strips(path: Path) -> Strips:
    """What :meth:`Strips.save` wrote."""
    with np.load(path) as stored:
        name, strake, plank = json.loads(str(stored["about"]))
        course = CourseStrip(**{one.name: _value(stored, f"course_{one.name}") for one in fields(CourseStrip)})
        has_lap = "lap_light" in stored
        lap = LapStrip(**{one.name: _value(stored, f"lap_{one.name}") for one in fields(LapStrip)}) if has_lap else None
    return Strips(name, (strake, plank), course, lap)


def _bits(light: np.ndarray) -> np.ndarray:
    return np.round(np.clip(light, 0.0, 1.0) * WHITE).astype(np.uint16)


def _value(stored: Any, name: str) -> Any:
    value = stored[name]
    if name.endswith("_light"):
        return (value / np.float32(WHITE)).astype(np.float32)
    return value.item() if value.ndim == 0 else value
