"""The plank's edge along the strip, to a few hundredths of a millimetre.

Every window along the lap shows the same section: plank's face, eased corner, edge face, strake. So the windows are
aligned on their common profile, which averages the grain away, and the transitions are then placed once, in that
profile:
the place of each window is its own, what the profile means is common to all of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.paths import best_path
from fitcheck.lap.edge.edge_path import EdgePath
from fitcheck.lap.strip import Strip

WINDOW_MM, SPACING_MM = 10.0, 5.0
ABOVE_MM, BELOW_MM = 6.0, 4.0
FIT_MM = 1.6
SHIFT_MM = 1.2
ROUNDS = 3
#: A window shows the common profile if it correlates with it by this much, over a hand's breadth. Of an edge no more
#: than this share of windows (percent) may fall under the second figure.
LEAST_LIKENESS, AROUND_MM = 0.72, 30.0
STRAYS_PERCENT, STRAY_LIKENESS = 20.0, 0.62
NOISE = np.array([0.03, 0.012, 0.012], np.float32)


@dataclass(frozen=True)
class Aligned:
    """Windows along the lap aligned on their common profile.

    ``along_mm`` (N,) window centres; ``down_mm`` (N,) strip row of the profile's zero; ``u_mm`` (N,) its standard
    uncertainty from the picture; ``likeness`` (N,) correlation with the common profile, 0..1; ``seen`` (N,) share of
    the window in sight;
    ``across_mm`` (M,) and ``profile`` (M, 3) the common profile; ``windows`` (N, M, 3) each window's own, aligned.
    """

    along_mm: np.ndarray
    down_mm: np.ndarray
    u_mm: np.ndarray
    likeness: np.ndarray
    seen: np.ndarray
    across_mm: np.ndarray
    profile: np.ndarray
    windows: np.ndarray

    def unlike(self) -> np.ndarray:
        """Windows (N,) that do not show the common profile; all of them where it is common to too few.

        An edge shows one section along its whole length; a path that strays from it averages grain.
        """
        from scipy.ndimage import gaussian_filter1d

        seen = self.seen > 0.5
        if not seen.any() or np.percentile(self.likeness[seen], STRAYS_PERCENT) < STRAY_LIKENESS:
            return np.ones(len(seen), bool)
        likeness = np.interp(self.along_mm, self.along_mm[seen], self.likeness[seen])
        around = AROUND_MM / SPACING_MM
        return np.asarray(gaussian_filter1d(likeness, around, mode="nearest") < LEAST_LIKENESS)


def align(strip: Strip, tone: np.ndarray, path: EdgePath, width_mm: float, wider_mm: np.ndarray) -> Aligned:
    """Align windows of 10 mm each 5 mm on their common profile, starting from the rough path.

    ``width_mm`` is the distance between the outermost and innermost transition the profile must hold, ``wider_mm``
    (C,) how
    much wider it is seen at each column, where the hull twists: all windows are brought to the one width.
    """
    along = np.arange(strip.along_mm[0] + WINDOW_MM / 2, strip.along_mm[-1] - WINDOW_MM / 2, SPACING_MM)
    across = np.arange(-ABOVE_MM - max(width_mm, 0.0), max(width_mm, 0.0) + BELOW_MM, strip.row_mm)
    down = np.interp(along, path.along_mm, _smooth(path.down_mm, 9))
    inner = (across > -FIT_MM) & (across < max(width_mm, 0.0) + FIT_MM)
    moves = np.arange(-round(SHIFT_MM / strip.row_mm), round(SHIFT_MM / strip.row_mm) + 1)
    shifts = moves * strip.row_mm
    stretch = np.clip(across / max(width_mm, strip.row_mm), 0.0, 1.0)[:, None] * wider_mm[None, :]
    for _ in range(ROUNDS):
        windows, seen = _windows(strip, tone, along, down, across, stretch)
        profile = _common(windows, seen)
        likeness = _likeness(windows, profile, across, inner, moves)
        rows, _ = best_path(np.where(seen[:, None] > 0.5, likeness, 0.0).T * 20.0, reach=2, bend_cost=0.15)
        moved, peak, sharpness = _peaks(likeness, rows, shifts)
        down = _fair(along, down + moved, peak * (seen > 0.5))
    windows, seen = _windows(strip, tone, along, down, across, stretch)
    profile = _common(windows, seen)
    likeness = _likeness(windows, profile, across, inner, moves)
    moved, peak, sharpness = _peaks(likeness, np.full(len(along), len(moves) // 2), shifts)
    u_mm = _uncertainty(peak, sharpness, int(inner.sum()) * strip.row_mm)
    return Aligned(along, down + np.clip(moved, -0.3, 0.3), u_mm, peak, seen, across, profile, windows)


def _smooth(values: np.ndarray, size: int) -> np.ndarray:
    from scipy.ndimage import gaussian_filter1d, median_filter

    return np.asarray(gaussian_filter1d(median_filter(values, size, mode="nearest"), size / 3.0, mode="nearest"))


def _fair(along: np.ndarray, down: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """The windows' places faired as a planed edge lies: bends over 40 mm pass, single jumps do not."""
    from scipy.ndimage import gaussian_filter1d, median_filter

    weight = np.maximum(weight, 1e-3) ** 4
    steady = median_filter(down, 5, mode="nearest")
    weight = weight * np.where(np.abs(down - steady) < 0.25, 1.0, 0.02)
    total = gaussian_filter1d(weight * down, 1.5, mode="nearest")
    return np.asarray(total / gaussian_filter1d(weight, 1.5, mode="nearest"))


