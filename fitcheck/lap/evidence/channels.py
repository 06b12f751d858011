"""The cues that a strip gives: light and colour in every cell, each in units of this wood's own unevenness.

All are local and without dimension, so that a board, a camera or a light that was not in the training looks alike.
"""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.ground.spread import robust_spread

#: Added to amounts of light (0 to 1) before the logarithm, so that noise in the dark does not count as tone.
DARK = 0.004
#: Cues end at so many units: beyond that more is no more evidence.
MOST = 4.0
#: Rows and columns of the fine strip, for edge and line, and of the coarse one, for the lap's course.
FINE_MM, COARSE_MM = (0.15, 2.0), (0.5, 3.0)


def fine_channels(light: np.ndarray, seen: np.ndarray, face_width_mm: float, px_per_mm: float) -> np.ndarray:
    """Channels (8, R, C) float32 of a strip in which edge and line are looked for.

    ``light`` (R, C, 3) is amounts of blue, green and red, 0 to 1, in cells of :data:`FINE_MM`; ``seen`` (R, C) where
    wood is in sight. ``face_width_mm`` is how wide the edge face is expected to be seen there, ``px_per_mm`` how fine
    the picture is.
    """
    tone = _tone(light, seen)
    detail = (tone - _around(tone, seen, 5.0, 20.0)) * seen
    noise = _unevenness(detail, seen, lag=4, least=0.008)
    red, blue = _colours(light, seen, (0.06, 0.12), blur=True)
    constants = (face_width_mm / 6.0, px_per_mm / 5.0 - 0.7, float(np.log(noise / 0.03)))
    return _stacked([detail / (4.0 * noise), tone / 0.5, red, blue], seen, constants)


def coarse_channels(light: np.ndarray, seen: np.ndarray) -> np.ndarray:
    """Channels (7, R, C) float32 of all the wood around the reference, for the lap's course, in :data:`COARSE_MM`."""
    tone = _tone(light, seen)
    detail = (tone - _around(tone, seen, 6.0, 10.0)) * seen
    noise = _unevenness(detail, seen, lag=2, least=0.01)
    red, blue = _colours(light, seen, (0.08, 0.15), blur=False)
    stacked = _stacked([detail / (4.0 * noise), tone / 0.6, red, blue], seen, (0.0, float(np.log(noise / 0.03))))
    stacked[5] = _grain(tone) * seen
    return stacked


def _tone(light: np.ndarray, seen: np.ndarray) -> np.ndarray:
    tone = np.log(light.mean(axis=2) + DARK).astype(np.float32)
    middle = float(np.median(tone[seen])) if seen.any() else 0.0
    return np.where(seen, tone - middle, 0.0).astype(np.float32)


def _around(tone: np.ndarray, seen: np.ndarray, columns: float, rows: float) -> np.ndarray:
    """The tone around each cell, of what is seen there."""
    blurred = [cv2.GaussianBlur(one, (0, 0), sigmaX=columns, sigmaY=rows) for one in (tone, seen.astype(np.float32))]
    return np.asarray(blurred[0] / np.maximum(blurred[1], 1e-3))


def _unevenness(detail: np.ndarray, seen: np.ndarray, *, lag: int, least: float) -> float:
    """How much this wood's tone differs from row to row, standard deviation."""
    both = seen[lag:] & seen[:-lag]
    if not both.any():
        return 0.05
    return max(least, float(robust_spread((detail[lag:] - detail[:-lag])[both])) / 1.414)


def _colours(light: np.ndarray, seen: np.ndarray, scales: tuple[float, float], *, blur: bool) -> list[np.ndarray]:
    """Red and blue against green, about this picture's middle."""
    log = np.log(light + DARK).astype(np.float32)
    found = []
    for ratio, scale in ((log[..., 2] - log[..., 1], scales[0]), (log[..., 0] - log[..., 1], scales[1])):
        # A JPEG file keeps colour at half the size of lightness.
        smooth = cv2.GaussianBlur(ratio, (0, 0), sigmaX=0.8, sigmaY=1.2) if blur else ratio
        middle = float(np.median(smooth[seen])) if seen.any() else 0.0
        found.append((smooth - middle) / scale * seen)
    return found


def _grain(tone: np.ndarray) -> np.ndarray:
    """How much more the picture varies across than along (natural log): wood well above 0, a floor or a wall about."""
    across, along = (cv2.blur(np.abs(cv2.Sobel(tone, cv2.CV_32F, *way, ksize=3)), (9, 21)) for way in ((0, 1), (1, 0)))
    return np.clip(np.log((across + 0.01) / (along + 0.01)), -3.0, 3.0)


def _stacked(cues: list[np.ndarray], seen: np.ndarray, constants: tuple[float, ...]) -> np.ndarray:
    level = [np.full(seen.shape, one, np.float32) for one in constants]
    return np.stack([*(np.clip(one, -MOST, MOST) for one in cues), seen, *level]).astype(np.float32)
