"""What a slit looks like in light: the dark under the inner corner of a lap that stands open.

Looking up along the face the camera sees into the open lap as far as the plank's inner corner lets it. A place on the
lap's floor, ``d`` in from the mouth of a lap open by ``g``, sees of the sky only what the opening leaves: the form
factor of a long slot, ½ (1 − x / √(1 + x²)) with x = d / g (Hottel's crossed strings). The mouth itself has the light
that falls on the edge face, from the keel side alone; the light that casts shadows does not reach in. So a slit is
darkest at the inner corner, with a sharp side there. The plank's own shadow lies beyond the mouth, as wide along the
whole lap as the light makes it, and keeps the light of the sky.

An inner corner that is eased, by a plane or by sandpaper, ends the edge face higher up. Under it the easing itself is
seen, which looks down at the strake and is dark, and then the strake under it. So a closed lap with an eased corner
shows a dark band as well, as wide as the corner is eased, and an open one a band wider by that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FINE_PX = 0.05
LEVELS = 4
#: The light on an eased corner over that on the edge face. Cut at 45 degrees it sees little sky, (1 - cos 45) / 2 of
#: its view, where the edge face sees half; the rest is the strake close by, in the dark of the corner itself.
EASED_LIGHT = 0.4
#: A camera sharpens with what is blurred by about so much. That leaves a light seam on the lighter side of a step and a
#: dark one, like a slit, on its darker side.
HALO_PX = 1.4
#: An opening is not narrower than this: planks touch at no line.
LEAST_OPENING_PX = 0.05


@dataclass(frozen=True)
class Rows:
    """Where a profile across the edge is read, in pixels toward the keel of the rough edge, and how it was blurred.

    ``slant`` is the tangent of the angle between sight and the face's normal at the lap. ``shade`` is the light at the
    mouth of a slit, ``shadow`` that in the plank's own shadow, over that of the strake beside it. ``sharpened`` is how
    much the camera sharpened the picture: of what lies about HALO_PX around, so much was taken off.
    """

    at_px: np.ndarray
    blur_px: float
    slant: float
    shade: float
    shadow: float
    sharpened: float = 0.0


def slit_light(into: np.ndarray, slant: float, deepness: float) -> np.ndarray:
    """Light on the floor of a slit, relative to its mouth, at shares ``into`` of its seen width from the inner corner.

    ``deepness`` 1 is the bare form factor of an even sky; a sky brighter square-on than along the face makes the slit
    darker, as if deeper.

    >>> slit_light(np.array([0.0, 1.0]), 2.0, 1.0).round(2).tolist()
    [0.11, 1.0]
    """
    return floor_light(1.0 - into, 1.0, 0.0, slant, deepness)


def floor_light(before_px: np.ndarray, width_px: float, eased_px: float, slant: float, deepness: float) -> np.ndarray:
    """Light on the lap's floor, relative to its mouth, seen ``before_px`` before the mouth.

    The lap is open by ``width_px`` and its inner corner eased by ``eased_px``, all as seen. Over the floor stand the
    end of the edge face and, as far in as the corner is eased, the end of the easing: the lower one ends what sky is
    seen.
    """
    depth = slant * before_px
    lip = depth / max(width_px + eased_px, LEAST_OPENING_PX)
    inner = np.maximum(depth - eased_px, 0.0) / max(width_px, LEAST_OPENING_PX)
    x = deepness * np.maximum(lip, inner)
    return np.asarray(1.0 - x / np.sqrt(1.0 + x * x))


def shapes(
    rows: Rows,
    corners_px: np.ndarray,
    widths_px: np.ndarray,
    *,
    deepness: float,
    shadow_px: float,
    eased_px: float = 0.0,
) -> np.ndarray:
    """Shapes (W, O, R, 4) whose mix is the profile of a slit of each width under an inner corner at each place.

    The mix is: level and slope of the edge face, level and slope of the strake; slit and shadow take their light from
    the strake's level, an eased corner from the edge face's. ``corners_px`` (O,), where the corner would be if it were
    sharp, are rounded to a twentieth of a pixel; ``shadow_px`` is how far the plank's shadow reaches beyond the mouth.
    """
    wide_px = float(np.hypot(rows.blur_px, HALO_PX)) if rows.sharpened else rows.blur_px
    pad = 4.0 * wide_px + 1.0
    low = rows.at_px[0] - corners_px.max() - pad
    fine = np.arange(np.floor(low / FINE_PX), np.ceil((rows.at_px[-1] - corners_px.min() + pad) / FINE_PX)) * FINE_PX
    away = np.round((rows.at_px[None, :] - corners_px[:, None]) / FINE_PX).astype(int)
    places, pick = np.unique(away, return_inverse=True)
    sharp = np.stack([_sharp(rows, fine, float(width), deepness, shadow_px, eased_px) for width in widths_px])
    seen = (1.0 + rows.sharpened) * _blur(places * FINE_PX, fine, rows.blur_px)
    if rows.sharpened:
        seen -= rows.sharpened * _blur(places * FINE_PX, fine, wide_px)
    soft = seen @ sharp.reshape(-1, len(fine)).T
    found = soft[pick.ravel()].reshape(*away.shape, len(widths_px), LEVELS)
    return np.ascontiguousarray(found.transpose(2, 0, 1, 3))


def _sharp(
    rows: Rows, fine: np.ndarray, width: float, deepness: float, shadow_px: float, eased_px: float
) -> np.ndarray:
    """The four shapes (4, F) of one width, not blurred, over places ``fine`` (F,) toward the keel of the corner."""
    edge = 1.0 - _beyond(fine, -eased_px)
    # The easing is seen from the end of the edge face to where it meets the floor, as far in as it is wide.
    under = 1.0 - edge - _beyond(fine, -eased_px / rows.slant)
    mouth, lit = _beyond(fine, width), _beyond(fine, width + shadow_px)
    floor = floor_light(np.maximum(width - fine, 0.0), width, eased_px, rows.slant, deepness)
    strake = lit + rows.shadow * (mouth - lit) + rows.shade * (1.0 - edge - under - mouth) * floor
    return np.stack([edge + EASED_LIGHT * under, edge * fine, strake, lit * (fine - width - shadow_px)])


def _blur(places_px: np.ndarray, fine: np.ndarray, blur_px: float) -> np.ndarray:
    """Weights (P, F) that blur what is given over ``fine`` (F,), as seen at ``places_px`` (P,)."""
    weight = np.exp(-0.5 * ((places_px[:, None] - fine[None, :]) / blur_px) ** 2)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


def _beyond(fine: np.ndarray, side: float) -> np.ndarray:
    """1 on the keel side of ``side``, 0 on the other; a cell that it passes through is shared."""
    return np.clip((fine - side) / FINE_PX + 0.5, 0.0, 1.0)
