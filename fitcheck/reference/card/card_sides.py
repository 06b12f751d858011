"""A card's sides, fitted in the mix of colours that tells it from the wood, and what a dark rim makes of its size."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.reference.card.card_kind import CardKind
from fitcheck.reference.sides.steps import linear_light
from fitcheck.reference.sides.straight_sides import Side, corners_of, fit_side

#: From a patch (H, W, 3) of the picture and a quadrilateral in it: a channel (H, W) in which the card stands out.
Channel = Callable[[np.ndarray, np.ndarray], np.ndarray]
#: Variance that every colour is taken to have at least, as a share of the whole range squared.
LEAST_SPREAD = 6e-5
#: The strips beside a side whose colours are told apart, inside and outside, by their distance from the card's centre.
STRIPS = ((0.97, 0.8), (1.03, 1.2))
LEAST_STRIP = 50
CUT = "The reference is cut off by the picture's edge. Photograph it whole."
#: Sides of a card are seldom told better than this, whatever the scatter of their samples says.
LEAST_CORNER_PX = 0.05
#: A dark card's shadow on the wood counts as card, so it looks larger by so much, in mm, and its uncertainty: by
#: nothing on 34 of the given photographs, by 0.3 on 27 made ones. Wholly so for a card darker than the wood by this
#: share (natural logarithm), not at all for one lighter by as much.
DARK_RIM_MM, U_DARK_RIM_MM, DARKER = 0.1, 0.25, 0.5
#: The second try, for sides that show the card's thickness: how much smaller, and how far off it may then be.
ROUGH_SHRINK, ROUGH_REACH_PX = 3, 6.0


def as_seen(kind: CardKind, pixels: np.ndarray, corners: np.ndarray) -> CardKind:
    """The card with the dark rim that it seems to have on wood lighter than itself."""
    low, patch = _patch(pixels, corners)
    _, card, wood = _card_and_wood(patch, corners - low)
    lighter = float(np.log(np.median(card.mean(axis=1)) / np.median(wood.mean(axis=1))))
    share = float(np.clip(0.5 - 0.5 * lighter / DARKER, 0.0, 1.0))
    rim, u_rim = share * DARK_RIM_MM, share * U_DARK_RIM_MM
    u_scale = float(np.hypot(kind.u_scale, u_rim / kind.width_mm))
    return replace(kind, width_mm=kind.width_mm + rim, height_mm=kind.height_mm + rim, u_scale=u_scale)


def _patch(pixels: np.ndarray, quad: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The corner (2,) of the part of the picture around a quadrilateral (4, 2), and that part."""
    low = np.floor(quad.min(axis=0) - 30).astype(int).clip(0)
    high = np.ceil(quad.max(axis=0) + 30).astype(int)
    return low, pixels[low[1] : high[1], low[0] : high[0]]


def fit_corners(
    pixels: np.ndarray, quad: np.ndarray, camera: Camera, channel: Channel
) -> tuple[np.ndarray, np.ndarray, float]:
    """Corner places (4, 2) in pixels, their standard uncertainty (4,), and the blur in pixels, from the sides."""
    low, patch = _patch(pixels, quad)
    telling = channel(patch, quad - low)
    try:
        sides = _fit_sides(telling, quad, camera, low, reach_px=_reach_px(quad))
    except Refused as refused:
        try:
            sides = _second_try(patch, telling, quad, camera, low)
        except Refused:
            raise refused from None
    return _crossed(sides, camera, pixels)


