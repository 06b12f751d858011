"""A band of the photograph straightened along the plank's edge, in pixels: what slit and corners are read from.

Unlike the lap strip it is not cut in millimetres of the strake's face: seen edge-on these are squeezed to a third, and
a slit is a pixel or two wide.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.light import light_of_levels

#: A block is seen where the rows this near to the edge are.
NEAR_PX = 6.0
#: A card's rim and its shadow reach this far.
RIM_PX = 4.0
SLOPE_PX = 20.0


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
        return light_of_levels(grey)


def edge_line(points_px: np.ndarray, keelward: np.ndarray) -> EdgeLine:
    """The line through rough points (M, 2), resampled each pixel along; ``keelward`` (2,) tells its keel side.

    A lap is nearly straight in a photograph: the points are taken as offsets from the straight line through them, so
    that a rough path never doubles back on itself.
    """
    middle, along, across = _straight(points_px)
    at = (points_px - middle) @ along
    order = np.argsort(at)
    even = np.arange(at[order[0]], at[order[-1]], 1.0)
    off = np.interp(even, at[order], ((points_px - middle) @ across)[order])
    return _from_offsets(middle, along, across, even, off, keelward)


def smoothed(line: EdgeLine, over_px: float) -> EdgeLine:
    """The line made fair over about ``over_px``: a batten's, not a saw's."""
    from scipy.ndimage import gaussian_filter1d

    middle, along, across = _straight(line.at_px)
    at, off = (line.at_px - middle) @ along, (line.at_px - middle) @ across
    count = len(off)
    chord = np.linspace(off[0], off[-1], count)
    bow = np.pad(off - chord, count - 1, mode="reflect", reflect_type="odd")
    fair = gaussian_filter1d(bow, over_px)[count - 1 : 2 * count - 1] + chord
    return _from_offsets(middle, along, across, at, fair, line.keelward.mean(axis=0))


def _straight(points_px: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Middle, direction to the right and normal of the straight line through points (M, 2)."""
    middle = points_px.mean(axis=0)
    along = np.linalg.svd(points_px - middle, full_matrices=False)[2][0]
    along = along * (1.0 if along[0] >= 0 else -1.0)
    return middle, along, np.array([-along[1], along[0]])


def _from_offsets(
    middle: np.ndarray, along: np.ndarray, across: np.ndarray, at: np.ndarray, off: np.ndarray, keelward: np.ndarray
) -> EdgeLine:
    from scipy.ndimage import gaussian_filter1d

    slope = np.gradient(gaussian_filter1d(off, SLOPE_PX, mode="nearest"), at)
    normal = across[None, :] - slope[:, None] * along[None, :]
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    points = middle + at[:, None] * along + off[:, None] * across
    return EdgeLine(points, normal * np.sign(across @ keelward))


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


def clear_of(band: Band, line: EdgeLine, covers: tuple[np.ndarray, ...]) -> np.ndarray:
    """1 at cells (R, B) of the band that lie clear of the covers' outlines and their rims, else 0."""
    at = line.at_px[band.block] + band.at_px[:, None, None] * line.keelward[band.block]
    clear = np.ones(at.shape[:2], np.float32)
    for outline in covers:
        hull = outline.astype(np.float32)
        off = [cv2.pointPolygonTest(hull, (float(u), float(v)), True) for u, v in at.reshape(-1, 2)]
        clear[np.array(off).reshape(clear.shape) > -RIM_PX] = 0.0
    return clear
