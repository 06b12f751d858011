"""Exposure and focus of a picture, told cheaply: a number for the blur, and warnings in the builder's words."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.ground.refusal import Reason

BURNT_LEVEL, BLACK_LEVEL = 252, 6
MOST_BURNT, MOST_BLACK = 0.10, 0.40
#: A standard deviation of blur over this leaves a 0.5 mm pencil line little contrast at 6 pixels a millimetre.
SOFT_PX = 3.0
_TILE_PX, _TILES = 192, (5, 6)
#: Smoothing against noise and the further blur: fine for a sharp picture, coarse where the fine one reads a wide blur.
_FINE_PX, _COARSE_PX, _COARSE_FROM_PX = (0.7, 1.5), (2.0, 4.0), 2.0
_LEAST_SLOPE = 4.0
_FEWEST_EDGE_PX = 12
_SHARPEST_SHARE = 0.25


def blur_px(gray: np.ndarray) -> float | None:
    """Blur (a standard deviation in pixels) of the sharpest edges in ``gray`` (H, W) uint8; None where none stands out.

    A step blurred by s has a greatest slope in proportion to 1/s; blurring it again by b lowers that slope by
    sqrt(1 + b²/s²), which gives s whatever the step's contrast (Zhuo & Sim, Pattern Recognition 44, 2011). Strong edges
    in tiles spread over the picture are tried, and the sharpest quarter of the tiles speaks: a near thing out of focus
    does not make the picture blurred. The pixels' own width, about 0.6, is in the number. An edge broader than a step,
    as of a shadow, reads as blur; a line narrower than its blur reads as sharper than it is.

    >>> picture = np.zeros((300, 400), np.uint8)
    >>> picture[:, 200:] = 200
    >>> round(blur_px(cv2.GaussianBlur(picture, None, 2.0)), 1)
    2.1
    """
    found = [value for tile in _tiles(gray) if (value := _tile_blur_px(tile)) is not None]
    return float(np.quantile(found, _SHARPEST_SHARE)) if found else None


def exposure_and_focus(pixels: np.ndarray) -> list[Reason]:
    """Warnings about a picture or a part of one, (H, W[, 3]) uint8: burnt out, too dark, blurred. Empty where sound.

    >>> [one.code for one in exposure_and_focus(np.full((300, 400), 255, np.uint8))]
    ['photo-burnt', 'photo-soft']
    """
    small = pixels[::4, ::4]
    darkest, lightest = (small, small) if small.ndim == 2 else (small.min(axis=2), small.max(axis=2))
    warnings = []
    burnt, black = float(np.mean(darkest >= BURNT_LEVEL)), float(np.mean(lightest <= BLACK_LEVEL))
    if burnt > MOST_BURNT:
        text = f"{burnt:.0%} of the picture is burnt out to white. Turn the flash off, or photograph out of the glare."
        warnings.append(Reason("photo-burnt", text))
    if black > MOST_BLACK:
        text = f"{black:.0%} of the picture is black. Bring a lamp, from the keel side of the lap if you can."
        warnings.append(Reason("photo-dark", text))
    blur = blur_px(pixels if pixels.ndim == 2 else cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY))
    if blur is None:
        text = "No sharp edge stands out in the picture. Focus on the lap, and hold still."
        warnings.append(Reason("photo-soft", text))
    elif blur > SOFT_PX:
        text = f"The picture is blurred by about {2 * blur:.0f} pixels. Focus on the lap, hold still, or use a support."
        warnings.append(Reason("photo-soft", text))
    return warnings


def _tiles(gray: np.ndarray) -> list[np.ndarray]:
    height, width = gray.shape
    tile_px = min(_TILE_PX, height, width)
    tops = np.linspace(0, height - tile_px, _TILES[0]).astype(int)
    lefts = np.linspace(0, width - tile_px, _TILES[1]).astype(int)
    return [gray[top : top + tile_px, left : left + tile_px] for top in tops for left in lefts]


def _tile_blur_px(tile: np.ndarray) -> float | None:
    fine = _slopes_blur_px(tile, *_FINE_PX)
    if fine is None or fine < _COARSE_FROM_PX:
        return fine
    return _slopes_blur_px(tile, *_COARSE_PX) or fine


def _slopes_blur_px(tile: np.ndarray, smooth_px: float, reblur_px: float) -> float | None:
    """Blur of the strongest edges of one tile, from the ratio of slopes before and after a further blur."""
    tone = tile.astype(np.float32)
    first = _slope(cv2.GaussianBlur(tone, (0, 0), smooth_px))[8:-8, 8:-8]
    again = _slope(cv2.GaussianBlur(tone, (0, 0), float(np.hypot(smooth_px, reblur_px))))[8:-8, 8:-8]
    floor = max(_LEAST_SLOPE, 6.0 * float(np.median(first)), 0.5 * float(np.quantile(first, 0.998)))
    strong = (first > floor) & (first >= cv2.dilate(first, np.ones((3, 3), np.uint8)))
    if np.count_nonzero(strong) < _FEWEST_EDGE_PX:
        return None
    ratio = float(np.median(first[strong] / np.maximum(again[strong], 1e-3)))
    total_px = reblur_px / np.sqrt(max(ratio**2 - 1.0, 1e-6))
    return float(np.sqrt(max(total_px**2 - smooth_px**2, 0.0)))


def _slope(tile: np.ndarray) -> np.ndarray:
    return np.hypot(cv2.Scharr(tile, cv2.CV_32F, 1, 0) / 32.0, cv2.Scharr(tile, cv2.CV_32F, 0, 1) / 32.0)
