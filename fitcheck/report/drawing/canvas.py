"""Marks on a picture that stay readable on any wood: cased lines, dashes, hatched ribbons, words on a plate."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from fitcheck.ground.runs import runs
from fitcheck.report.drawing.palette import BLACK, WHITE

Colour = tuple[int, int, int]
#: Lines are drawn to a sixteenth of a pixel.
_SHIFT = 4
#: Letters are this share of the width high: 12 px where a phone shows the picture 371 px wide, on a page of 390 px.
LETTER_SHARE = 1 / 30


def runs_of(points: np.ndarray) -> list[np.ndarray]:
    """The stretches of (N, 2) points that are there: a row with NaN parts them. Stretches of one point are left out."""
    there = np.isfinite(points).all(axis=1)
    return [points[run] for run in runs(there) if run.stop - run.start > 1]


def draw_line(
    pixels: np.ndarray, points: np.ndarray, colour: Colour, width: int, *, dash_px: float = 0.0, casing: Colour = BLACK
) -> None:
    """Draw a line through (N, 2) points (u, v) into ``pixels`` (H, W, 3) RGB, cased so that it shows on any ground."""
    for run in runs_of(points):
        pieces = _dashes(run, dash_px) if dash_px else [run]
        for shade, wide in ((casing, width + max(2, width // 2)), (colour, width)):
            for piece in pieces:
                fixed = np.round(piece * (1 << _SHIFT)).astype(np.int32).reshape(-1, 1, 2)
                cv2.polylines(pixels, [fixed], False, shade, wide, cv2.LINE_AA, _SHIFT)


def _dashes(run: np.ndarray, dash_px: float) -> list[np.ndarray]:
    """The run cut into dashes with gaps of three fifths of a dash."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))])
    starts = np.arange(0.0, along[-1], dash_px * 1.6)
    pieces = []
    for start in starts:
        end = min(start + dash_px, along[-1])
        at = np.concatenate([[start], along[(along > start) & (along < end)], [end]])
        pieces.append(np.column_stack([np.interp(at, along, run[:, axis]) for axis in (0, 1)]))
    return pieces


def draw_ribbon(
    pixels: np.ndarray, inner: np.ndarray, outer: np.ndarray, colour: Colour, hatch: str, width: int
) -> None:
    """Fill the ribbon between two lines of (N, 2) points with a light ground, its hatch and its outline."""
    band = np.concatenate([inner, outer[::-1]])
    fixed = np.round(band).astype(np.int32).reshape(-1, 1, 2)
    left, top, wide, high = cv2.boundingRect(fixed)
    box = (slice(max(0, top), top + high), slice(max(0, left), left + wide))
    mask = np.zeros(pixels.shape[:2], np.uint8)
    cv2.fillPoly(mask, [fixed], 255)
    inside = mask[box] > 0
    if not inside.any():
        return
    ground = pixels[box]
    ground[inside] = np.array(colour if not hatch else WHITE, np.uint8)
    if hatch:
        strokes = _hatch(ground.shape[:2], hatch, max(4, width * 3), width)
        ground[inside & strokes] = np.array(colour, np.uint8)
    cv2.polylines(pixels, [fixed], True, BLACK, max(1, width // 2), cv2.LINE_AA)


def _hatch(shape: tuple[int, ...], kind: str, pitch: int, width: int) -> np.ndarray:
    row, column = np.indices(shape)
    strokes = {
        "/": (row + column) % pitch < width + 1,
        "|": column % pitch < pitch // 2,
        "x": ((row + column) % pitch < width) | ((row - column) % pitch < width),
        "-": row % pitch < pitch // 3,
        "v": (column + np.abs(row % (2 * pitch) - pitch)) % pitch < width,
        ".": np.hypot(row % (2 * pitch) - pitch, column % (2 * pitch) - pitch) < pitch * 0.3,
        "o": np.hypot(row % pitch - pitch / 2, column % pitch - pitch / 2) < pitch * 0.3,
    }
    return np.asarray(strokes[kind])


@lru_cache(maxsize=16)
def font(size_px: int) -> Any:
    """The lettering, bold and with the signs a measurement needs; it comes with the chart library."""
    import matplotlib

    path = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans-Bold.ttf"
    return ImageFont.truetype(str(path), size_px)


def text_size(words: str, size_px: int) -> tuple[int, int]:
    """Width and height in px that a line of words takes."""
    left, _, right, _ = font(size_px).getbbox(words)
    return int(right - left), round(size_px * 1.25)


def letter_size(width: int) -> int:
    """The letters' height in px on a picture ``width`` px wide: readable where a phone shows it as wide as itself.

    >>> letter_size(2400)
    80
    """
    return max(11, round(width * LETTER_SHARE))


def folded(text: str, size: int, width: int) -> list[str]:
    """Words in lines that take at most ``width`` px, a word by itself at the least."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if text_size(longer, size)[0] <= width or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


Swatch = Callable[[np.ndarray, str, np.ndarray, int], None]


def legend_bar(entries: Sequence[tuple[str, str]], width: int, size: int, swatch: Swatch) -> np.ndarray:
    """Marks beside their meanings, (H, width, 3) uint8 RGB, in as many rows as they take.

    ``entries`` are what each mark is and what it says; a single capital letter stands as itself, everything else is
    drawn by ``swatch`` between two ends (2, 2). An entry too long for the width is folded.
    """
    mark, high = 3 * size, round(size * 1.6)
    placed: list[tuple[str, str, float, int]] = []
    left, row = float(size), 0
    for kind, words in entries:
        lines = folded(words, size, width - mark - 2 * size)
        needs = mark + max(text_size(line, size)[0] for line in lines) + 2 * size
        if left > size and (left + needs > width or len(lines) > 1):
            left, row = float(size), row + 1
        placed += [(kind if i == 0 else "", line, left, row + i) for i, line in enumerate(lines)]
        row += len(lines) - 1
        left += needs
    bar = np.full((high * (row + 1) + size // 3, width, 3), 225, np.uint8)
    letters = Letters()
    for kind, words, left, row in placed:
        middle = high * (row + 0.5) + size / 6
        if len(kind) == 1 and kind.isupper():
            letters.write((left + mark - size * 1.6, middle - size * 0.6), kind, size)
        elif kind:
            swatch(bar, kind, np.array([[left, middle], [left + mark - size * 0.6, middle]]), size)
        letters.write((left + mark, middle - size * 0.6), words, size, BLACK, None)
    return letters.onto(bar)


class Letters:
    """Writes words on a picture: collect them, then :meth:`onto` puts all of them down in one pass."""

    def __init__(self) -> None:
        self._words: list[tuple[float, float, str, int, Colour, Colour | None]] = []

    def write(
        self, at: tuple[float, float], words: str, size_px: int, colour: Colour = BLACK, plate: Colour | None = WHITE
    ) -> None:
        """Words with their top left at ``at``, on a plate of that colour or on the bare ground."""
        self._words.append((at[0], at[1], words, size_px, colour, plate))

    def onto(self, pixels: np.ndarray) -> np.ndarray:
        """The picture (H, W, 3) RGB with all words written."""
        image = Image.fromarray(pixels)
        pen = ImageDraw.Draw(image)
        for left, top, words, size, colour, plate in self._words:
            if plate is not None:
                wide, high = text_size(words, size)
                edge = size // 4
                box = (left - edge, top - edge // 2, left + wide + edge, top + high + edge // 2)
                pen.rounded_rectangle(box, radius=edge, fill=plate, outline=colour, width=max(1, size // 14))
            pen.text((left, top), words, fill=colour, font=font(size))
        return np.ascontiguousarray(np.asarray(image))
