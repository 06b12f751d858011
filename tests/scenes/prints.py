"""What is printed on cards and rules, as linear BGR pictures: row 0 the side toward the sheer, column 0 the left."""

from functools import lru_cache

import cv2
import numpy as np

from fitcheck.ground.light import light_of_levels
from tests.scenes.arrays import Array, Pixels
from tests.scenes.wood import linear

PER_MM = 20
CARD_INKS = {
    "white": ((238, 238, 234), (52, 60, 140)),
    "tan": ((206, 182, 148), (90, 70, 60)),
    "grey": ((176, 178, 180), (60, 60, 60)),
    "kraft": ((168, 128, 88), (40, 36, 34)),
    "dark": ((52, 54, 60), (190, 190, 190)),
}
RULES_MM = {"rule-mm": (300.0, 25.0), "rule-in": (304.8, 25.4)}


def _blank(size_mm: tuple[float, float], colour: tuple[int, int, int]) -> Pixels:
    shape = (round(size_mm[1] * PER_MM), round(size_mm[0] * PER_MM), 3)
    return np.full(shape, colour[::-1], np.uint8)


def _finish(picture: Pixels) -> Array:
    return light_of_levels(picture)


def _write(picture: Pixels, text: str, at_mm: tuple[float, float], height_mm: float, ink: tuple[int, int, int]) -> None:
    scale = height_mm * PER_MM / 22.0
    place = (round(at_mm[0] * PER_MM), round(at_mm[1] * PER_MM))
    cv2.putText(picture, text, place, cv2.FONT_HERSHEY_SIMPLEX, scale, ink[::-1], max(1, round(scale * 2)), cv2.LINE_AA)


@lru_cache(maxsize=8)
def card(style: str, size_mm: tuple[float, float]) -> Array:
    """A card's face: a plain one with invented lettering, or `blue`, `printed`: colour to its edges."""
    if style in CARD_INKS:
        colour, ink = CARD_INKS[style]
        picture = _blank(size_mm, colour)
        _write(picture, "SALT CREEK", (8.0, 16.0), 3.4, ink)
        _write(picture, "oars and spars (invented)", (8.0, 22.0), 1.8, (120, 120, 120))
        _write(picture, "bench 0, loft 0", (8.0, size_mm[1] - 8.0), 1.6, (130, 130, 130))
        return _finish(picture)
    picture = _blank(size_mm, (60, 96, 150))
    height, width = picture.shape[:2]
    across = np.linspace(0.0, 1.0, width, dtype=np.float32)[None, :, None]
    down = np.linspace(0.0, 1.0, height, dtype=np.float32)[:, None, None]
    if style == "printed":
        wave: Array = 0.5 + 0.5 * np.sin(9.0 * across + 7.0 * down**2)
        mixed: Array = wave * np.array([60, 150, 190], np.float32) + (1 - wave) * np.array([130, 70, 60], np.float32)
    else:
        left, right = np.array([150, 96, 60], np.float32), np.array([176, 158, 84], np.float32)
        mixed = left + (across + 0.0 * down) * (right - left)
    picture = np.ascontiguousarray(mixed, np.uint8)
    chip = [round(c * PER_MM) for c in (10.0, 19.0, 12.0, 9.5)]
    cv2.rectangle(picture, (chip[0], chip[1]), (chip[0] + chip[2], chip[1] + chip[3]), (110, 180, 205), -1)
    _write(picture, "0000 0000 INVENTED", (10.0, size_mm[1] - 14.0), 3.0, (235, 235, 235))
    return _finish(picture)


@lru_cache(maxsize=4)
def rule(kind: str, plastic: bool) -> Array:
    """A rule's face: graduations along the side toward the sheer, in mm or sixteenths, beginning at its left end."""
    size = RULES_MM[kind]
    picture = _blank(size, (236, 236, 230) if plastic else (186, 188, 190))
    ink = (30, 30, 30)
    if kind == "rule-mm":
        pitch, every = 1.0, 10
        lengths = [(10, 8.0), (5, 6.0), (1, 4.0)]
    else:
        pitch, every = 25.4 / 16, 16
        lengths = [(16, 8.0), (8, 6.0), (4, 4.8), (2, 4.0), (1, 3.2)]
    half = 0.5 * 0.16 * PER_MM
    for k in range(1, round(size[0] / pitch)):
        tall = next(length for each, length in lengths if k % each == 0)
        centre = k * pitch * PER_MM
        left = round((centre - half) * 16)
        box = np.array(
            [
                [left, 0],
                [left + round(2 * half * 16), 0],
                [left + round(2 * half * 16), round(tall * PER_MM * 16)],
                [left, round(tall * PER_MM * 16)],
            ]
        )
        cv2.fillConvexPoly(picture, box - 8, ink, cv2.LINE_AA, 4)
        if k % every == 0:
            text = str(k if kind == "rule-mm" else k // 16)
            _write(picture, text, (k * pitch - 0.9 * len(text), 13.0), 2.4, ink)
    return _finish(picture)


@lru_cache(maxsize=12)
def station_card(number: int) -> Array:
    """A station card 90 x 60 mm: four 20 mm DICT_5X5_250 markers, ids 4n.. clockwise from the top left, inset 4 mm."""
    picture = _blank((90.0, 60.0), (240, 240, 238))
    words = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    for k, (x, y) in enumerate(((4, 4), (66, 4), (66, 36), (4, 36))):
        marker = cv2.aruco.generateImageMarker(words, 4 * number + k, 7 * 100)
        marker = cv2.resize(marker, (20 * PER_MM, 20 * PER_MM), interpolation=cv2.INTER_AREA)
        marker = np.where(marker > 127, 238, 28).astype(np.uint8)
        picture[y * PER_MM : (y + 20) * PER_MM, x * PER_MM : (x + 20) * PER_MM] = marker[..., None]
    text = str(number)
    _write(picture, text, (45.0 - 5.0 * len(text), 36.0), 12.0, (40, 40, 40))
    return _finish(picture)


def plain(colour: tuple[int, int, int]) -> Array:
    """One colour all over."""
    return linear(colour).reshape(1, 1, 3)
