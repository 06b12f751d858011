"""How wide a slit the wood's own grain can feign: looked for where no slit can be, on the strake beside the edge."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.lap.edge_on_band import Band
from fitcheck.lap.slit.slit_model import Rows, shapes

SMALL_PX = 0.4
HALF_WINDOW_PX = 8
AROUND_BLOCKS = 5


def wood_px(beside: Band, blur_px: float, slant: float) -> np.ndarray:
    """The root mean square (B,) of the slits read on rows of the strake clear of the edge, in pixels."""
    local = np.arange(-HALF_WINDOW_PX + 1.0, HALF_WINDOW_PX + 1.0)
    rows = Rows(local, blur_px, slant, 1.0, 1.0)
    closed, open_ = shapes(rows, np.zeros(1), np.array([0.0, SMALL_PX]), deepness=1.4, shadow_px=0.0)[:, 0]
    slit = (open_[:, 2] - closed[:, 2]) / SMALL_PX
    reading = np.linalg.pinv(np.column_stack([closed, slit]))[-1]
    light = beside.light
    level = np.quantile(light, 0.75, axis=0)
    read = [reading @ light[top : top + len(local)] for top in range(len(light) - len(local))]
    mean_square = (np.array(read) ** 2).mean(axis=0) / np.maximum(level, 1e-3) ** 2
    return np.sqrt(cv2.blur(mean_square[None].astype(np.float32), (AROUND_BLOCKS, 1))[0]).astype(float)
