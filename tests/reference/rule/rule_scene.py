"""Made rules, drawn from the written facts of how rules are divided; nothing is shared with the program."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.reference.flat_scene import Drawing, grain

PER_MM = 14.0
INCH_MM = 25.4


@dataclass(frozen=True)
class Look:
    """How a rule looks: light of face and mark (BGR, 0 to 1), width of the marks and unevenness of the face."""

    face: tuple[float, float, float] = (0.55, 0.55, 0.55)
    mark: tuple[float, float, float] = (0.03, 0.03, 0.03)
    mark_mm: float = 0.18
    brushed: float = 0.05


STEEL = Look(face=(0.30, 0.30, 0.29), brushed=0.12)
WHITE = Look(face=(0.8, 0.82, 0.82))
YELLOW = Look(face=(0.06, 0.55, 0.75))
BLACK = Look(face=(0.02, 0.02, 0.02), mark=(0.7, 0.7, 0.7), mark_mm=0.25)


def mark_lengths(parts: str, length_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Places and lengths (N,) in mm of a scale's marks: ``mm``, ``half-mm``, or parts of an inch, as ``1/32``."""
    if parts in ("mm", "half-mm"):
        pitch = 1.0 if parts == "mm" else 0.5
        n = np.arange(round(length_mm / pitch) + 1)
        at = n * pitch
        lengths = np.select([at % 10 == 0, at % 5 == 0, at % 1 == 0], [7.0, 5.5, 4.0], 3.0)
        return at, lengths
    per_inch = int(parts.split("/")[1])
    n = np.arange(round(length_mm / INCH_MM * per_inch) + 1)
    halved = np.array([np.gcd(i, per_inch) for i in n])
    return n * INCH_MM / per_inch, 2.2 + 1.3 * np.log2(halved)


def draw_rule(
    parts: str,
    length_mm: float,
    *,
    width_mm: float = 19.0,
    look: Look = WHITE,
    margin_mm: float = 0.0,
    far_parts: str | None = None,
    size_mm: tuple[float, float] = (260.0, 150.0),
    covered_mm: tuple[float, float] | None = None,
    numerals: bool = True,
) -> Drawing:
    """A rule on wood, its scale's middle at the middle of the drawing; marks hang down from its upper edge.

    ``far_parts`` divides the lower edge too. ``covered_mm`` is where a dark clamp lies across it, from and to.
    """
    shape = int(size_mm[1] * PER_MM), int(size_mm[0] * PER_MM)
    tint = np.array((0.45, 0.75, 1.1), np.float32)
    light = grain(shape, PER_MM, light=0.3, depth=0.1, seed=2).astype(np.float32)[..., None] * tint
    half = length_mm / 2.0 + margin_mm
    rng = np.random.default_rng(5)
    brushed = 1.0 + look.brushed * np.clip(rng.normal(size=(shape[0], 1, 1)), -2, 2)
    _paint(light, (-half, half), (-width_mm / 2, width_mm / 2), np.array(look.face) * brushed)
    for side, scale in ((1.0, parts), (-1.0, far_parts)):
        if scale is None:
            continue
        for at, length in zip(*mark_lengths(scale, length_mm), strict=True):
            x = at - length_mm / 2.0
            if abs(x) > half - look.mark_mm / 2:
                continue
            tip = side * (width_mm / 2 - length)
            span = (min(tip, side * width_mm / 2), max(tip, side * width_mm / 2))
            _paint(light, (x - look.mark_mm / 2, x + look.mark_mm / 2), span, np.array(look.mark))
            if numerals and length == mark_lengths(scale, length_mm)[1].max():
                _paint(light, (x + 0.5, x + 1.1), (tip - side * 2.6, tip - side * 0.4), np.array(look.mark))
    if covered_mm:
        _paint(light, covered_mm, (-40.0, 40.0), np.array((0.05, 0.03, 0.03)))
    return Drawing(light, PER_MM)


def _paint(light: np.ndarray, x_mm: tuple[float, float], y_mm: tuple[float, float], colour: np.ndarray) -> None:
    """Fill a rectangle, with part light on the pixels its sides cross; ``colour`` (3,) or (H, 1, 3)."""
    height, width = light.shape[:2]
    left, right = (x * PER_MM + (width - 1) / 2 for x in x_mm)
    top, bottom = ((height - 1) / 2 - y * PER_MM for y in (y_mm[1], y_mm[0]))
    rows = slice(max(0, int(top) - 1), min(height, int(bottom) + 3))
    columns = slice(max(0, int(left) - 1), min(width, int(right) + 3))
    cover_y = _cover(np.arange(height)[rows], top, bottom)
    cover_x = _cover(np.arange(width)[columns], left, right)
    cover = (cover_y[:, None] * cover_x)[..., None]
    tint = colour[rows] if colour.ndim == 3 else colour
    light[rows, columns] += cover * (tint - light[rows, columns])


def _cover(at: np.ndarray, low: float, high: float) -> np.ndarray:
    return np.clip(np.minimum(at + 0.5, high) - np.maximum(at - 0.5, low), 0.0, 1.0)
