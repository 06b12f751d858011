"""Where the lap runs: the long sharp boundary near the reference, found on a small straightened picture.

The plank's face ends at its outer corner in a sharp boundary along the whole lap, in any wood and light. A shadow on
the strake has a boundary
of its own, parallel to the edge, but the dark lies on its far side; the strake's own lower edge has no wood beyond
it, or no crease before it.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.paths import best_path
from fitcheck.ground.refusal import Refused
from fitcheck.lap.strip import Strip, cut_strip
from fitcheck.reference.pose import FacePose

COLUMN_MM, ROW_MM = 1.0, 0.5
REACH_ALONG_MM, REACH_ACROSS_MM = 600.0, 175.0
BLOCK = 4
FEWEST_COLUMNS_MM = 80.0
#: A place pointed at by hand is good to this; passing further off costs more than any path can gain.
POINTED_MM, FORBIDDEN = 4.0, 1e4


@dataclass(frozen=True)
class Boundary:
    """A long boundary on one side of the reference.

    ``y_mm`` (C,) over ``along_mm`` (C,) in the frame of the pose it was found in; ``strength`` in noise units;
    ``crease`` is how much darker the wood just on the reference's side is than further off (natural log), less the
    same on the far side: positive where the far side stands proud of the near one. ``grain`` tells how much more the
    picture beyond it
    varies across the lap than along it (natural log): wood well above 1, a floor or a wall about 0.
    """

    along_mm: np.ndarray
    y_mm: np.ndarray
    strength: float
    crease: float
    grain: float

    @property
    def off_mm(self) -> float:
        """Signed distance from the reference's centre."""
        return float(np.median(self.y_mm))


def lap_direction(pixels: np.ndarray, pose: FacePose, outlines_px: tuple[np.ndarray, ...], shrink: int) -> float:
    """Direction of the lap against the pose's x axis, in radians (-pi/2, pi/2], from the structure of the picture.

    Grain, edges and lines all run along the lap, so the gradients' dominant direction is square to it.
    """
    strip = small_strip(pixels, pose, outlines_px, shrink)
    tone = cv2.GaussianBlur(np.log(strip.values.mean(axis=2) + 8.0), (0, 0), 2.0)
    inner = cv2.erode(strip.seen.astype(np.uint8), np.ones((15, 15), np.uint8)) > 0
    if not inner.any():
        raise Refused(
            "reference-cut", "There is no wood in sight around the reference. Step back and photograph again."
        )
    along = cv2.Sobel(tone, cv2.CV_32F, 1, 0, ksize=3)[inner] / COLUMN_MM
    across = -cv2.Sobel(tone, cv2.CV_32F, 0, 1, ksize=3)[inner] / ROW_MM
    steepest = 0.5 * np.arctan2(2.0 * (along * across).sum(), (along**2).sum() - (across**2).sum())
    return float((steepest + np.pi) % np.pi - np.pi / 2)


def boundaries(
    pixels: np.ndarray,
    pose: FacePose,
    outlines_px: tuple[np.ndarray, ...],
    shrink: int,
    *,
    through_px: tuple[tuple[float, float], ...] = (),
    most: int = 6,
) -> list[Boundary]:
    """The strongest long boundaries on either side of the reference, strongest first.

    ``pose`` has its x axis along the lap. Where the builder pointed at places ``through_px`` on the edge, the one
    boundary through them.
    """
    strip = small_strip(pixels, pose, outlines_px, shrink)
    gain = _step_gain(strip)
    if through_px:
        _hold_to(gain, strip, pose.face_from_px(np.array(through_px)))
        most = 1
    across, along_lap = _variation(strip)
    for outline in outlines_px:
        _bar(gain, strip, pose.face_from_px(outline))
    found = []
    for _ in range(most):
        rows, strength = best_path(gain, reach=1, bend_cost=0.3)
        y = -strip.down_mm[rows]
        along = strip.along_mm[: len(rows) * BLOCK].reshape(-1, BLOCK).mean(axis=1)
        found.append(Boundary(along, y, strength, _crease(strip, rows), _grain(strip, rows, across, along_lap)))
        for column, row in enumerate(rows):
            cells = gain[max(0, row - 9) : row + 10, column]
            cells[cells > 0.0] = 0.0
    return found


def _hold_to(gain: np.ndarray, strip: Strip, places_mm: np.ndarray) -> None:
    """Let no path pass further than a few millimetres from the places (N, 2) pointed at."""
    for x, y in places_mm:
        column = int(np.clip((x - strip.along_mm[0]) / (COLUMN_MM * BLOCK), 0, gain.shape[1] - 1))
        gain[np.abs(strip.down_mm + y) > POINTED_MM, column] -= FORBIDDEN


def _bar(gain: np.ndarray, strip: Strip, outline_mm: np.ndarray) -> None:
    """Let no path run under a reference (M, 2): it lies flat on one strake, so no lap passes below it."""
    low, high = outline_mm.min(axis=0), outline_mm.max(axis=0)
    columns = np.round((np.array([low[0], high[0]]) - strip.along_mm[0]) / (COLUMN_MM * BLOCK)).astype(int)
    across = (-strip.down_mm > low[1]) & (-strip.down_mm < high[1])
    gain[across, max(0, columns[0]) : max(0, columns[1] + 1)] = -FORBIDDEN


