"""Where the corners lie in the common profile of the edge.

The profile is read as three flat or sloping stretches, plank's face, edge face and strake, with two steps between
them, blurred as the
picture is (METHODS d, the two-edge model). How far apart the two steps are is known beforehand from thickness, bevel
and pose, to within
the doubt of these, and the picture sharpens that: a clear inner corner measures itself, a doubtful one stays where
the geometry puts it. Grain in the edge face looks like a corner, so the wood's own unevenness is the noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.edge import Aligned

GRID_MM = 0.08
OUTER_REACH_MM = 1.0
#: A shadow counts where the light rises by this much (relative), clear of the corners; it costs as much as its own
#: number tells.
LEAST_SHADOW, SHADOW_CLEAR_MM, SHADOW_PENALTY = 0.12, 1.4, 4.0
#: The chance that what looks like the inner corner is something else: grain, a crumb of glue, the tail of a shadow.
MISTAKEN = 0.03
#: Evidence counts once a millimetre (blur and grain join neighbouring rows) and a third of that again, because grain
#: is no white noise; both set on made pictures by the share of errors inside the stated uncertainty.
EVIDENCE_MM, CAUTION = 1.0, 3.0
LEAST_NOISE = np.array([0.012, 0.006, 0.006])
#: Colour is stored at half the size of lightness in a JPEG file.
BLUR_PX = (0.7, 1.6, 1.6)
#: The lens mixes light, the file stores about its 2.2th root: a step read in stored levels lies toward its dark side.
GAMMA = 2.2
#: What a rounded corner, a crumb of glue or a stray reflection shifts.
LEAST_U_MM = 0.06
LEAST_SLOPE_MM = 1.0


@dataclass(frozen=True)
class Corners:
    """Places in the profile, in mm toward the keel of its zero: the plank face's end, and the boundary with the strake.

    ``strake_mm`` is the inner corner where it is in sight, else the outer corner's silhouette. Each with its standard
    uncertainty from this picture and the doubt of the distance between them. ``contrast`` is the strake step's share
    of noise.
    """

    face_mm: float
    u_face_mm: float
    strake_mm: float
    u_strake_mm: float


def place_corners(aligned: Aligned, width_mm: float, u_width_mm: float, px_mm: float) -> Corners:
    """Fit the two transitions, ``width_mm`` ± ``u_width_mm`` apart, with ``px_mm`` the size of a pixel on the face.

    A narrow dark band beyond them, a shadow on the strake, is tried as a third transition.
    """
    widths = np.arange(width_mm - 3 * u_width_mm, width_mm + 3 * u_width_mm + GRID_MM, GRID_MM)
    widths = np.unique(np.maximum(widths, 0.0))
    outers = np.arange(-OUTER_REACH_MM, OUTER_REACH_MM + GRID_MM / 2, GRID_MM)
    profile = _in_light(aligned.profile)
    across = aligned.across_mm
    near = (across > outers[0] - 1.5) & (across < width_mm + 3 * u_width_mm + 1.8)
    doubt = _doubt(across, near, profile, widths, outers, px_mm, None)
    shadow = _shadow_end(across[near], profile[near, 0], px_mm)
    if shadow is not None:
        third = _doubt(across, near, profile, widths, outers, px_mm, shadow) + SHADOW_PENALTY
        beyond = shadow - (widths[:, None] + outers[None, :]) > SHADOW_CLEAR_MM
        doubt = np.where(beyond, np.minimum(doubt, third), doubt)
    chance = _chance(doubt) * np.exp(-0.5 * ((widths - width_mm) / u_width_mm) ** 2)[:, None]
    chance /= chance.sum()
    face, u_face = _moments(chance, np.broadcast_to(outers, chance.shape))
    strake, u_strake = _moments(chance, widths[:, None] + outers[None, :])
    return Corners(face, u_face, strake, u_strake)


def _chance(doubt: np.ndarray) -> np.ndarray:
    """What the picture says of every pair (W, O), never so sure of the width that the geometry could not overrule
    it."""
    least = doubt.min(axis=1, keepdims=True)
    return np.asarray(np.exp(-(doubt - least)) * (np.exp(-(least - doubt.min())) + MISTAKEN))


def _shadow_end(y: np.ndarray, light: np.ndarray, px_mm: float) -> float | None:
    """Where a dark band on the strake ends: the steepest rise of light toward the keel, if there is one worth the
    name."""
    from scipy.ndimage import gaussian_filter1d

    rise = np.gradient(gaussian_filter1d(light, 0.5 * px_mm / float(y[1] - y[0])), y)
    steepest = int(np.argmax(np.where(y > -1.0, rise, -np.inf)))
    window = (y > y[steepest] - 0.6) & (y < y[steepest] + 0.6)
    return float(y[steepest]) if np.ptp(light[window]) > LEAST_SHADOW else None


def _doubt(
    across: np.ndarray,
    near: np.ndarray,
    profile: np.ndarray,
    widths: np.ndarray,
    outers: np.ndarray,
    px_mm: float,
    shadow_mm: float | None,
) -> np.ndarray:
    """Half the weighed misfit (W, O) of every pair of transitions, over all channels."""
    noise = _wood_noise(across, profile)
    misfit = np.zeros((len(widths), len(outers)))
    for channel, blur_px in enumerate(BLUR_PX):
        level = profile[near, channel] / noise[channel]
        misfit += _misfits(across[near], level, widths, outers, blur_px * px_mm, shadow_mm)
    return misfit * float(across[1] - across[0]) / (2.0 * EVIDENCE_MM * CAUTION)


def _moments(chance: np.ndarray, value: np.ndarray) -> tuple[float, float]:
    mean = float((chance * value).sum())
    return mean, float(np.hypot(np.sqrt((chance * (value - mean) ** 2).sum()), LEAST_U_MM))


def _in_light(profile: np.ndarray) -> np.ndarray:
    """The profile with its lightness in amounts of light, relative, on the same scale as log lightness."""
    light = np.exp(GAMMA * profile[:, :1])
    return np.hstack([light / np.median(light) / GAMMA, profile[:, 1:]])


def _wood_noise(across: np.ndarray, profile: np.ndarray) -> np.ndarray:
    """Unevenness (3,) of the common profile over the plank's face, where nothing but wood is seen."""
    face = across < -1.5
    line = np.column_stack([np.ones(int(face.sum())), across[face]])
    left = profile[face] - line @ np.linalg.lstsq(line, profile[face], rcond=None)[0]
    return np.asarray(np.maximum(np.sqrt((left**2).mean(axis=0)), LEAST_NOISE))


