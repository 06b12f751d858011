"""Straight sides of a card or marker, fitted to a few hundredths of a pixel.

OpenCV's corner refinements pull marker corners inward by up to half a pixel, 1 % of a 20 mm marker; a step fitted
across each side and a straight line through the steps does not. Where the card throws a
thin shadow or shows its own thickness, two steps stand close together, and the one on the card's side is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.ground.refusal import Refused
from fitcheck.ground.spread import robust_spread
from fitcheck.reference.sides.steps import Step, fit_step, fit_two_steps, offsets_along, sample_bilinear

Mapping = Callable[[np.ndarray], np.ndarray]
STEP_PX = 0.5
MOST_ROWS, MOST_BLOCKS, LEAST_KEPT = 600, 48, 6
ROUNDS = 3
# The coarse search takes the innermost transition that stands out this well against the strongest.
STANDS_OUT = 0.5
LEAST_CONTRAST = 0.5
UNSEEN = "A side of the reference does not stand out from the wood. Light it so that all its sides show."
COVERED = "A side of the reference is not straight or is covered. Lay the reference flat and clear of clamps."
SHORT = "A side of the reference is too short in the picture. Photograph it from nearer."
PARALLEL = "Two sides of the reference run almost parallel. Photograph it more squarely."


@dataclass(frozen=True)
class Side:
    """A straight side in the coordinates it was fitted in: pixels, or undistorted normalised ones.

    ``point`` (2,) is the middle of the kept samples, ``direction`` (2,) a unit vector from a to b, so the line is
    ``point + t * direction``. ``covariance`` (2, 2) is that of (offset along :attr:`inward` at ``point``, angle in
    radians), in these coordinates: scatter of the samples, their correlation, and a bias common to the whole side.
    ``unit_px`` turns lengths of these coordinates into pixels. ``rms_px`` is the scatter of the kept samples,
    ``sag_px`` how far the middle stands inward of the ends (a bent card), ``contrast`` the level inside less the level
    just outside, ``blur_px`` the step's standard deviation, ``shadow_px`` the width of the shadow beside it, 0 if none.
    ``places_px`` (N, 2) are the kept samples in the picture, ``of`` how many were tried.
    """

    point: np.ndarray
    direction: np.ndarray
    covariance: np.ndarray
    unit_px: float
    rms_px: float
    sag_px: float
    kept: int
    of: int
    contrast: float
    blur_px: float
    shadow_px: float
    places_px: np.ndarray

    @property
    def inward(self) -> np.ndarray:
        """Unit normal (2,) into the card: to the right of a to b as seen in the picture."""
        return _right_of(self.direction)


@dataclass(frozen=True)
class _Track:
    """Places (N, 2) along the coarse side, straight where lines are straight, and their share (N,) from -1/2 to 1/2."""

    base_px: np.ndarray
    inward: np.ndarray
    share: np.ndarray
    length_px: float

    def profiles(self, gray: np.ndarray, line: np.ndarray, across_px: np.ndarray) -> np.ndarray:
        """Grey levels (N, M) at offsets ``across_px`` (M,) about the line (slope, offset) of the track."""
        offsets = np.polyval(line, self.share)[:, None] + across_px
        return sample_bilinear(gray, self.base_px[:, None, :] + offsets[..., None] * self.inward)


def fit_side(
    gray: np.ndarray,
    a_px: Sequence[float] | np.ndarray,
    b_px: Sequence[float] | np.ndarray,
    *,
    reach_px: float = 5.0,
    keep: tuple[float, float] = (0.12, 0.88),
    undistort: Mapping | None = None,
    shadows: bool = True,
    contrast_sign: int = 0,
    bias_px: float = 0.04,
) -> Side:
    """The straight side near the coarse one from ``a_px`` to ``b_px`` (u, v), the interior on its right as seen.

    ``gray`` is (H, W), any one channel: 8-bit as stored, or float amounts of light (see ``linear_light``). The side is
    looked for within ``reach_px`` of the coarse one, between the shares ``keep`` of its length. With
    ``undistort`` (pixels (N, 2) to undistorted points (N, 2)) the line is fitted where lines are straight. ``shadows``
    allows a second step; ``contrast_sign`` +1 or -1 holds the inside to be the lighter or the darker. ``bias_px`` is
    the standard uncertainty of what moves or turns a whole side: a rim, a soft shadow.
    Raises :class:`Refused` ``reference-unclear`` where no straight side stands out.

    >>> picture = np.full((120, 160), 60.0, np.float32); picture[40:] = 200.0
    >>> side = fit_side(picture, (20, 38), (140, 41))
    >>> round(float(side.point[1]), 2), side.kept > 40
    (39.5, True)
    """
    track = _track(np.asarray(a_px, float), np.asarray(b_px, float), keep, undistort)
    line, inner = _coarse_line(gray, track, reach_px, contrast_sign), 4.0
    outer = inner
    weights, rows = np.ones(len(track.share)), _blocks(len(track.share))
    share, step = rows @ track.share, Step(0.0, 1.0)
    for turn in range(ROUNDS):
        step = _stacked_step(gray, track, line, weights, (inner, outer), step, reach_px if shadows and turn else 0.0)
        inner = 3.0 * step.blur_px + 1.5
        outer = inner + step.shadow_px
        across = np.arange(np.floor((step.at_px - outer) / STEP_PX), (step.at_px + inner) / STEP_PX + 1) * STEP_PX
        offsets, contrasts = offsets_along(across, rows @ track.profiles(gray, line, across), step)
        trust = _trust(share, offsets, contrasts / step.contrast)
        places = rows @ track.base_px + (np.polyval(line, share) + offsets)[:, None] * track.inward
        line = line + _weighted_line(share, offsets, trust)
        weights = rows.T @ trust / np.maximum(rows.sum(axis=0), 1e-12)
    return _side(places, trust, step, track, undistort, bias_px)


def corners_of(sides: Sequence[Side], *, distort: Mapping | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Corners (4, 2) in pixels and their covariance (4, 2, 2) in px²; corner i is where side i - 1 meets side i.

    ``distort`` takes undistorted points back to pixels, where the sides were fitted undistorted. Corners share their
    sides, so the covariances are not independent. Raises :class:`Refused` where two sides are parallel.
    """
    found = [_meet(sides[index - 1], sides[index], distort) for index in range(len(sides))]
    return np.array([corner for corner, _ in found]), np.array([covariance for _, covariance in found])


