"""Evenly spaced marks along a straight line seen in perspective: their count as a smooth function of place.

A row of marks is a carrier wave. Its frequency is followed window by window from where it is clearest; seen in
perspective the count at place s is projective, i0 + (s - s0) v / (1 + k (s - s0)), so 1 / sqrt(frequency) is a straight
line in s, which a mark missed or a clamp across the rule cannot bend. The phase then places the whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import cv2
import numpy as np

from fitcheck.ground.spread import robust_spread

LEAST_SHARE = 0.22
CYCLES_IN_WINDOW = 22
WIDEST_GAP_WINDOWS = 8
FINE = 4096
FIRST_DRIFT, MOST_DRIFT = 0.12, 0.06


@dataclass(frozen=True)
class Count:
    """Count of marks at place s along the line: ``start + (s - origin) * rate / (1 + bend * (s - origin))``.

    ``low`` and ``high`` are the places between which marks were followed, in windows about ``middles`` of half width
    ``half``; ``spread`` is the scatter of the phase in marks.
    """

    origin: float
    start: float
    rate: float
    bend: float
    low: float = 0.0
    high: float = 0.0
    spread: float = 0.0
    middles: np.ndarray = field(default_factory=lambda: np.empty(0))
    half: int = 0

    def at(self, places: np.ndarray) -> np.ndarray:
        """The count (N,) at places (N,)."""
        away = places - self.origin
        return np.asarray(self.start + away * self.rate / (1.0 + self.bend * away))

    def place(self, counts: np.ndarray) -> np.ndarray:
        """The place (N,) of counts (N,)."""
        run = np.asarray(counts, float) - self.start
        return np.asarray(self.origin + run / (self.rate - self.bend * run))

    def period(self, places: np.ndarray) -> np.ndarray:
        """The local spacing (N,) of the marks."""
        return np.asarray((1.0 + self.bend * (places - self.origin)) ** 2 / self.rate)


@dataclass(frozen=True)
class _Window:
    middle: int
    frequency: float
    share: float


def count_marks(profile: np.ndarray, start: int, period: float) -> Count | None:
    """The count along ``profile`` (N,), one value a place, from marks ``period`` apart near index ``start``.

    Places are indices of the profile. Whole counts lie on its dark parts: half a mark off where the marks are light
    (see :func:`light_marks`). Marks may be covered in part. None where no marks are found.

    >>> s = np.arange(3000.0); truth = 0.3 + s * 0.16 / (1 + 4e-5 * s)
    >>> found = count_marks(150 - 60 * np.exp(-((truth - truth.round()) / 0.15) ** 2), 1500, 6.6)
    >>> off = found.at(np.array([100.0, 1500.0, 2900.0])) - np.interp([100, 1500, 2900], s, truth)
    >>> bool(np.abs(off - off.round()).max() < 0.01)
    True
    """
    wave = _high_passed(profile, period)
    half = _half(period)
    windows = _follow(wave, start, period, half)
    if len(windows) < 3:
        return None
    middles = np.array([window.middle for window in windows], float)
    weights = np.sqrt([window.share for window in windows])
    count = _projective(middles, np.array([window.frequency for window in windows]), weights, start)
    low, high = float(max(0, middles.min() - half)), float(min(len(profile) - 1, middles.max() + half))
    count = replace(count, low=low, high=high, middles=middles, half=half)
    for _ in range(4):
        count = _phased(wave, count, weights)
    return count


def light_marks(profile: np.ndarray, count: Count) -> bool:
    """Whether the marks are the light parts of the profile, on a dark rule: marks are narrower than what lies between.

    >>> s = np.arange(400.0); count = Count(0.0, 0.0, 0.1, 0.0, 0.0, 399.0)
    >>> light_marks(np.where(s % 10 < 3, 200.0, 40.0), count), light_marks(np.where(s % 10 < 3, 40.0, 200.0), count)
    (True, False)
    """
    places = np.arange(np.ceil(count.low), np.floor(count.high))
    levels = _high_passed(profile, float(count.period(np.array([count.origin]))[0]))[places.astype(int)]
    part = ((count.at(places) % 1.0) * 12).astype(int)
    folded = np.array([np.median(levels[part == index]) for index in range(12) if (part == index).any()])
    middle = np.median(folded)
    return bool(folded.max() - middle > 1.2 * (middle - folded.min()))


def share_of_marks(profile: np.ndarray, start: int, period: float) -> float:
    """How much of the variance near index ``start`` marks about ``period`` apart make up, 0 where there are none."""
    window = _tuned(_high_passed(profile, period), start, 1.0 / period, _half(period), FIRST_DRIFT)
    return window.share if window else 0.0


def recount(profile: np.ndarray, near: Count) -> Count | None:
    """The count in another row beside that of ``near``, within half a mark of it; None where it has no such marks."""
    period = float(near.period(np.array([near.origin]))[0])
    wave = _high_passed(profile, period)
    shares = np.array([_share(wave, near, int(middle)) for middle in near.middles])
    if np.median(shares) < LEAST_SHARE:
        return None
    return _phased(wave, _phased(wave, near, np.sqrt(shares)), np.sqrt(shares))


def _half(period: float) -> int:
    return int(np.clip(CYCLES_IN_WINDOW * period / 2.0, 40, 260))


def _high_passed(profile: np.ndarray, period: float) -> np.ndarray:
    length = 2 * round(period) + 1
    level = cv2.blur(profile.astype(np.float64).reshape(1, -1), (length, 1), borderType=cv2.BORDER_REFLECT)
    return np.asarray(profile - level.ravel())


def _follow(wave: np.ndarray, start: int, period: float, half: int) -> list[_Window]:
    """Windows in which the wave goes on, both ways from ``start``."""
    first = _tuned(wave, start, 1.0 / period, half, FIRST_DRIFT)
    if first is None:
        return []
    found = [first]
    hop = max(8, half // 2)
    for way in (hop, -hop):
        run, missed, middle = [first], 0, start
        while missed <= WIDEST_GAP_WINDOWS:
            middle += way
            if not half // 2 < middle < len(wave) - half // 2:
                break
            window = _tuned(wave, middle, _expected(run, middle), half)
            if window is None:
                missed += 1
                continue
            missed = 0
            run.append(window)
            found.append(window)
    return sorted(found, key=lambda window: window.middle)


def _expected(run: list[_Window], middle: int) -> float:
    """The frequency expected at ``middle`` from the last windows: 1 / sqrt(frequency) goes on straight."""
    last = run[-6:]
    roots = np.array([window.frequency**-0.5 for window in last])
    if len(last) < 4:
        return float(np.median(roots)) ** -2
    fit = np.polyfit([window.middle for window in last], roots, 1)
    return float(np.clip(np.polyval(fit, middle), 0.93 * roots[-1], 1.07 * roots[-1])) ** -2


def _tuned(wave: np.ndarray, middle: int, frequency: float, half: int, drift: float = MOST_DRIFT) -> _Window | None:
    """The frequency near ``frequency`` that the wave has in one window, if it has."""
    low, high = max(0, middle - half), min(len(wave), middle + half)
    taper = np.hanning(high - low)
    power = np.abs(np.fft.rfft(wave[low:high] * taper, FINE)) ** 2
    bins = np.arange(int(FINE * frequency * (1.0 - drift)), int(FINE * frequency * (1.0 + drift)) + 2)
    bins = bins[(bins > 0) & (bins < FINE // 2)]
    if len(bins) < 3:
        return None
    best = int(power[bins].argmax())
    whole = float(wave[low:high] ** 2 @ taper) * float(taper.sum())
    share = 2.0 * float(power[bins[best]]) / max(whole, 1e-12)
    if share < LEAST_SHARE or best in (0, len(bins) - 1):
        return None
    left, peak, right = power[bins[best - 1 : best + 2]]
    offset = 0.5 * (left - right) / (left - 2.0 * peak + right)
    return _Window(middle, float(bins[best] + offset) / FINE, share)


def _projective(middles: np.ndarray, frequencies: np.ndarray, weights: np.ndarray, start: int) -> Count:
    """The projective count whose 1 / sqrt(frequency) fits that of the windows best, without their phase."""
    from scipy.optimize import least_squares

    roots, scale = frequencies**-0.5, float(np.ptp(middles)) or 1.0
    relative = (middles - start) / scale

    def misfit(line: np.ndarray) -> np.ndarray:
        return np.asarray((line[0] + line[1] * relative - roots) * weights / (0.002 * roots.mean()))

    fit = least_squares(misfit, [float(np.median(roots)), 0.0], loss="soft_l1").x
    return Count(float(start), 0.0, fit[0] ** -2, fit[1] / fit[0] / scale)


def _phased(wave: np.ndarray, count: Count, weights: np.ndarray) -> Count:
    """``count`` moved so that its whole numbers lie on the dark marks of every window."""
    turns = np.angle([_beat(wave, count, int(middle))[0] for middle in count.middles]) / (2.0 * np.pi)
    turns = np.unwrap(turns, period=1.0)
    turns -= np.round(np.median(turns))
    away = count.middles - count.origin
    stretch = 1.0 + count.bend * away
    steps = np.column_stack([np.ones(len(away)), away / stretch, -count.rate * away**2 / stretch**2])
    size = np.abs(steps).max(axis=0)
    trust = weights.copy()
    for _ in range(5):
        move = np.linalg.lstsq(steps / size * trust[:, None], turns * trust, rcond=None)[0]
        left = turns - steps / size @ move
        spread = float(robust_spread(left)) + 1e-4
        trust = weights / np.maximum(1.0, np.abs(left) / (2.0 * spread))
    start, rate, bend = move / size
    return replace(count, start=count.start + start, rate=count.rate + rate, bend=count.bend + bend, spread=spread)


def _beat(wave: np.ndarray, count: Count, middle: int) -> tuple[complex, float]:
    """The wave of one window against the count: its angle is by how much the count falls short of the dark marks.

    Also the power the wave would have were it nothing but that carrier.
    """
    low, high = max(0, middle - count.half), min(len(wave), middle + count.half)
    taper = np.hanning(high - low)
    turning = np.exp(-2j * np.pi * count.at(np.arange(low, high, dtype=float)))
    return complex(-(wave[low:high] * taper) @ turning), float((wave[low:high] ** 2 @ taper) * taper.sum() / 2.0)


def _share(wave: np.ndarray, count: Count, middle: int) -> float:
    beat, whole = _beat(wave, count, middle)
    return float(np.clip(abs(beat) ** 2 / max(whole, 1e-12), 0.0, 1.0))
