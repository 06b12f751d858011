"""Each mark of a rule: its centre line to a fraction of a pixel, and how long it is.

The rule is cut out as a straight strip, eight columns to a division, so that every mark stands in its own small window.
The mean of all windows is what a mark looks like through this lens; each window is then that mark, a little moved.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.runs import runs
from fitcheck.ground.spread import robust_spread
from fitcheck.reference.rule.rule_pose import RulePlane
from fitcheck.reference.sides.steps import linear_light

COLUMNS = 8
#: A row shows a mark where its contrast there is at least this much of the usual.
PRESENT = 0.5
LEAST_ROWS = 4
#: In so many pieces along the rule the marks are looked at to tell how they run.
PIECES, LEAST_PIECES, LEAST_SEEN = 8, 4, 24


@dataclass(frozen=True)
class Strip:
    """The rule cut out straight: ``light`` (R, T * COLUMNS), mark number ``first`` + t in the middle of window t.

    ``heights`` (R,) are the rows' places across the rule in divisions, falling, about a pixel apart, over the line of
    height ``along[0] + along[1] * number``.
    """

    light: np.ndarray
    heights: np.ndarray
    first: int
    along: tuple[float, float] = (0.0, 0.0)

    def evened(self) -> Strip:
        """The strip less its mean over one division about each column, which no row of marks changes.

        A shadow's or a reflection's slope of light would else pull every mark its way.
        """
        division = np.ones((1, COLUMNS + 1)) / COLUMNS
        division[0, [0, -1]] /= 2.0
        return replace(self, light=self.light - cv2.filter2D(self.light, -1, division, borderType=cv2.BORDER_REFLECT))

    def windows(self) -> np.ndarray:
        """Light (R, T, COLUMNS)."""
        return self.light.reshape(len(self.heights), -1, COLUMNS)


@dataclass(frozen=True)
class Marks:
    """The marks of one rule, in divisions on its plane.

    ``number`` (T,) counts them; ``contrast`` (R, T) tells where each shows, 1 the usual; ``offset`` (R, T) how far
    right of its number it lies in each row; ``u_row`` the scatter of that in one row. ``band`` are the rows (first,
    last) in which every mark shows, ``heights`` (R,) as in the strip, ``shown`` (T,) whether the mark is in sight.
    """

    number: np.ndarray
    contrast: np.ndarray
    offset: np.ndarray
    u_row: float
    band: tuple[int, int]
    heights: np.ndarray
    shown: np.ndarray
    along: tuple[float, float]

    def middles(self) -> np.ndarray:
        """Height (T,) of the middle of the band at each mark."""
        return self._raised(float(self.heights[sum(self.band) // 2]))

    def _raised(self, height: float) -> np.ndarray:
        return np.asarray(height + self.along[0] + self.along[1] * self.number)

    def slant(self) -> tuple[float, float]:
        """The middle of the marks as a line of heights over numbers: its height at 0 and its slope, in divisions."""
        seen = np.flatnonzero(self.shown)
        at, middles = [], []
        for piece in np.array_split(np.arange(seen[0], seen[-1] + 1), PIECES) if len(seen) > LEAST_SEEN else ():
            # Not only marks shown count: where the row leaves them, none is.
            run = _longest_run(np.percentile(self.contrast[:, piece], 40, axis=1) > PRESENT)
            if run is not None:
                at.append(float(self.number[piece].mean()))
                middles.append(float(self.heights[list(run)].mean()))
        if len(at) < LEAST_PIECES:
            return float(self.heights[sum(self.band) // 2]), 0.0
        x, y = np.array(at), np.array(middles)
        one, other = np.triu_indices(len(x), 1)
        # The median of the slopes from piece to piece (Sen 1968): a numeral or a clamp may spoil a piece.
        slope = float(np.median((y[other] - y[one]) / (x[other] - x[one])))
        return float(np.median(y - slope * x)), slope

    def lengths(self, upward: bool) -> np.ndarray:
        """Length (T,) in divisions of each mark from the middle of the band, up or down; NaN where not in sight."""
        middle = sum(self.band) // 2
        smooth = cv2.blur(self.contrast.astype(np.float32), (1, 3))
        rows = smooth[middle::-1] if upward else smooth[middle:]
        gone = rows < PRESENT
        # One faint row does not end a mark, two do.
        ends = gone[:-1] & gone[1:]
        length = np.where(ends.any(axis=0), ends.argmax(axis=0), len(rows)).astype(float)
        return np.asarray(np.where(self.shown, length * float(self.heights[0] - self.heights[1]), np.nan))

    def segments(self, lengths_up: np.ndarray, lengths_down: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Marks fitted (K,), their ends (K, 2, 2) as (x, y) and the ends' uncertainty (K, 2), in divisions."""
        middle = self.heights[sum(self.band) // 2]
        row = float(self.heights[0] - self.heights[1])
        kept, ends, spreads = [], [], []
        for index in np.flatnonzero(self.shown):
            inside = (self.heights < middle + lengths_up[index] - 1.5 * row) & (
                self.heights > middle - lengths_down[index] + 1.5 * row
            )
            good = inside & (np.abs(self.contrast[:, index] - 1.0) < 0.7) & (np.abs(self.offset[:, index]) < 0.35)
            if good.sum() < LEAST_ROWS:
                continue
            at, off = self.heights[good], self.offset[good, index]
            slope, level = np.polyfit(at - at.mean(), off, 1) if good.sum() > LEAST_ROWS else (0.0, off.mean())
            span = np.array([at.max(), at.min()])
            kept.append(index)
            ends.append(
                np.column_stack(
                    [
                        self.number[index] + level + slope * (span - at.mean()),
                        span + self.along[0] + self.along[1] * self.number[index],
                    ]
                )
            )
            # Levels and ends of a straight fit: four times the variance of the mean at either end.
            spreads.append(np.full(2, 2.0 * self.u_row / np.sqrt(good.sum())))
        return np.array(kept, int), np.array(ends).reshape(-1, 2, 2), np.array(spreads).reshape(-1, 2)


def cut_strip(
    gray: np.ndarray,
    camera: Camera,
    plane: RulePlane,
    marks: tuple[int, int],
    heights: tuple[float, float],
    row: float,
    along: tuple[float, float],
) -> Strip:
    """The strip from mark to mark and from the upper to the lower of ``heights``, rows ``row`` apart (divisions).

    Heights count from the line of height ``along[0] + along[1] * number``; columns stay along the marks.
    """
    number = np.arange(marks[0], marks[1] + 1)
    y = np.arange(heights[0], heights[1], -row)
    grid = np.stack(np.meshgrid(np.append(number, marks[1] + 1) - 0.5, y), axis=2)
    grid[..., 1] += along[0] + along[1] * grid[..., 0]
    edges = px_of(plane, camera, grid.reshape(-1, 2)).reshape(grid.shape)[:, :, None]
    # Within one division the picture is straight to a thousandth of a pixel.
    share = ((np.arange(COLUMNS) + 0.5) / COLUMNS)[:, None]
    places = edges[:, :-1] * (1.0 - share) + edges[:, 1:] * share
    return Strip(_sampled(gray, places.reshape(len(y), -1, 2)), y, int(number[0]), along)


def _sampled(gray: np.ndarray, places_px: np.ndarray) -> np.ndarray:
    """Amounts of light (R, C) at places (R, C, 2) of an 8-bit picture, by a windowed sinc over 8 pixels.

    Marks two or three pixels apart are more than straight lines between pixels can follow: how far these pull a mark
    hangs on where it falls on the pixels, and that goes alike over many marks.
    """
    limit = np.array([gray.shape[1], gray.shape[0]])
    low = np.clip(np.floor(places_px.min(axis=(0, 1))).astype(int) - 4, 0, limit - 1)
    high = np.clip(np.ceil(places_px.max(axis=(0, 1))).astype(int) + 5, low + 1, limit)
    light = linear_light(gray[low[1] : high[1], low[0] : high[0]])
    at = (places_px - low).astype(np.float32)
    return np.asarray(
        cv2.remap(light, at[..., 0], at[..., 1], cv2.INTER_LANCZOS4, borderMode=cv2.BORDER_REPLICATE), float
    )


def px_of(plane: RulePlane, camera: Camera, points: np.ndarray) -> np.ndarray:
    """Pixels (N, 2) of points (N, 2) on the rule, in the plane's own units."""
    seen = plane.seen(points)
    return np.asarray(camera.project(np.column_stack([seen, np.ones(len(seen))])))


def read_marks(strip: Strip, rows: tuple[int, int], sure: np.ndarray) -> Marks | None:
    """The marks in a strip; in ``rows`` (first, last) the windows ``sure`` (T,) are known to hold marks.

    None where their mean shows no mark.
    """
    windows = strip.evened().windows()
    clear = np.arange(rows[0], rows[1])
    for _ in range(2):
        # Some of the rows given may lie beyond the marks' ends; the second time only those that show them well count.
        shape = np.median(windows[clear][:, sure], axis=(0, 1))
        shape -= shape.mean()
        if not np.abs(shape).max() > 1e-6:
            return None
        solved = windows @ np.linalg.pinv(np.column_stack([np.ones(COLUMNS), shape, _slope(shape)])).T
        contrast = solved[..., 1]
        level = np.median(contrast[:, sure], axis=1)
        clear = clear[level[clear] > 0.75 * level[clear].max()]
    with np.errstate(divide="ignore", invalid="ignore"):
        offset = -solved[..., 2] / np.where(np.abs(contrast) < 0.2, np.nan, contrast)
    offset = np.nan_to_num(offset, nan=1.0)
    band = _full_band(level, int(np.median(clear)))
    inside = slice(band[0], band[1] + 1)
    shown = np.median(contrast[inside], axis=0) > PRESENT
    steady = np.diff(offset[inside][:, shown], axis=0)
    u_row = float(robust_spread(steady - np.median(steady))) / np.sqrt(2.0) if steady.size else 0.1
    number = strip.first + np.arange(windows.shape[1])
    return Marks(
        number=number,
        contrast=contrast,
        offset=offset,
        u_row=u_row,
        band=band,
        heights=strip.heights,
        shown=shown,
        along=strip.along,
    )


def _longest_run(present: np.ndarray) -> tuple[int, int] | None:
    """The first and the last of the longest run of rows (R,) that are present; None where none is."""
    longest = max(runs(present), key=lambda run: run.stop - run.start, default=None)
    return None if longest is None else (longest.start, longest.stop - 1)


def _slope(shape: np.ndarray) -> np.ndarray:
    """Derivative by x in divisions of a window that repeats itself."""
    return np.asarray((np.roll(shape, -1) - np.roll(shape, 1)) / (2.0 / COLUMNS))


def _full_band(level: np.ndarray, row: int) -> tuple[int, int]:
    """The rows about ``row`` in which half the marks or more show well."""
    low = high = row
    while low > 0 and level[low - 1] > PRESENT:
        low -= 1
    while high < len(level) - 1 and level[high + 1] > PRESENT:
        high += 1
    return low, high