def _meet(first: Side, second: Side, distort: Mapping | None) -> tuple[np.ndarray, np.ndarray]:
    normals = np.array([first.inward, second.inward])
    if abs(np.linalg.det(normals)) < 0.05:
        raise Refused("reference-unclear", PARALLEL)
    corner = np.linalg.solve(normals, [first.inward @ first.point, second.inward @ second.point])
    variances = []
    for side in (first, second):
        reach = np.array([1.0, float((corner - side.point) @ side.direction)])
        variances.append(reach @ side.covariance @ reach)
    back = np.linalg.inv(normals)
    covariance = back @ np.diag(variances) @ back.T
    if distort is None:
        return corner, covariance
    small = 1.0 / first.unit_px
    around = distort(corner + np.array([[0.0, 0.0], [small, 0.0], [0.0, small]]))
    px_from_unit = (around[1:] - around[0]).T / small
    return around[0], px_from_unit @ covariance @ px_from_unit.T


def _right_of(direction: np.ndarray) -> np.ndarray:
    return np.array([-direction[1], direction[0]])


def _track(a: np.ndarray, b: np.ndarray, keep: tuple[float, float], undistort: Mapping | None) -> _Track:
    whole = float(np.linalg.norm(b - a))
    length = whole * (keep[1] - keep[0])
    if not length > 8.0:
        raise Refused("reference-unclear", SHORT)
    inward = _right_of((b - a) / whole)
    share = np.linspace(-0.5, 0.5, int(np.clip(length, 24, MOST_ROWS)))
    base = a + (np.mean(keep) + share * (keep[1] - keep[0]))[:, None] * (b - a)
    if undistort is not None:
        # The chord is straight in the picture; move its places to where the straight line of the scene runs.
        start, end, middle, aside = undistort(np.array([a, b, (a + b) / 2.0, (a + b) / 2.0 + inward]))
        normal = _right_of((end - start) / np.linalg.norm(end - start))
        base = base - ((undistort(base) - start) @ normal / ((aside - middle) @ normal))[:, None] * inward
    return _Track(base, inward, share, length)


def _coarse_line(gray: np.ndarray, track: _Track, reach_px: float, contrast_sign: int) -> np.ndarray:
    """(slope, offset) of the innermost line on which the lightness changes alike along the whole side."""
    across = np.arange(-np.ceil(2 * reach_px) - 2, np.ceil(2 * reach_px) + 3) * STEP_PX
    profiles = _blocks(len(track.share)) @ track.profiles(gray, np.zeros(2), across)
    rises = profiles[:, 3:] + profiles[:, 2:-1] - profiles[:, 1:-2] - profiles[:, :-3]
    middles = (across[3:] + across[:-3]) / 2.0
    limit = 1.5 * np.median(np.abs(rises).max(axis=1)) + 1e-9
    rises = np.clip(rises, -limit, limit)
    share = np.linspace(-0.5, 0.5, len(rises))
    slopes = np.arange(-2.0 * reach_px, 2.0 * reach_px + 0.1, 2 * STEP_PX)
    shift = np.round(slopes[:, None] * share / STEP_PX).astype(int)
    column = np.arange(len(middles)) + shift[:, :, None]
    inside = (column >= 0) & (column < len(middles))
    picked = np.where(inside, rises[np.arange(len(rises))[None, :, None], np.clip(column, 0, len(middles) - 1)], 0.0)
    mean = picked.mean(axis=1)
    score = mean * contrast_sign if contrast_sign else np.abs(mean)
    best = np.where(np.abs(middles) <= reach_px + 1.0, score.max(axis=0), 0.0)
    if not best.max() > LEAST_CONTRAST:
        raise Refused("reference-unclear", UNSEEN)
    peaks = (best >= STANDS_OUT * best.max()) & (best >= np.roll(best, 1)) & (best >= np.roll(best, -1))
    innermost = int(np.flatnonzero(peaks)[-1])
    return np.array([slopes[score[:, innermost].argmax()], middles[innermost]])


