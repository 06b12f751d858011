"""The lap strip: the photograph straightened into a band along the lap, in mm, by one remap.

Columns run along the lap (``along_mm``), rows run down toward the keel from a base curve (``down_mm``). Everything
that looks at edge and line works on strips, never on the photograph.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.reference.pose import FacePose

NODE_COLUMNS, NODE_ROWS = 8, 16


@dataclass(frozen=True)
class Strip:
    """A straightened band of the photograph.

    ``values`` (R, C, 3) float32 BGR 0..255, rows by ``down_mm`` (R,), columns by ``along_mm`` (C,); ``base_y_mm`` (C,)
    is the face frame's y of row zero mm; ``seen`` (R, C) is False outside the picture and under a reference.
    """

    values: np.ndarray
    seen: np.ndarray
    along_mm: np.ndarray
    down_mm: np.ndarray
    base_y_mm: np.ndarray

    @property
    def row_mm(self) -> float:
        """Height of a row."""
        return float(self.down_mm[1] - self.down_mm[0])

    @property
    def column_mm(self) -> float:
        """Width of a column."""
        return float(self.along_mm[1] - self.along_mm[0])

    def y_mm(self, along_mm: np.ndarray, down_mm: np.ndarray) -> np.ndarray:
        """The face frame's y at places given by along and down."""
        return np.interp(along_mm, self.along_mm, self.base_y_mm) - np.asarray(down_mm)

    def rows(self, down_mm: np.ndarray) -> np.ndarray:
        """Fractional row numbers of places ``down_mm``."""
        return (np.asarray(down_mm) - self.down_mm[0]) / self.row_mm


def cut_strip(
    pixels: np.ndarray,
    pose: FacePose,
    along_mm: np.ndarray,
    base_y_mm: np.ndarray,
    down_mm: np.ndarray,
    *,
    covers: tuple[np.ndarray, ...] = (),
    shrink: int = 1,
) -> Strip:
    """Cut the strip out of a photograph.

    ``pixels`` (H, W, 3) BGR is the photograph, or, with ``shrink`` > 1, the photograph reduced by that whole factor.
    ``covers`` are outlines (M, 2) in full-size pixels that hide the wood (the references).
    """
    nodes = _node_pixels(pose, along_mm, base_y_mm, down_mm)
    place = _between_nodes(nodes, len(down_mm), len(along_mm))
    source = place if shrink == 1 else (place + 0.5) / shrink - 0.5
    interpolation = cv2.INTER_CUBIC if shrink == 1 else cv2.INTER_LINEAR
    values = cv2.remap(pixels, source, None, interpolation, borderMode=cv2.BORDER_REPLICATE).astype(np.float32)
    height, width = pixels.shape[0] * shrink, pixels.shape[1] * shrink
    u, v = place[..., 0], place[..., 1]
    seen = (u > 2) & (u < width - 3) & (v > 2) & (v < height - 3)
    for outline in covers:
        seen &= ~_inside(outline, pose, along_mm, base_y_mm, down_mm)
    return Strip(values, seen, along_mm, down_mm, base_y_mm)


def _node_pixels(pose: FacePose, along_mm: np.ndarray, base_y_mm: np.ndarray, down_mm: np.ndarray) -> np.ndarray:
    """Pixels of every eighth column and sixteenth row; lens and perspective are smooth between them."""
    columns = np.arange(0, len(along_mm) + NODE_COLUMNS, NODE_COLUMNS)
    rows = np.arange(0, len(down_mm) + NODE_ROWS, NODE_ROWS)
    step_x, step_y = along_mm[1] - along_mm[0], down_mm[1] - down_mm[0]
    x = along_mm[0] + columns * step_x
    base = np.interp(x, along_mm, base_y_mm)
    down = down_mm[0] + rows * step_y
    points = np.zeros((len(rows), len(columns), 3))
    points[..., 0] = x
    points[..., 1] = base - down[:, None]
    return pose.px_from_face(points.reshape(-1, 3)).reshape(len(rows), len(columns), 2)


def _between_nodes(nodes: np.ndarray, rows: int, columns: int) -> np.ndarray:
    """Pixels (rows, columns, 2) float32 of every cell, linear between the nodes."""
    # By matrices, not by OpenCV's remap, which keeps only five bits of a fraction: too coarse for a map of a map.
    across = _linear_weights(columns, nodes.shape[1], NODE_COLUMNS)
    down = _linear_weights(rows, nodes.shape[0], NODE_ROWS)
    # The places are taken from the middle, so that single precision leaves a ten-thousandth of a pixel.
    middle = nodes.reshape(-1, 2).mean(axis=0)
    place = np.empty((rows, columns, 2), np.float32)
    for axis in range(2):
        place[..., axis] = down @ ((nodes[..., axis] - middle[axis]).astype(np.float32) @ across.T) + middle[axis]
    return place


def _linear_weights(cells: int, nodes: int, spacing: int) -> np.ndarray:
    """Weights (cells, nodes) that interpolate linearly between nodes ``spacing`` cells apart."""
    at = np.arange(cells) / spacing
    low = at.astype(int)
    weights = np.zeros((cells, nodes), np.float32)
    weights[np.arange(cells), low] = 1.0 - (at - low)
    weights[np.arange(cells), low + 1] = at - low
    return weights


def _inside(
    outline_px: np.ndarray, pose: FacePose, along_mm: np.ndarray, base_y_mm: np.ndarray, down_mm: np.ndarray
) -> np.ndarray:
    """Which cells lie under an outline, with 3 mm around it for its rim and its own shadow."""
    on_face = pose.face_from_px(outline_px)
    column = (on_face[:, 0] - along_mm[0]) / (along_mm[1] - along_mm[0])
    row = (np.interp(on_face[:, 0], along_mm, base_y_mm) - on_face[:, 1] - down_mm[0]) / (down_mm[1] - down_mm[0])
    mask = np.zeros((len(down_mm), len(along_mm)), np.uint8)
    cv2.fillPoly(mask, [np.round(np.column_stack([column, row])).astype(np.int32)], (1,))
    grow = [1 + 2 * int(3.0 / abs(axis[1] - axis[0])) for axis in (along_mm, down_mm)]
    return cv2.dilate(mask, np.ones((grow[1], grow[0]), np.uint8)) > 0
