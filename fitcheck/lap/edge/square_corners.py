"""Where the corners lie in the common profile of the edge.

The profile has three stretches, flat or sloping: the plank's face, the edge face and the strake. Between them are two
steps, the outer and the inner corner, as blurred as the picture is. Light is counted relative to the plank's face.

- The distance between the two steps is known beforehand, from thickness, bevel and pose and their uncertainties. The
  picture makes it sharper.
- Face and edge face are one piece of wood. At the outer corner the shade changes, but hardly the colour. So colour
  tells which corner is which where plank and strake are of different wood.
- Grain in the edge face can look like a corner. So the unevenness of the wood itself is used as the noise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fitcheck.lap.edge.common_profile import Aligned
from fitcheck.lap.edge.on_strake import Pencil, Shadow, find_pencil, find_shadow
from fitcheck.lap.edge.relative_light import DIFFERENCES, RATIOS, Profile, relative_light, wood_noise
from fitcheck.lap.edge.transitions import Pairs, Tie, colour_lag, misfits

GRID_MM = 0.08
OUTER_REACH_MM = 1.2
#: Where the plank throws a shadow its edge face lies in that shadow too, so it is as dark or darker. A reading with a
#: lighter edge face, beyond this share of the face's light, costs up to so many log odds.
AS_SHADOW, MOST_COST = 0.08, 8.0
#: An edge face as light as the plank's face is unlikely: it costs up to so many log odds, less and less as the step
#: between them passes this share of the face's light.
FLAT_COST, FLAT_STEP = 3.5, 0.08
#: The step at the outer corner is read at distances from the first to the second, and not within the third of the inner
#: corner, whose blur reaches so far.
NEAREST_MM, FURTHEST_MM, BLURRED_MM = 0.2, 0.9, 0.25
#: In about five of six pictures the rough path follows the outer corner, in the sixth the inner one: odds of five.
FOLLOWED = 5.0
#: The chance that something else looks like the inner corner: grain, a crumb of glue, the end of a shadow.
MISTAKEN = 0.03
#: Colour is stored at half the size of lightness in a JPEG file.
BLUR_PX, COLOUR_BLUR_PX = 0.7, 1.6
#: How much the edge face may differ in colour from the face of the same plank (logarithm of the ratio): it is lit by
#: another part of the sky, and by light that the strake throws back.
TINT = 0.12
#: The least standard uncertainty of a corner: for a rounded corner, a crumb of glue, a reflection, the crease's own
#: shade.
LEAST_U_MM = 0.12
#: An edge face with less than this share of the face's light is in shade: the light comes from beyond the sheer, and
#: the plank throws a shadow on the strake. If the strake at these distances beyond the corner is lighter than the edge
#: face by this factor, the shadow is too short to be told from the edge face, and its end may be taken for the corner.
#: That adds so much standard uncertainty.
IN_SHADE, LIGHTER, BESIDE_MM = 0.55, 1.2, (0.8, 1.6)
U_SHORT_SHADOW_MM = 0.10
#: Places of the outer corner within this distance of the best are the same reading of the profile; those beyond it are
#: another reading.
ONE_READING_MM = 0.8


@dataclass(frozen=True)
class Corners:
    """Places in the profile, in mm toward the keel of its zero: the plank face's end, and the boundary with the strake.

    ``strake_mm`` is where the inner corner is seen, or would be seen if the plank hides it by a little. Each has its
    standard uncertainty, from this picture and from the distance between the two. ``chance`` is that of this reading of
    the profile against all others.
    """

    face_mm: float
    u_face_mm: float
    strake_mm: float
    u_strake_mm: float
    chance: float


def place_corners(aligned: Aligned, width_mm: float, u_width_mm: float, px_mm: float) -> Corners:
    """Fit the two transitions, ``width_mm`` ± ``u_width_mm`` apart, with ``px_mm`` the size of a pixel on the face.

    If the plank hides its inner corner the width is negative: one transition is seen, and the corner would lie above
    it. The end of a shadow on the strake, and a pencil line there, are tried as well.
    """
    widths = np.arange(width_mm - 3 * u_width_mm, width_mm + 3 * u_width_mm + GRID_MM, GRID_MM)
    first = -OUTER_REACH_MM - max(width_mm, 0.0)
    outers = np.arange(first, OUTER_REACH_MM + GRID_MM / 2, GRID_MM)
    across = aligned.across_mm
    face = across < first - 0.3
    light = relative_light(aligned.profile, face)
    noise = wood_noise(across[face], light[face])
    near = (across > first - 1.5) & (across < width_mm + 3 * u_width_mm + 1.8)
    profile = Profile(across[near], light[near] / noise, noise, px_mm)
    likely = np.exp(-0.5 * ((widths - width_mm) / u_width_mm) ** 2)[:, None]
    roughly = Pairs.of(widths, outers[::2])
    followed = np.where(np.abs(roughly.outers_mm) <= ONE_READING_MM, FOLLOWED, 1.0)
    reading = _reading(profile, roughly, RATIOS) * likely * followed
    best = roughly.outers_mm[0, int(np.argmax(reading.sum(axis=0)))]
    share = float(reading[:, np.abs(roughly.outers_mm[0] - best) <= ONE_READING_MM].sum() / reading.sum())
    pairs = Pairs.of(widths, outers[np.abs(outers - best) <= ONE_READING_MM])
    chance = _reading(profile, pairs, DIFFERENCES) * likely
    chance /= chance.sum()
    outer, u_outer = _moments(chance, np.broadcast_to(pairs.outers_mm, chance.shape))
    strake, u_strake = _moments(chance, pairs.inner_mm)
    if _short_shadow(profile, outer, strake):
        u_strake = float(np.hypot(u_strake, U_SHORT_SHADOW_MM))
    return Corners(outer, u_outer, strake, u_strake, share)


def _short_shadow(profile: Profile, outer_mm: float, strake_mm: float) -> bool:
    """Whether a shadow too short to be seen by itself may lie beyond the corner."""
    if strake_mm - outer_mm < 2 * NEAREST_MM:
        return False
    edge_face = float(np.interp(0.5 * (outer_mm + strake_mm), profile.y_mm, profile.light))
    strake = float(np.interp(strake_mm + np.linspace(*BESIDE_MM, 5), profile.y_mm, profile.light).mean())
    return edge_face < IN_SHADE and strake > LIGHTER * edge_face


def _chance(doubt: np.ndarray) -> np.ndarray:
    """How likely the picture makes every pair (W, O).

    Never so sure of the width that what is known of it beforehand could not outweigh the picture.
    """
    least = doubt.min(axis=1, keepdims=True)
    return np.asarray(np.exp(-(doubt - least)) * (np.exp(-(least - doubt.min())) + MISTAKEN))


def _reading(profile: Profile, pairs: Pairs, colours: tuple[int, int]) -> np.ndarray:
    """How likely the picture makes every pair (W, O), without what is known of the width."""
    return _chance(_lightness_doubt(profile, pairs) + _colour_doubt(profile, pairs, colours))


def _colour_doubt(profile: Profile, pairs: Pairs, columns: tuple[int, int]) -> np.ndarray:
    """Half the weighed misfit (W, O) of two columns of colour."""
    y, blur_mm = profile.y_mm, COLOUR_BLUR_PX * profile.px_mm
    if columns == RATIOS:
        pairs = replace(pairs, lag_mm=colour_lag(y, profile.light, pairs.inner_mm, blur_mm))
    total = np.zeros(pairs.inner_mm.shape)
    for column in columns:
        # One wood on either side of the outer corner: its colour changes little there.
        tie = Tie.of(0.0, TINT, profile.noise[column], profile.weight)
        total += misfits(y, profile.level[:, column], pairs, blur_mm, [], tie)
    return total * profile.weight / 2.0


def _steps_at_outer(profile: Profile, pairs: Pairs) -> np.ndarray:
    """How much lighter (1, O) the profile is just within each outer corner's edge face than just above it."""
    width = float(np.median(pairs.widths_mm))
    within = np.linspace(NEAREST_MM, np.clip(width - BLURRED_MM, 2 * NEAREST_MM, FURTHEST_MM), 7)
    away = pairs.outers_mm[0][:, None]
    above, below = (np.interp(away + side * within, profile.y_mm, profile.light).mean(axis=1) for side in (-1.0, 1.0))
    return np.asarray(below - above)[None, :]


