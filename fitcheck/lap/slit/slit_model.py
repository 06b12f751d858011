"""What a slit looks like in light: the dark under the inner corner of a lap that stands open.

Looking up along the face the camera sees into the open lap as far as the plank's inner corner lets it. A place on the
lap's floor, ``d`` in from the mouth of a lap open by ``g``, sees of the sky only what the opening leaves: the form
factor of a long slot, ½ (1 − x / √(1 + x²)) with x = d / g (Hottel's crossed strings). The mouth itself has the light
that falls on the edge face, from the keel side alone; the light that casts shadows does not reach in. So a slit is
darkest at the inner corner, with a sharp side there. The plank's own shadow lies beyond the mouth, as wide along the
whole lap as the light makes it, and keeps the light of the sky.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FINE_PX = 0.05
LEVELS = 4


@dataclass(frozen=True)
class Rows:
    """Where a profile across the edge is read, in pixels toward the keel of the rough edge, and how it was blurred.

    ``slant`` is the tangent of the angle between sight and the face's normal at the lap. ``shade`` is the light at the
    mouth of a slit, ``shadow`` that in the plank's own shadow, over that of the strake beside it.
    """

    at_px: np.ndarray
    blur_px: float
    slant: float
    shade: float
    shadow: float


def slit_light(into: np.ndarray, slant: float, deepness: float) -> np.ndarray:
    """Light on the floor of a slit, relative to its mouth, at shares ``into`` of its seen width from the inner corner.

    ``deepness`` 1 is the bare form factor of an even sky; a sky brighter square-on than along the face makes the slit
    darker, as if deeper.

    >>> slit_light(np.array([0.0, 1.0]), 2.0, 1.0).round(2).tolist()
    [0.11, 1.0]
    """
    x = deepness * slant * (1.0 - into)
    return np.asarray(1.0 - x / np.sqrt(1.0 + x * x))


def shapes(
    rows: Rows, corners_px: np.ndarray, widths_px: np.ndarray, *, deepness: float, shadow_px: float
) -> np.ndarray:
    """Shapes (W, O, R, 4) whose mix is the profile of a slit of each width under an inner corner at each place.

    The mix is: level and slope of the edge face, level and slope of the strake; slit and shadow take their light from
    the strake's level. ``corners_px`` (O,) and ``widths_px`` (W,) are rounded to a twentieth of a pixel;
    ``shadow_px`` is how far the plank's shadow reaches beyond the mouth.
    """
    from scipy.ndimage import gaussian_filter1d

    pad = 4.0 * rows.blur_px + 1.0
    low = rows.at_px[0] - corners_px.max() - pad
    fine = np.arange(np.floor(low / FINE_PX), np.ceil((rows.at_px[-1] - corners_px.min() + pad) / FINE_PX)) * FINE_PX
    pick = np.round((rows.at_px[None, :] - corners_px[:, None] - fine[0]) / FINE_PX).astype(int)
    found = np.empty((len(widths_px), len(corners_px), len(rows.at_px), LEVELS))
    edge = 1.0 - _beyond(fine, 0.0)
    for number, width in enumerate(widths_px):
        mouth, lit = _beyond(fine, width), _beyond(fine, width + shadow_px)
        floor = slit_light(np.clip(fine / max(width, FINE_PX), 0.0, 1.0), rows.slant, deepness)
        strake = lit + rows.shadow * (mouth - lit) + rows.shade * (1.0 - edge - mouth) * floor
        slope = lit * (fine - width - shadow_px)
        sharp = np.stack([edge, edge * fine, strake, slope])
        soft = gaussian_filter1d(sharp, rows.blur_px / FINE_PX, axis=1, mode="nearest")
        found[number] = np.moveaxis(soft[:, pick], 0, -1)
    return found


def _beyond(fine: np.ndarray, side: float) -> np.ndarray:
    """1 on the keel side of ``side``, 0 on the other; a cell that it passes through is shared."""
    return np.clip((fine - side) / FINE_PX + 0.5, 0.0, 1.0)
