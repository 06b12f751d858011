"""Where a rule might lie: straight lines with evenly spaced marks close beside them.

Nothing on wood or hull repeats as graduations do, so the spectrum beside every straight line in the picture tells the
rule's edge from the plank's, whatever the rule's colour, and any piece of the edge will do.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

# Widths the picture is reduced to for finding lines, each with a blur there.
WORK_WIDTHS_PX = ((1300, 0.0), (480, 1.5))
LEAST_LENGTH = 0.035
MOST_LINES, MOST_WINDOWS = 400, 4
#: Marks are no further apart than this by much where they need their own band to be found.
DETAIL_PX = 4.0
WINDOW = 256
# Rows beside the line, in pixels of a picture 3000 wide; graduations are 2 to 10 mm long.
ROWS_PX = np.array([-14.0, -10.0, -7.0, -4.0, -2.0, 2.0, 4.0, 7.0, 10.0, 14.0])
SHORTEST_PERIOD_PX, LONGEST_PERIOD_PX = 2.3, 40.0
LEAST_SHARE = 0.35


@dataclass(frozen=True)
class Seed:
    """A piece of a line from ``a_px`` to ``b_px`` (2,) with marks each ``period_px`` in the row ``row_px`` beside it.

    ``row_px`` is + to the right of a to b as seen; ``share`` the part of that row's variance that the marks make up.
    """

    a_px: np.ndarray
    b_px: np.ndarray
    row_px: float
    period_px: float
    share: float


def graduated_lines(pixels_bgr: np.ndarray) -> list[Seed]:
    """Pieces of lines that look graduated, likeliest first, in an 8-bit (H, W, 3) picture.

    >>> picture = np.full((300, 900, 3), 120, np.uint8); picture[100:200] = 220
    >>> picture[100:125, 5::7] = 40
    >>> seeds = graduated_lines(cv2.GaussianBlur(picture, (0, 0), 1.0))
    >>> round(seeds[0].period_px), bool(92 < seeds[0].a_px[1] < 128)
    (7, True)
    """
    gray = cv2.cvtColor(pixels_bgr, cv2.COLOR_BGR2GRAY)
    lines = _lines(pixels_bgr)
    if not len(lines):
        return []
    of_line, middles = _windows(lines)
    along = lines[:, 1] - lines[:, 0]
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    rows_px = ROWS_PX * max(1.0, gray.shape[1] / 3000.0)
    share, cycles = _spectral_peaks(_read_rows(gray, middles, along[of_line], rows_px))
    # A peak of few cycles in the window is easily chance; neighbouring rows must agree with it.
    agree = np.minimum(np.abs(np.diff(cycles, axis=1, prepend=0)), np.abs(np.diff(cycles, axis=1, append=0))) <= 1
    worth = np.where(agree & (share > LEAST_SHARE), share * np.sqrt(np.minimum(cycles, 40) / 40.0), 0.0)
    best = worth.argmax(axis=1)
    each = np.arange(len(worth))
    seeds = []
    for window in np.argsort(-worth[each, best]):
        row = best[window]
        if worth[window, row] <= 0.0:
            break
        half = along[of_line[window]] * WINDOW / 2.0
        period = WINDOW / float(cycles[window, row])
        ends = middles[window] - half, middles[window] + half
        seeds.append(Seed(*ends, float(rows_px[row]), period, float(share[window, row])))
    return seeds


def _lines(pixels_bgr: np.ndarray) -> np.ndarray:
    """The longest straight line pieces (N, 2, 2) in full-size pixels, in lightness, in colour and in fine detail.

    Grey steel can be as light as the wood under it, never as brown; on grey paint only the band of marks itself
    stands out. The marks also break the rule's edge into teeth; at the smaller working width they are blurred together.
    """
    width = pixels_bgr.shape[1]
    found = [_fine_detail(pixels_bgr)]
    for width_px, blur_px in WORK_WIDTHS_PX:
        scale = min(1.0, width_px / width)
        small = cv2.resize(pixels_bgr, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        if blur_px:
            small = cv2.GaussianBlur(small, (0, 0), blur_px)
        lab = cv2.cvtColor(small, cv2.COLOR_BGR2LAB)
        yellowness = np.clip(3.0 * (lab[..., 2].astype(np.float32) - np.median(lab[..., 2])) + 128.0, 0, 255)
        found += [(_segments(channel) + 0.5) / scale - 0.5 for channel in (lab[..., 0], yellowness.astype(np.uint8))]
    lines = np.concatenate(found)
    length = np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1)
    order = np.argsort(-length)[:MOST_LINES]
    return np.asarray(lines[order][length[order] > LEAST_LENGTH * width])


def _fine_detail(pixels_bgr: np.ndarray) -> np.ndarray:
    """Line pieces along the rims of bands in which the light changes from pixel to pixel."""
    gray = cv2.cvtColor(pixels_bgr, cv2.COLOR_BGR2GRAY)
    scale = min(1.0, WORK_WIDTHS_PX[0][0] / gray.shape[1])
    detail = cv2.absdiff(gray, cv2.GaussianBlur(gray, (0, 0), DETAIL_PX))
    small = cv2.GaussianBlur(cv2.resize(detail, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), (0, 0), 2.0)
    stretched = np.clip(small.astype(np.float32) * (200.0 / max(1.0, float(np.percentile(small, 99.5)))), 0, 255)
    return (_segments(stretched.astype(np.uint8)) + 0.5) / scale - 0.5


def _segments(channel: np.ndarray) -> np.ndarray:
    found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_NONE).detect(np.ascontiguousarray(channel))[0]
    return np.empty((0, 2, 2)) if found is None else np.asarray(found, float).reshape(-1, 2, 2)


def _windows(lines: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which line (K,) each window lies on, and its middle (K, 2): up to four along a line."""
    of_line, middles = [], []
    for index, (a, b) in enumerate(lines):
        count = int(np.clip(np.linalg.norm(b - a) // WINDOW, 1, MOST_WINDOWS))
        for share in (np.arange(count) + 0.5) / count:
            of_line.append(index)
            middles.append(a + share * (b - a))
    return np.array(of_line), np.array(middles)


def _read_rows(gray: np.ndarray, middles: np.ndarray, along: np.ndarray, rows_px: np.ndarray) -> np.ndarray:
    """Levels (K, R, WINDOW) along rows beside each window; places outside the picture repeat its rim."""
    right = np.column_stack([-along[:, 1], along[:, 0]])
    at = np.arange(WINDOW) - (WINDOW - 1) / 2.0
    places = middles[:, None, None] + rows_px[:, None, None] * right[:, None, None] + at[:, None] * along[:, None, None]
    flat = places.reshape(-1, WINDOW, 2).astype(np.float32)
    read = [
        cv2.remap(gray, flat[start : start + 30000], None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for start in range(0, len(flat), 30000)
    ]
    return np.concatenate(read).astype(np.float32).reshape(len(middles), len(rows_px), WINDOW)


def _spectral_peaks(rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Share of the variance at the strongest period, and its cycles in the window, both (K, R)."""
    rows = rows - rows.mean(axis=2, keepdims=True)
    power = np.abs(np.fft.rfft(rows * np.hanning(WINDOW).astype(np.float32), axis=2)) ** 2
    power[:, :, : int(WINDOW / LONGEST_PERIOD_PX)] = 0.0
    power[:, :, int(WINDOW / SHORTEST_PERIOD_PX) + 1 :] = 0.0
    cycles = power.argmax(axis=2)
    peak = sum(np.take_along_axis(power, cycles[:, :, None] + step, 2)[..., 0] for step in (-1, 0, 1))
    return np.asarray(peak / (power.sum(axis=2) + 1e-9)), cycles