def _shade_doubt(profile: Profile, pairs: Pairs, shadow: Shadow | None) -> np.ndarray:
    """What the shade of the edge face costs each pair (W, O), in log odds.

    The edge face looks another way than the face, so it is hardly ever just as light, and never lighter than the
    plank's own ``shadow``.
    """
    step = _steps_at_outer(profile, pairs)
    cost = FLAT_COST * np.exp(-0.5 * (step / FLAT_STEP) ** 2)
    if shadow is not None:
        cost = cost + np.minimum(0.5 * (np.maximum(step + shadow.depth, 0.0) / AS_SHADOW) ** 2, MOST_COST)
    return np.where(pairs.widths_mm > 2 * NEAREST_MM, cost, 0.0)


def _lightness_doubt(profile: Profile, pairs: Pairs) -> np.ndarray:
    """Half the weighed misfit (W, O) of lightness, with what may lie on the strake."""
    y = profile.y_mm
    shadow = find_shadow(y, profile.light, profile.px_mm)
    pencil = find_pencil(y, profile.light, profile.noise[0])
    best = np.full(pairs.inner_mm.shape, np.inf)
    for more in _mixtures(shadow, pencil):
        shapes = [one.shape(y, profile.px_mm) for one in more]
        misfit = misfits(y, profile.level[:, 0], pairs, BLUR_PX * profile.px_mm, shapes, None)
        doubt = misfit * profile.weight / 2.0 + _shade_doubt(profile, pairs, shadow if shadow in more else None)
        for one in more:
            doubt = np.where(one.at_mm - pairs.inner_mm > one.clear_mm, doubt + one.penalty, np.inf)
        best = np.minimum(best, doubt)
    return best


def _mixtures(shadow: Shadow | None, pencil: Pencil | None) -> list[list[Shadow | Pencil]]:
    """Nothing more on the strake, a shadow's end, a pencil line, or both."""
    mixtures: list[list[Shadow | Pencil]] = [[]]
    for one in (shadow, pencil):
        if one is not None:
            mixtures += [[*others, one] for others in mixtures]
    return mixtures


def _moments(chance: np.ndarray, value: np.ndarray) -> tuple[float, float]:
    mean = float((chance * value).sum())
    return mean, float(np.hypot(np.sqrt((chance * (value - mean) ** 2).sum()), LEAST_U_MM))
