"""A band of the photograph straightened along the plank's edge, in pixels: what slit and corners are read from.

Unlike the lap strip it is not cut in millimetres of the strake's face: seen edge-on these are squeezed to a third, and
a slit is a pixel or two wide.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

#: A file stores nearly this root of the light (the sRGB curve, IEC 61966-2-1); the lens mixes slits in light.
GAMMA = 2.2
#: A block is seen where the rows this near to the edge are.
NEAR_PX = 6.0


@dataclass(frozen=True)
class EdgeLine:
    """The edge in the picture: points ``at_px`` (N, 2) a pixel apart, and unit normals (N, 2) toward the keel."""

    at_px: np.ndarray
    keelward: np.ndarray

    def moved(self, off_px: np.ndarray) -> EdgeLine:
        """The line moved by ``off_px`` (N,) toward the keel."""
        return edge_line(self.at_px + off_px[:, None] * self.keelward, self.keelward.mean(axis=0))


@dataclass(frozen=True)
class Band:
    """``values`` (R, B, 3) BGR 0..255, the mean of each block; ``at_px`` (R,) toward the keel of the line;
    ``block`` (B,) the number of the line's point in the block's middle; ``seen`` (B,)."""

    values: np.ndarray
    at_px: np.ndarray
    block: np.ndarray
    seen: np.ndarray

    @property
    def light(self) -> np.ndarray:
        """Amounts of light (R, B), 0..1, from the lightness the file stores at full size."""
        grey = self.values @ np.array([0.114, 0.587, 0.299])
        return np.asarray((grey / 255.0) ** GAMMA)


def edge_line(points_px: np.ndarray, keelward: np.ndarray) -> EdgeLine:
    """The line through rough points (M, 2) in order, resampled each pixel; ``keelward`` (2,) tells its keel side."""
    steps = np.linalg.norm(np.diff(points_px, axis=0), axis=1)
    length = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.arange(0.0, length[-1], 1.0)
    line = np.column_stack([np.interp(at, length, points_px[:, axis]) for axis in range(2)])
    slope = np.gradient(line, axis=0)
    normal = np.column_stack([-slope[:, 1], slope[:, 0]])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    return EdgeLine(line, normal * np.sign(normal.mean(axis=0) @ keelward))


def smoothed(line: EdgeLine, over_px: float) -> EdgeLine:
    """The line made fair over about ``over_px``: a batten's, not a saw's."""
    from scipy.ndimage import gaussian_filter1d

    chord = np.linspace(0.0, 1.0, len(line.at_px))[:, None]
    straight = line.at_px[0] + chord * (line.at_px[-1] - line.at_px[0])
    off = np.pad(line.at_px - straight, ((len(chord) - 1, len(chord) - 1), (0, 0)), mode="reflect", reflect_type="odd")
    fair = gaussian_filter1d(off, over_px, axis=0)[len(chord) - 1 : 2 * len(chord) - 1]
    return edge_line(straight + fair, line.keelward.mean(axis=0))


def cut_band(
    pixels: np.ndarray, line: EdgeLine, rows_px: np.ndarray, block_px: int, covers: tuple[np.ndarray, ...] = ()
) -> Band:
    """Cut the band out of a photograph (H, W, 3) BGR; ``covers`` are outlines (M, 2) in pixels that hide the wood."""
    count = len(line.at_px) // block_px
    columns = np.arange(count * block_px)
    place = line.at_px[None, columns] + rows_px[:, None, None] * line.keelward[None, columns]
    place = np.ascontiguousarray(place, np.float32)
    values = cv2.remap(pixels, place, None, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE).astype(np.float32)
    values = values.reshape(len(rows_px), count, block_px, 3).mean(axis=2)
    near = np.abs(rows_px) <= max(NEAR_PX, float(np.abs(rows_px).min()))
    seen = _in_sight(place[near], pixels.shape[1::-1], covers)
    middle = np.arange(count) * block_px + block_px // 2
    return Band(values, rows_px, middle, seen.reshape(count, block_px).mean(axis=1) > 0.5)


def _in_sight(place: np.ndarray, size_px: tuple[int, ...], covers: tuple[np.ndarray, ...]) -> np.ndarray:
    """Which columns (C,) of places (R, C, 2) lie in the picture and clear of the covers."""
    inside = np.asarray((place >= 1) & (place <= np.array(size_px) - 2)).all(axis=(0, 2))
    at = np.clip(np.round(place).astype(int), 0, np.array(size_px) - 1)
    for outline in covers:
        mask = np.zeros((size_px[1], size_px[0]), np.uint8)
        cv2.fillPoly(mask, [np.round(outline).astype(np.int32)], (1,))
        inside &= ~(mask[at[..., 1], at[..., 0]] > 0).any(axis=0)
    return np.asarray(inside)