def _stacked_step(
    gray: np.ndarray,
    track: _Track,
    line: np.ndarray,
    weights: np.ndarray,
    window_px: tuple[float, float],
    start: Step,
    shadow_reach_px: float,
) -> Step:
    """The step in the mean profile along the line, about the offset zero."""
    across = np.arange(-np.ceil(2 * (window_px[1] + shadow_reach_px)), np.ceil(2 * window_px[0]) + 1) * STEP_PX
    profile = weights @ track.profiles(gray, line, across) / weights.sum()
    near = across >= -window_px[0]
    single = fit_step(across[near], profile[near], blur_px=start.blur_px)
    if abs(single.at_px) > 3.0 or abs(single.contrast) < LEAST_CONTRAST:
        raise Refused("reference-unclear", UNSEEN)
    if not shadow_reach_px:
        return single
    return fit_two_steps(across, profile, single, shadow_reach_px)


def _blocks(rows: int) -> np.ndarray:
    """Averaging matrix (B, rows) that gathers neighbouring rows into at most MOST_BLOCKS blocks."""
    count = min(MOST_BLOCKS, rows // 2)
    of = np.arange(rows) * count // rows
    member = (of == np.arange(count)[:, None]).astype(float)
    return member / member.sum(axis=1, keepdims=True)


def _trust(share: np.ndarray, offsets: np.ndarray, relative_contrast: np.ndarray) -> np.ndarray:
    """Weights (B,) of the blocks about a straight line: none where the contrast is foreign, Tukey's beyond that."""
    usable = ((relative_contrast > 0.4) & (relative_contrast < 2.5)).astype(float)
    trust = usable
    for _ in range(6):
        if trust.sum() < LEAST_KEPT:
            raise Refused("reference-unclear", COVERED)
        left = offsets - np.polyval(_weighted_line(share, offsets, trust), share)
        spread = float(robust_spread(left[trust > 0.0])) + 1e-3
        previous, trust = trust, usable * np.clip(1.0 - (left / (4.7 * spread)) ** 2, 0.0, None) ** 2
        if np.abs(trust - previous).max() < 0.02:
            break
    return trust


def _weighted_line(at: np.ndarray, values: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """(slope, offset) of the weighted straight line through values (N,) at places (N,)."""
    total = weights.sum()
    mean_at, mean_value = weights @ at / total, weights @ values / total
    slope = (weights * (at - mean_at)) @ values / (weights @ (at - mean_at) ** 2)
    return np.array([slope, mean_value - slope * mean_at])


def _side(
    places_px: np.ndarray, trust: np.ndarray, step: Step, track: _Track, undistort: Mapping | None, bias_px: float
) -> Side:
    """The line through the places in the coordinates where lines are straight, with its covariance."""
    points = places_px if undistort is None else undistort(places_px)
    unit_px = float(np.linalg.norm(places_px[-1] - places_px[0]) / np.linalg.norm(points[-1] - points[0]))
    point, direction = _line_through(points, trust)
    along = (points - point) @ direction * unit_px
    left = (points - point) @ _right_of(direction) * unit_px
    kept = trust > 0.05
    effective = max(3.0, float(trust.sum() ** 2 / (trust**2).sum()))
    variance = float((trust * left**2).sum() / trust.sum()) * effective / (effective - 2.0)
    scatter = variance * _clumping(left[kept]) / effective
    spread = float((trust * along**2).sum() / trust.sum())
    half = track.length_px / 2.0
    # Ripples of the mean profile (grain beside the side) pull the step by about this much, on every sample alike.
    common = bias_px**2 + (step.blur_px * step.spread / step.contrast) ** 2
    covariance = np.diag([(scatter + common) / unit_px**2, scatter / spread + common / half**2])
    bow = np.polyfit(along / half, left, 2, w=np.sqrt(trust))[0]
    return Side(
        point=point,
        direction=direction,
        covariance=covariance,
        unit_px=unit_px,
        rms_px=float(np.sqrt(variance)),
        sag_px=-float(bow),
        kept=int(kept.sum()),
        of=len(trust),
        contrast=step.contrast,
        blur_px=step.blur_px,
        shadow_px=step.shadow_px,
        places_px=places_px[kept],
    )


def _line_through(points: np.ndarray, weights: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    point = weights @ points / weights.sum()
    centred = (points - point) * np.sqrt(weights)[:, None]
    direction = np.linalg.svd(centred, full_matrices=False)[2][0]
    return point, direction * np.sign(direction @ (points[-1] - points[0]))


def _clumping(left: np.ndarray) -> float:
    """How much neighbours sharing their errors inflate the variance of the mean, from their correlation; 1 to 6."""
    power = float((left**2).mean())
    together = float((left[1:] * left[:-1]).mean()) / power if power > 0 else 0.0
    return float(np.clip((1.0 + together) / max(1.0 - together, 0.1), 1.0, 6.0))