def small_strip(pixels: np.ndarray, pose: FacePose, outlines_px: tuple[np.ndarray, ...], shrink: int) -> Strip:
    """All the wood in sight around the reference, straightened: cells of 1 mm along by 0.5 mm across."""
    low, high = _face_in_sight(pixels, pose, shrink)
    along = np.arange(low[0], high[0], COLUMN_MM)
    down = np.arange(-high[1], -low[1], ROW_MM)
    if len(along) < FEWEST_COLUMNS_MM / COLUMN_MM or len(down) < 40:
        raise Refused(
            "reference-cut", "Too little wood is in sight around the reference. Step back and photograph again."
        )
    return cut_strip(pixels, pose, along, np.zeros(len(along)), down, covers=outlines_px, shrink=shrink)


def _face_in_sight(pixels: np.ndarray, pose: FacePose, shrink: int) -> tuple[np.ndarray, np.ndarray]:
    height, width = pixels.shape[0] * shrink, pixels.shape[1] * shrink
    across, up = np.linspace(0, width - 1, 9), np.linspace(0, height - 1, 9)
    rim = [(u, v) for u in across for v in (0, height - 1)] + [(u, v) for v in up for u in (0, width - 1)]
    toward = pose.directions(np.array(rim))
    on_face = pose.face_from_px(np.array(rim))[toward[:, 2] < -0.05]
    reach = np.array([REACH_ALONG_MM, REACH_ACROSS_MM])
    return np.maximum(on_face.min(axis=0), -reach), np.minimum(on_face.max(axis=0), reach)


def _step_gain(strip: Strip) -> np.ndarray:
    """How far each cell is a step across the lap, in units of the picture's own noise, capped; blocks of columns."""
    tone = np.log(strip.values + 8.0)
    channels = (tone.mean(axis=2), tone[..., 2] - tone[..., 1], tone[..., 1] - tone[..., 0])
    # A card or clamp gives no step: its rim would outshine the lap.
    clear = cv2.erode(strip.seen.astype(np.uint8), np.ones((7, 5), np.uint8)) > 0
    squares = np.zeros(strip.seen.shape, np.float32)
    for channel, least in zip(channels, (0.02, 0.01, 0.01), strict=True):
        flat = cv2.blur(channel, (9, 3))
        step = np.zeros_like(flat)
        step[2:-2] = flat[4:] - flat[:-4]
        noise = max(least, float(np.median(np.abs(step[clear]))) / 0.6745) if clear.any() else least
        squares += (step / noise) ** 2
    gain = np.where(clear, np.minimum(np.sqrt(squares), 12.0), 0.0)
    columns = gain.shape[1] // BLOCK * BLOCK
    return np.asarray(gain[:, :columns].reshape(len(gain), -1, BLOCK).mean(axis=2))


def _crease(strip: Strip, rows: np.ndarray) -> float:
    """Darkening toward the boundary on the reference's side less that on the far side."""
    tone = np.log(strip.values.mean(axis=2) + 8.0)
    columns = np.arange(len(rows)) * BLOCK + BLOCK // 2
    toward = 1 if np.median(strip.down_mm[rows]) < 0 else -1

    def level(near_mm: float, far_mm: float) -> float:
        picks = []
        for off in np.arange(near_mm, far_mm, 1.0):
            at = rows + round(toward * off / ROW_MM)
            good = (at >= 0) & (at < len(tone))
            good[good] &= strip.seen[at[good], columns[good]]
            picks.append(tone[at[good], columns[good]])
        every = np.concatenate(picks)
        return float(np.median(every)) if len(every) > 5 * len(rows) / 2 else float("nan")

    # Seen from the keel side the edge face lies just beyond a boundary that follows the inner corner: no crease.
    darkening = (level(16, 28) - level(2, 7)) - (level(-28, -16) - max(level(-7, -2), level(-13, -8)))
    return darkening if np.isfinite(darkening) else 0.0


def _variation(strip: Strip) -> tuple[np.ndarray, np.ndarray]:
    """Squared change of tone across and along the lap in every cell; NaN out of sight."""
    tone = cv2.GaussianBlur(np.log(strip.values.mean(axis=2) + 8.0), (0, 0), 1.0)
    clear = cv2.erode(strip.seen.astype(np.uint8), np.ones((7, 5), np.uint8)) > 0
    across = np.where(clear, cv2.Sobel(tone, cv2.CV_32F, 0, 1, ksize=3) ** 2 / ROW_MM**2, np.nan)
    along = np.where(clear, cv2.Sobel(tone, cv2.CV_32F, 1, 0, ksize=3) ** 2 / COLUMN_MM**2, np.nan)
    return across, along


def _grain(strip: Strip, rows: np.ndarray, across: np.ndarray, along: np.ndarray) -> float:
    """How much the picture 6 to 40 mm beyond the boundary, seen from the reference, looks like wood grain."""
    columns = np.arange(len(rows)) * BLOCK + BLOCK // 2
    away = -1 if np.median(strip.down_mm[rows]) < 0 else 1
    sums = np.zeros(2)
    count = 0
    for off in np.arange(6.0, 40.0, 2.0):
        at = rows + round(away * off / ROW_MM)
        good = (at >= 0) & (at < len(across))
        pair = np.array([across[at[good], columns[good]], along[at[good], columns[good]]])
        pair = pair[:, np.isfinite(pair).all(axis=0)]
        sums += pair.sum(axis=1)
        count += pair.shape[1]
    return float(np.log((sums[0] + 1e-9) / (sums[1] + 1e-9))) if count > 2 * len(rows) else 0.0
