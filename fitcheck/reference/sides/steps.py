"""Steps of light across a side: an erf, or two close together, fitted to profiles.

The erf is the picture of a sharp edge through a Gaussian blur; its middle is the edge, whatever the blur. Beside a thin
shadow a single erf is drawn up to a pixel away; two erfs sharing one blur are not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.ground.light import light_of_levels

LEAST_BLUR_PX, MOST_BLUR_PX = 0.25, 4.0
# A second step is believed only where it explains most of what one step leaves, and what is left is worth explaining.
SECOND_STEP_GAIN, SECOND_STEP_WORTH = 0.35, 0.015


@dataclass(frozen=True)
class Step:
    """A step at ``at_px`` from outside (negative offsets) to inside, and perhaps a second ``shadow_px`` outside it.

    ``contrast`` is the level inside less the level just outside; ``blur_px`` the standard deviation of the blur, common
    to both steps; ``shadow_px`` 0 where there is one step. ``misfit`` is the sum of squares left,
    ``spread`` its root mean.
    """

    at_px: float
    blur_px: float
    shadow_px: float = 0.0
    contrast: float = 0.0
    misfit: float = 0.0
    spread: float = 0.0

    def basis(self, across_px: np.ndarray) -> np.ndarray:
        """Columns (M, 3 or 5): level, step, its derivative by offset, and the same two of the second step."""
        columns = [np.ones(len(across_px)), *_rise(across_px - self.at_px, self.blur_px)]
        if self.shadow_px:
            columns += _rise(across_px - self.at_px + self.shadow_px, self.blur_px)
        return np.column_stack(columns)


def linear_light(pixels: np.ndarray) -> np.ndarray:
    """Stored 8-bit levels, any shape, as amounts of light, float32 from 0 to 255.

    Lenses blur light, not stored levels: a step fitted to stored levels lies up to 0.4 px toward its dark side.

    >>> linear_light(np.array([0, 188, 255], np.uint8)).round().tolist()
    [0.0, 128.0, 255.0]
    """
    return np.asarray(_LIGHT[pixels])


_LIGHT = np.float32(255.0) * light_of_levels(np.arange(256, dtype=np.uint8))


def sample_bilinear(gray: np.ndarray, places_px: np.ndarray) -> np.ndarray:
    """Amounts of light at (…, 2) pixel places (u, v), at full precision of place (OpenCV rounds places to 1/32 px).

    An 8-bit picture (H, W) is taken as stored and read through :func:`linear_light`; any other as light already.
    Places outside the picture take its nearest pixel.
    """
    height, width = gray.shape
    u = np.clip(places_px[..., 0], 0.0, width - 1.001)
    v = np.clip(places_px[..., 1], 0.0, height - 1.001)
    left, top = u.astype(np.intp), v.astype(np.intp)
    share_u, share_v = u - left, v - top
    corner = top * width + left
    flat = gray.reshape(-1)
    pixels = [flat[corner + step] for step in (0, 1, width, width + 1)]
    if gray.dtype == np.uint8:
        pixels = [_LIGHT[levels] for levels in pixels]
    upper = pixels[0] * (1.0 - share_u) + pixels[1] * share_u
    lower = pixels[2] * (1.0 - share_u) + pixels[3] * share_u
    return np.asarray(upper * (1.0 - share_v) + lower * share_v)


def fit_step(across_px: np.ndarray, profile: np.ndarray, *, blur_px: float = 1.0, at_px: float = 0.0) -> Step:
    """One step fitted to one profile (M,) over offsets ``across_px`` (M,), by Gauss-Newton from ``at_px``.

    >>> from scipy.special import ndtr
    >>> across = np.arange(-6, 6.1, 0.5)
    >>> step = fit_step(across, 50 + 90 * ndtr((across - 0.3) / 1.2))
    >>> round(step.at_px, 3), round(step.blur_px, 3), round(step.contrast, 1)
    (0.3, 1.2, 90.0)
    """
    at, blur = at_px, blur_px
    for _ in range(12):
        rise, slope = _rise(across_px - at, blur)
        stretch = slope * (across_px - at) / blur
        basis = np.column_stack([np.ones(len(across_px)), rise, slope, stretch])
        solved = np.linalg.lstsq(basis, profile, rcond=None)[0]
        if abs(solved[1]) < 1e-9:
            break
        move = float(np.clip(-solved[2] / solved[1], -blur, blur))
        widen = float(np.clip(-solved[3] / solved[1], -0.3 * blur, 0.4 * blur))
        at, blur = at + move, float(np.clip(blur + widen, LEAST_BLUR_PX, MOST_BLUR_PX))
        if abs(move) + abs(widen) < 1e-3:
            break
    return _finished(across_px, profile, at, blur, 0.0)


def fit_two_steps(across_px: np.ndarray, profile: np.ndarray, single: Step, reach_px: float) -> Step:
    """``single``, or two steps sharing one blur where they explain far more; the inner one is the side."""
    from scipy.optimize import least_squares

    if single.spread < SECOND_STEP_WORTH * abs(single.contrast):
        return single

    def misfit(place: np.ndarray) -> np.ndarray:
        basis = Step(place[0], place[1], place[2]).basis(across_px)[:, [0, 1, 3]]
        return np.asarray(basis @ np.linalg.lstsq(basis, profile, rcond=None)[0] - profile)

    low, high = (-3.0, LEAST_BLUR_PX, 0.6), (reach_px, MOST_BLUR_PX, reach_px)
    alone = fit_step(across_px, profile, blur_px=single.blur_px, at_px=single.at_px)
    best, best_misfit = single, SECOND_STEP_GAIN * alone.misfit
    for shadow in (1.0, 2.0, 4.0):
        start = np.clip((single.at_px, 0.8 * single.blur_px, shadow), np.add(low, 1e-3), np.subtract(high, 1e-3))
        found = least_squares(misfit, start, bounds=(low, high), x_scale=(0.3, 0.3, 0.5), max_nfev=40)
        two = _finished(across_px, profile, *map(float, found.x))
        if two.misfit < best_misfit:
            best, best_misfit = two, two.misfit
    return best


def offsets_along(across_px: np.ndarray, profiles: np.ndarray, step: Step) -> tuple[np.ndarray, np.ndarray]:
    """Offset (N,) of the step in each of (N, M) profiles, near ``step``, and its contrast (N,) there.

    Levels are free in each profile; the offset is the first-order one, so call again with profiles moved onto the step.
    """
    solved = profiles @ np.linalg.pinv(step.basis(across_px)).T
    contrast = solved[:, 1]
    safe = np.where(np.abs(contrast) < 1e-6, 1e-6, contrast)
    return np.asarray(step.at_px - solved[:, 2] / safe), np.asarray(contrast)


def _rise(offset_px: np.ndarray, blur_px: float) -> list[np.ndarray]:
    from scipy.special import ndtr

    relative = offset_px / blur_px
    return [ndtr(relative), np.exp(-0.5 * relative**2) / (blur_px * np.sqrt(2.0 * np.pi))]


def _finished(across_px: np.ndarray, profile: np.ndarray, at: float, blur: float, shadow: float) -> Step:
    bare = Step(at, blur, shadow)
    basis = bare.basis(across_px)[:, [0, 1, 3] if shadow else [0, 1]]
    levels = np.linalg.lstsq(basis, profile, rcond=None)[0]
    misfit = float(((basis @ levels - profile) ** 2).sum())
    return Step(at, blur, shadow, float(levels[1]), misfit, float(np.sqrt(misfit / len(profile))))
