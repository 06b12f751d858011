"""The width of a dark seam between two faces of wood seen face-on, block by block along it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.lap.edge_on_band import Band

FINE_PX = 0.05
#: How light the bottom of a seam may be, over the wood beside it, and the chance of each.
FLOORS = ((0.08, 0.4), (0.2, 0.35), (0.4, 0.25))
CAUTION = 2.0
LEAST_NOISE = 0.01
#: What a closed seam is worth beforehand, as a share of all widths tried.
CLOSED_SHARE = 0.5
HALF_WINDOW_PX = 9


@dataclass(frozen=True)
class SeamWidths:
    """``width_px`` (B,) with ``u_px`` (B,); ``middle_px`` (B,) off the line; ``wood_px`` (B,) what grain can feign."""

    width_px: np.ndarray
    u_px: np.ndarray
    middle_px: np.ndarray
    wood_px: np.ndarray


def seam_widths(band: Band, blur_px: float, widest_px: float, reach_px: float) -> SeamWidths:
    """Fit a dark bar in every block of a band about the seam, within ``reach_px`` of the line.

    Both woods have a level and a slope of their own; the bar takes its light from both.
    """
    light = band.light
    data = light / np.maximum(np.quantile(light, 0.75, axis=0), 1e-3)
    middles = np.arange(-reach_px, reach_px + 0.1, 0.25)
    widths = np.concatenate([np.arange(0.0, 1.2, 0.1), np.arange(1.2, max(widest_px, 2.0) + 0.2, 0.2)])
    left = [_left(data, seam_shapes(band.at_px, middles, widths, blur_px, floor)) for floor, _ in FLOORS]
    least = np.min([one.min(axis=(0, 1)) for one in left], axis=0) / max(len(band.at_px) - 6, 1)
    noise = np.maximum(np.sqrt(least), max(float(np.median(np.sqrt(least))), LEAST_NOISE))
    beforehand = np.gradient(widths)
    beforehand[0] = CLOSED_SHARE * widest_px
    chance = np.zeros_like(left[0])
    for one, (_, part) in zip(left, FLOORS, strict=True):
        chance += part * np.exp(-(one - one.min(axis=(0, 1))) / (2.0 * CAUTION * noise**2))
    chance = chance * beforehand[:, None, None]
    chance /= chance.sum(axis=(0, 1))
    of_width, of_middle = chance.sum(axis=1), chance.sum(axis=0)
    mean = widths @ of_width
    spread = np.sqrt(np.maximum((widths**2) @ of_width - mean**2, 0.0))
    width = np.where(of_width[0] >= 0.5, 0.0, mean)
    return SeamWidths(width, spread, middles @ of_middle, _wood_px(band, blur_px))


def seam_shapes(
    at_px: np.ndarray, middles_px: np.ndarray, widths_px: np.ndarray, blur_px: float, floor: float
) -> np.ndarray:
    """Shapes (W, M, R, 4): level and slope of the wood on either side, with a bar of ``floor`` light between."""
    from scipy.ndimage import gaussian_filter1d

    pad = 4.0 * blur_px + 1.0
    low, high = at_px[0] - middles_px.max() - pad, at_px[-1] - middles_px.min() + pad
    fine = np.arange(np.floor(low / FINE_PX), np.ceil(high / FINE_PX)) * FINE_PX
    pick = np.round((at_px[None, :] - middles_px[:, None] - fine[0]) / FINE_PX).astype(int)
    found = np.empty((len(widths_px), len(middles_px), len(at_px), 4))
    for number, width in enumerate(widths_px):
        one = np.clip((-width / 2.0 - fine) / FINE_PX + 0.5, 0.0, 1.0)
        other = np.clip((fine - width / 2.0) / FINE_PX + 0.5, 0.0, 1.0)
        bar = floor * (1.0 - one - other) / 2.0
        sharp = np.stack([one + bar, one * fine, other + bar, other * fine])
        found[number] = np.moveaxis(gaussian_filter1d(sharp, blur_px / FINE_PX, axis=1)[:, pick], 0, -1)
    return found


def _left(data: np.ndarray, basis: np.ndarray) -> np.ndarray:
    """Sum of squares (W, M, B) that the best levels leave."""
    wide, middles, rows, levels = basis.shape
    square = np.linalg.qr(basis.reshape(-1, rows, levels))[0]
    told = (np.matmul(square.transpose(0, 2, 1), data) ** 2).sum(axis=1)
    return np.maximum((data**2).sum(axis=0) - told, 0.0).reshape(wide, middles, -1)


def _wood_px(band: Band, blur_px: float) -> np.ndarray:
    """The root mean square (B,) of the seams read on rows clear of the line on both sides."""
    local = np.arange(-HALF_WINDOW_PX, HALF_WINDOW_PX + 1.0)
    closed, open_ = seam_shapes(local, np.zeros(1), np.array([0.0, 0.4]), blur_px, FLOORS[1][0])[:, 0]
    bar = (open_ - closed).sum(axis=1) / 0.4
    reading = np.linalg.pinv(np.column_stack([closed, bar]))[-1]
    light, clear = band.light, np.abs(band.at_px) > 2.0 * HALF_WINDOW_PX
    tops = [top for top in range(len(light) - len(local)) if clear[top : top + len(local)].all()]
    if not tops:
        return np.zeros(light.shape[1])
    read = np.array([reading @ light[top : top + len(local)] for top in tops])
    square = (read**2).mean(axis=0) / np.maximum(np.quantile(light, 0.75, axis=0), 1e-3) ** 2
    return np.sqrt(cv2.blur(square[None].astype(np.float32), (5, 1))[0]).astype(float)