def _windows(
    strip: Strip, tone: np.ndarray, along: np.ndarray, down: np.ndarray, across: np.ndarray, stretch: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Each window's mean profile (N, M, 3) about ``down``, following the edge within the window, and its share in
    sight.

    ``stretch`` (M, C) is how much further down than ``across`` each row of the profile is read.
    """
    columns = np.arange(len(strip.along_mm))
    base = np.interp(strip.along_mm, along, down)
    rows = strip.rows(across[:, None] + stretch + base[None, :]).astype(np.float32)
    at = np.broadcast_to(columns.astype(np.float32), rows.shape)
    straight = cv2.remap(tone, np.ascontiguousarray(at), rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    near = np.clip(np.round(strip.rows(base)).astype(int), 0, len(strip.down_mm) - 1)
    sight = strip.seen[near, columns].astype(np.float32)
    wide = max(1, round(WINDOW_MM / strip.column_mm))
    total = cv2.boxFilter(straight * sight[None, :, None], -1, (wide, 1), normalize=False)
    count = cv2.boxFilter(sight[None, :], -1, (wide, 1), normalize=False)[0]
    centre = np.clip(np.round((along - strip.along_mm[0]) / strip.column_mm).astype(int), 0, len(columns) - 1)
    mean = total[:, centre] / np.maximum(count[centre], 1.0)[None, :, None]
    return np.moveaxis(mean, 1, 0), count[centre] / wide


def _common(windows: np.ndarray, seen: np.ndarray) -> np.ndarray:
    """The profile common to the windows in sight: each brought to the middle level, then the median."""
    good = windows[seen > 0.5] if (seen > 0.5).any() else windows
    level = good.mean(axis=1, keepdims=True)
    return np.asarray(np.median(good - level, axis=0) + np.median(level, axis=0))


def _likeness(
    windows: np.ndarray, profile: np.ndarray, across: np.ndarray, inner: np.ndarray, moves: np.ndarray
) -> np.ndarray:
    """Correlation (N, S) of each window with the common profile moved by each number of rows, free of level and
    slope."""
    at = np.flatnonzero(inner)
    free = np.linalg.qr(np.column_stack([np.ones(len(at)), across[at]]))[0]
    model = profile[at] / NOISE
    model -= free @ (free.T @ model)
    result = np.zeros((len(windows), len(moves)))
    for number, move in enumerate(moves):
        mine = windows[:, at + move] / NOISE
        mine = mine - np.matmul(free, np.matmul(free.T, mine))
        size = np.sqrt((mine**2).sum(axis=(1, 2)) * (model**2).sum() + 1e-9)
        result[:, number] = np.einsum("nic,ic->n", mine, model) / size
    return result


def _peaks(likeness: np.ndarray, rows: np.ndarray, shifts: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Sub-row peak near each start: its shift, its height and its curvature (per mm²)."""
    last = likeness.shape[1] - 2
    here = np.arange(len(likeness))
    at = np.clip(rows, 1, last)
    for _ in range(6):
        left, mid, right = likeness[here, at - 1], likeness[here, at], likeness[here, at + 1]
        at = np.clip(
            at + np.where(right > np.maximum(mid, left), 1, 0) - np.where(left > np.maximum(mid, right), 1, 0), 1, last
        )
    left, mid, right = likeness[here, at - 1], likeness[here, at], likeness[here, at + 1]
    bend = np.minimum(left - 2.0 * mid + right, -1e-6)
    step = shifts[1] - shifts[0]
    part = np.clip(0.5 * (left - right) / bend, -1.0, 1.0)
    return shifts[at] + part * step, mid, -bend / step**2


def _uncertainty(peak: np.ndarray, sharpness: np.ndarray, span_mm: float) -> np.ndarray:
    """From the correlation's curvature: neighbouring rows share blur and grain, so a millimetre counts as two
    samples."""
    samples = max(3.0, 2.0 * span_mm)
    unlike = np.maximum(1.0 - np.clip(peak, 0.05, 0.9999) ** 2, 1e-4)
    return np.sqrt(unlike / (np.clip(peak, 0.05, 1.0) * sharpness * samples))
