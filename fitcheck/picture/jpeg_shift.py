"""A look for damage that a decoder cannot tell: from one place on a JPEG is lighter, darker or of another colour.

In a JPEG the mean of each block is coded as its difference from the block before it (ITU-T T.81, F.1.2.1). One wrong
difference shifts every block after it by as much, row upon row, to the end of the picture, and the data stay readable.
Its upper rim is a step between two rows of coding units: from the damage to the right end along one row of units, and
from there on to the left along the next. No thing in front of a camera has that shape.
"""

from __future__ import annotations

import numpy as np

from fitcheck.picture.jpeg_parts import JpegParts

__all__ = ["is_shifted"]

#: A step smaller than this, in levels of 255, is less than wood's own grain, and moves nothing that is measured.
LEAST_STEP = 1.5
#: Strongly compressed pictures step by whole quanta between units by themselves; more than two and a half are damage.
LEAST_QUANTA = 2.5
#: Levels of blue for one of its colour difference (ITU-T T.871, 7); red has fewer.
BLUE_LEVELS = 1.77
#: The share of units along the rim that must show the step. Of 236 clean pictures, some of them compressed anew,
#: none had over 0.77.
LEAST_SHARE = 0.82
#: How much more of the rim must show it than of the straight rows of units that the rim runs along: an edge that lies
#: level in the picture shows along one straight row. In small pictures it must be some units.
LEAST_FOLD = 0.03
LEAST_FOLD_UNITS = 3


def is_shifted(pixels: np.ndarray, parts: JpegParts) -> bool:
    """Whether the rim of such damage runs through the stored ``pixels`` (H, W, 3), blue green red.

    ``parts`` are those of its file. A shift of less than some 5 levels of 255 may pass, and so may one in the first row
    of units or one that begins within a few units of a row's ends. Where the coding begins afresh within a row, at a
    restart, a shift ends there and nothing is looked for.
    """
    unit_w, unit_h = parts.unit_px
    height, width = pixels.shape[:2]
    columns = width // unit_w
    if 0 < parts.restart_units < columns or height < 2 * unit_h:
        return False
    whole = pixels[:, : columns * unit_w]
    rows = {offset: _row_means(whole, parts.unit_px, offset) for offset in (-5, -2, -1, 0, 1, 4)}
    step = max(LEAST_STEP, LEAST_QUANTA * parts.quantum)
    colour_step = max(LEAST_STEP, LEAST_QUANTA * parts.quantum * BLUE_LEVELS)
    signs = (_light(rows, step), _colour(rows, 0, colour_step), _colour(rows, 2, colour_step))
    return any(_shows_rim(one) for one in signs)


def _row_means(pixels: np.ndarray, unit_px: tuple[int, int], offset: int) -> np.ndarray:
    """Mean colours (rows, columns, 3) over eight columns of each unit, in the row ``offset`` from its first row.

    The topmost row of units is left out: no rim lies above it.
    """
    unit_w, unit_h = unit_px
    last = len(pixels) - unit_h + 1
    lines = pixels[unit_h + offset : last + offset : unit_h]
    first = (unit_w - 8) // 2
    middle = lines.reshape(len(lines), -1, unit_w, 3)[:, :, first : first + 8].astype(np.float32)
    # One product is several times as quick as a mean over so short an axis.
    weights = np.tile(np.eye(3, dtype=np.float32), (8, 1)) / 8
    means: np.ndarray = middle.reshape(len(lines), -1, 24) @ weights
    return means


def _light(rows: dict[int, np.ndarray], least: float) -> np.ndarray:
    """+1, 0, -1 (rows, columns): does green step up or down between a unit's first row and the row above it?

    The step must stand out of the slope beside it, and be sharper than a lens draws any edge.
    """
    a, b, c, d = (rows[offset][:, :, 1] for offset in (-2, -1, 0, 1))
    step, beside = c - b, d - c + b - a
    out = _signs(step - beside / 2, least)
    return out * (out == _signs(step - beside, least))


def _colour(rows: dict[int, np.ndarray], channel: int, least: float) -> np.ndarray:
    """As :func:`_light` for a channel less green, over three rows, since colours are stored at half the size."""
    a, b, c, d = (rows[offset][:, :, channel] - rows[offset][:, :, 1] for offset in (-5, -2, 1, 4))
    return _signs((3 * (c - b) - (d - a)) / 2, least)


def _signs(steps: np.ndarray, least: float) -> np.ndarray:
    return (steps > least).astype(np.int32) - (steps < -least)


def _shows_rim(signs: np.ndarray) -> bool:
    """Whether the units (rows, columns) of one sign, less those of the other, make up most of any folded rim."""
    columns = signs.shape[1]
    sums = np.concatenate([[0], np.cumsum(signs.ravel())])
    share = np.abs(sums[columns:] - sums[:-columns]) / columns
    straight = share[::columns]
    row = np.arange(len(share)) // columns
    beside = np.maximum(straight[row], straight[np.minimum(row + 1, len(straight) - 1)])
    folded = share - beside > max(LEAST_FOLD, LEAST_FOLD_UNITS / columns)
    return bool(np.any((share > LEAST_SHARE) & folded))
