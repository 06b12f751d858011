"""A band of the strip straightened along the edge: rows count from the edge, so a line that runs fair with it lies
nearly level."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.lap.strip import Strip

ROW_MM = 0.06


@dataclass(frozen=True)
class Band:
    """``tone`` (R, C) log lightness; ``off_mm`` (R,) distance toward the keel from ``edge_mm`` (C,), the strip row of
    the edge."""

    tone: np.ndarray
    off_mm: np.ndarray
    edge_mm: np.ndarray
    along_mm: np.ndarray
    seen: np.ndarray


def cut_band(strip: Strip, lightness: np.ndarray, edge_mm: np.ndarray, low_mm: float, high_mm: float) -> Band:
    """The band from ``low_mm`` to ``high_mm`` below the edge. ``lightness`` (R, C) is the strip's log lightness."""
    off = np.arange(low_mm, high_mm, ROW_MM)
    rows = strip.rows(off[:, None] + edge_mm[None, :]).astype(np.float32)
    columns = np.ascontiguousarray(np.broadcast_to(np.arange(len(edge_mm), dtype=np.float32), rows.shape))
    tone = cv2.remap(lightness, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = (rows >= 0) & (rows <= len(strip.down_mm) - 1)
    nearest = np.clip(np.round(rows), 0, len(strip.down_mm) - 1).astype(int)
    seen = inside & strip.seen[nearest, columns.astype(int)]
    return Band(tone, off, edge_mm, strip.along_mm, seen)


def along_path(band: Band, blocks_mm: np.ndarray, off_mm: np.ndarray, across_mm: np.ndarray) -> np.ndarray:
    """The band's tone (M, C) at ``across_mm`` (M,) about a path ``off_mm`` (B,) at ``blocks_mm`` (B,)."""
    path = np.interp(band.along_mm, blocks_mm, off_mm)
    rows = ((across_mm[:, None] + path[None, :] - band.off_mm[0]) / ROW_MM).astype(np.float32)
    columns = np.ascontiguousarray(np.broadcast_to(np.arange(len(path), dtype=np.float32), rows.shape))
    return np.asarray(cv2.remap(band.tone, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))


def seen_along(band: Band, blocks_mm: np.ndarray, off_mm: np.ndarray) -> np.ndarray:
    """Where a path (as in :func:`along_path`) is in sight, at every column (C,)."""
    path = np.interp(band.along_mm, blocks_mm, off_mm)
    rows = np.clip(np.round((path - band.off_mm[0]) / ROW_MM).astype(int), 0, len(band.off_mm) - 1)
    return np.asarray(band.seen[rows, np.arange(len(path))])