def _misfits(
    y: np.ndarray, level: np.ndarray, widths: np.ndarray, outers: np.ndarray, blur_mm: float, shadow_mm: float | None
) -> np.ndarray:
    """Sum of squares (W, O) left by the best levels for every pair of transitions."""
    result = np.empty((len(widths), len(outers)))
    # An edge face under a millimetre wide shows no slope of its own.
    wide = widths > LEAST_SLOPE_MM
    at_shadow = [] if shadow_mm is None else [_step(y - shadow_mm, float(np.hypot(blur_mm, 0.2)))]
    for column, outer in enumerate(outers):
        at_outer = [np.ones_like(y), y, _step(y - outer, float(np.hypot(blur_mm, 0.12))), *at_shadow]
        for some, shapes in ((~wide, at_outer), (wide, [*at_outer, _ramp(y - outer, blur_mm)])):
            beyond = y - outer - widths[some, None]
            fixed = np.broadcast_to(np.stack(shapes, axis=-1), (*beyond.shape, len(shapes)))
            basis = np.concatenate(
                [fixed, _step(beyond, blur_mm)[..., None], _ramp(beyond, blur_mm)[..., None]], axis=-1
            )
            explained = np.einsum("wyk,y->wk", np.linalg.qr(basis)[0], level)
            result[some, column] = level @ level - (explained**2).sum(axis=1)
    return result


def _step(y: np.ndarray, blur: float) -> np.ndarray:
    from scipy.special import ndtr

    return np.asarray(ndtr(y / blur))


def _ramp(y: np.ndarray, blur: float) -> np.ndarray:
    return np.asarray(y * _step(y, blur) + blur * np.exp(-0.5 * (y / blur) ** 2) / np.sqrt(2.0 * np.pi))