def _crossed(sides: Sequence[Side], camera: Camera, pixels: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    corners_px, covariance = _meet(sides, camera)
    u_px = np.sqrt(np.trace(covariance, axis1=1, axis2=2) / 2.0)
    if (corners_px < 1).any() or (corners_px > np.array(pixels.shape[1::-1]) - 2).any():
        raise Refused("reference-cut", CUT)
    blur_px = float(np.median([side.blur_px for side in sides]))
    return corners_px, np.maximum(u_px, LEAST_CORNER_PX), blur_px


def fit_by_side(
    pixels: np.ndarray, quad: np.ndarray, camera: Camera, *, reach_px: float
) -> tuple[np.ndarray, np.ndarray, float]:
    """As :func:`fit_corners`, near a good outline, each side in the mix of colours that tells card from wood there.

    Where a card's colours, or the wood's, change from side to side, no one mix shows all of its sides.
    """
    low, patch = _patch(pixels, quad)
    values = linear_light(patch).astype(np.float32)
    sides = [
        _fit_one(_telling_at(values, quad - low, side), quad, side, camera, low, reach_px=reach_px) for side in range(4)
    ]
    return _crossed(sides, camera, pixels)


def _telling_at(values: np.ndarray, quad: np.ndarray, side: int) -> np.ndarray:
    """The mix of colours that tells the two strips beside one side from each other best, as float32."""
    ends, centre = quad[[side, (side + 1) % 4]], quad.mean(axis=0)
    strips = []
    for near, far in STRIPS:
        mask = np.zeros(values.shape[:2], np.uint8)
        strip = np.concatenate([centre + (ends - centre) * near, (centre + (ends - centre) * far)[::-1]])
        cv2.fillPoly(mask, [np.round(strip).astype(np.int32)], (1,))
        strips.append(values[mask > 0])
    if min(map(len, strips)) < LEAST_STRIP:
        raise Refused("reference-cut", CUT)
    return _best_mix(values, *strips)


def _reach_px(quad: np.ndarray) -> float:
    return max(4.0, 0.035 * float(np.linalg.norm(quad[0] - quad[2])))


def _fit_sides(
    gray: np.ndarray, quad: np.ndarray, camera: Camera, low: np.ndarray, *, reach_px: float, shrink: int = 1
) -> list[Side]:
    """The four sides near ``quad`` (4, 2), full-size pixels, in a patch that begins at ``low`` (2,) and was reduced
    by ``shrink``."""
    return [_fit_one(gray, quad, side, camera, low, reach_px=reach_px, shrink=shrink) for side in range(4)]


def _fit_one(
    gray: np.ndarray, quad: np.ndarray, side: int, camera: Camera, low: np.ndarray, *, reach_px: float, shrink: int = 1
) -> Side:
    coarse = (quad - low + 0.5) / shrink - 0.5
    return fit_side(
        gray,
        coarse[side],
        coarse[(side + 1) % 4],
        reach_px=reach_px / shrink,
        undistort=lambda at: camera.undistort((at + 0.5) * shrink - 0.5 + low),
    )


def _second_try(
    patch: np.ndarray, telling: np.ndarray, quad: np.ndarray, camera: Camera, low: np.ndarray
) -> list[Side]:
    """The sides of a card that does not show them at once.

    Seen slantwise the near side shows the card's own thickness, which a mix of colours, stored at half size and noisy
    in poor light, smears into a slope. In a reduced patch it is a step again; from there lightness alone may do
    better, if the card is lighter or darker than the wood all round.
    """
    small = cv2.resize(telling, None, fx=1 / ROUGH_SHRINK, fy=1 / ROUGH_SHRINK, interpolation=cv2.INTER_AREA)
    rough = _fit_sides(small, quad, camera, low, reach_px=_reach_px(quad), shrink=ROUGH_SHRINK)
    light = linear_light(cv2.cvtColor(patch, cv2.COLOR_BGR2GRAY)).astype(np.float32)
    try:
        sides = _fit_sides(light, _meet(rough, camera)[0], camera, low, reach_px=ROUGH_REACH_PX)
    except Refused:
        return rough
    same = abs(sum(np.sign(side.contrast) for side in sides)) == len(sides)
    return sides if same else rough


def _meet(sides: Sequence[Side], camera: Camera) -> tuple[np.ndarray, np.ndarray]:
    return corners_of(sides, distort=lambda seen: camera.project(np.column_stack([seen, np.ones(len(seen))])))


def telling_channel(patch: np.ndarray, quad: np.ndarray) -> np.ndarray:
    """The mix of colours that tells the card from the wood around it best, as float32."""
    return _best_mix(*_card_and_wood(patch, quad))


def _best_mix(values: np.ndarray, card: np.ndarray, wood: np.ndarray) -> np.ndarray:
    within = np.cov(card.T) + np.cov(wood.T) + LEAST_SPREAD * float(np.ptp(values)) ** 2 * np.eye(3)
    mix = np.linalg.solve(within, np.median(card, axis=0) - np.median(wood, axis=0))
    # Of one colour on both sides no mix tells anything: the side is not seen.
    mix /= max(float(np.abs(mix).sum()), 1e-12)
    return np.ascontiguousarray(values @ mix.astype(np.float32))


def unlike_wood(patch: np.ndarray, quad: np.ndarray) -> np.ndarray:
    """How far each pixel is from the wood's own colours, in their spread, as float32.

    Across a side the light goes straight from the wood's to the card's colour there, and so does this distance; along
    a side the card may change its colour.
    """
    values, _, wood = _card_and_wood(patch, quad)
    spread = np.cov(wood.T) + LEAST_SPREAD * float(np.ptp(values)) ** 2 * np.eye(3)
    off = (values - np.median(wood, axis=0)) @ np.linalg.cholesky(np.linalg.inv(spread))
    return np.ascontiguousarray(np.linalg.norm(off, axis=2).astype(np.float32))


def _card_and_wood(patch: np.ndarray, quad: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Amounts of light (H, W, 3), those of the card (N, 3) within the quadrilateral and of the wood (M, 3) about it."""
    inside = np.zeros(patch.shape[:2], np.uint8)
    centre = quad.mean(axis=0)
    cv2.fillPoly(inside, [np.round(centre + (quad - centre) * 0.94).astype(np.int32)], (1,))
    outside = np.ones_like(inside)
    cv2.fillPoly(outside, [np.round(centre + (quad - centre) * 1.08).astype(np.int32)], (0,))
    # Lenses blur light, not stored levels: a side fitted in levels lies toward its dark side.
    values = linear_light(patch).astype(np.float32)
    return values, values[inside > 0], values[outside > 0]
