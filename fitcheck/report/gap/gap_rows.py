"""The lap of an edge-on photograph in rows, straightened and magnified, with the edge and the slit as traced."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.contract.gap_measurement import GapMeasurement
from fitcheck.report.drawing.canvas import draw_line, draw_ribbon
from fitcheck.report.drawing.palette import BLACK, EDGE, LINE, WHITE
from fitcheck.report.gap.gap_stretch_style import GAP_LOOKS
from fitcheck.report.gap.gap_wording import gap_runs

#: So many pixels of the photograph to the sheer's and the keel's side of the corner, so many times as tall, in so many
#: rows.
ABOVE_PX, BELOW_PX, TALLER, ROWS = 16, 10, 2, 3
#: Edge and slit are drawn and left out in turn, both at once, so that the wood shows what was traced.
DASHES = 30


def traced(measurement: GapMeasurement) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places (N,) rising, the inner corner (N, 2) and the slit's other side (N, 2) in the picture.

    NaN where the lap is covered, and the slit's other side where no opening shows.
    """
    ordered = sorted(measurement.samples, key=lambda sample: sample.place_mm())
    places = np.array([sample.place_mm() for sample in ordered])
    edge = np.array([sample.edge_px for sample in ordered], float).reshape(-1, 2)
    none = (np.nan, np.nan)
    slit = np.array([sample.slit_px if sample.slit_px and sample.gap_mm else none for sample in ordered], float)
    seen = np.array([sample.state != "covered" for sample in ordered], bool)[:, None]
    return places, np.where(seen, edge, np.nan), np.where(seen, slit.reshape(-1, 2), np.nan)


def magnified(
    pixels: np.ndarray, measurement: GapMeasurement, corner_px: np.ndarray, away: np.ndarray, width: int, size: int
) -> np.ndarray:
    """The lap in rows from left to right, (H, width, 3) uint8 RGB: the plank above, its ribbon under each row.

    ``corner_px`` (N, 2) is the corner all along in the samples' order, under clamps too; ``away`` (2,) leads from it
    up the plank; ``size`` is the letters' height.
    """
    places, edge, slit = traced(measurement)
    order = np.argsort(corner_px[:, 0])
    places, corner, edge, slit = places[order], corner_px[order], edge[order], slit[order]
    count = int(corner[-1, 0] - corner[0, 0]) // ROWS
    zoom = width / max(count, 1)
    parts = []
    for row in range(ROWS):
        u = corner[0, 0] + row * count + np.arange(width) / zoom
        v = np.interp(u, corner[:, 0], corner[:, 1])
        off = np.arange(ABOVE_PX, -BELOW_PX, -1.0 / (TALLER * zoom))
        at = np.stack([u[None, :] + off[:, None] * away[0], v[None, :] + off[:, None] * away[1]], axis=-1)
        strip = cv2.remap(pixels, at.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        strip = np.ascontiguousarray(strip[..., ::-1])
        lined = strip.copy()
        for points, colour, casing in ((edge, EDGE, WHITE), (slit, LINE, BLACK)):
            draw_line(
                lined, _straight(points, corner, away, float(u[0]), zoom), colour, max(2, size // 24), casing=casing
            )
        drawn = (np.arange(width) * DASHES // width) % 2 == 0
        strip[:, drawn] = lined[:, drawn]
        bar = np.full((round(size * 0.55), width, 3), 255, np.uint8)
        _ribbons(bar, measurement, np.interp(u, corner[:, 0], places))
        parts += [strip, bar, np.full((max(2, size // 4), width, 3), 255, np.uint8)]
    return np.concatenate(parts)


def _straight(points: np.ndarray, corner: np.ndarray, away: np.ndarray, left_u: float, zoom: float) -> np.ndarray:
    """Points (N, 2) px of the photograph in a row that begins at ``left_u``.

    A point's own foot on the corner is where the way along ``away`` meets it.
    """
    up = (points[:, 1] - np.interp(points[:, 0], corner[:, 0], corner[:, 1])) / away[1]
    foot_u = points[:, 0] - up * away[0]
    for _ in range(3):
        up = (points[:, 1] - np.interp(foot_u, corner[:, 0], corner[:, 1])) / away[1]
        foot_u = points[:, 0] - up * away[0]
    return np.column_stack([(foot_u - left_u) * zoom, (ABOVE_PX - up) * TALLER * zoom])


def _ribbons(bar: np.ndarray, measurement: GapMeasurement, places: np.ndarray) -> None:
    for run in gap_runs(measurement.samples):
        inside = np.flatnonzero((places >= run.from_mm - 2.5) & (places <= run.to_mm + 2.5))
        if len(inside) > 1:
            ends = np.array([[inside[0], 2.0], [inside[-1], 2.0]])
            look = GAP_LOOKS[run.state]
            draw_ribbon(bar, ends, ends + np.array([0.0, bar.shape[0] - 5.0]), look.colour, look.hatch, 4)
