"""The card that the builder pointed at: four corners, roughly, or one place on it."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.candidates import cards
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.reference.card.card_find import card_candidates, clockwise, unlike_candidates
from fitcheck.reference.card.card_kind import CardKind
from fitcheck.reference.card.card_near import PATCH_SHARE, Card, cards_near
from fitcheck.reference.card.card_shape import SLANTWISE

#: How far a place pointed at may lie from the corner, in pixels, and as a share of the picture's longer side.
FINGER_PX, FINGER_SHARE = 28.0, 0.012
#: Parts of the picture about a place in which a card is looked for, as shares of its longer side.
ABOUT = (1.0, 0.5, 0.25)
MOST_PATCHES = 6


def card_pointed_at(pixels: np.ndarray, camera: Camera, kind: CardKind, at_px: tuple[tuple[float, float], ...]) -> Card:
    """The card at four corners (u, v), roughly and in any order, or with one place on it.

    ``pixels`` (H, W, 3) BGR upright, ``camera`` turned the same way. The places say which card is meant; where it lies
    is read from the picture. Raises :class:`Refused` ``no-reference`` where none of this kind is seen there, and
    :class:`WrongCall` where four places are no corners.
    """
    if len(at_px) == 4:
        rough = clockwise(np.array(at_px))
        if not cv2.isContourConvex(rough.astype(np.float32)):
            raise WrongCall("--reference-at: the four places are no corners of a card; give one at each corner")
        reach_px = max(FINGER_PX, FINGER_SHARE * max(pixels.shape[:2]))
        found = cards_near(pixels, camera, kind, rough, reach_px)
        return _likeliest(found, kind, rough)
    place = np.array(at_px[0])
    patches = _patches_about(pixels, place, SLANTWISE * kind.aspect)
    found = [
        card for patch in patches for card in cards_near(pixels, camera, kind, patch, PATCH_SHARE * _diagonal(patch))
    ]
    return _likeliest(found, kind, np.tile(place, (4, 1)))


def _likeliest(found: list[tuple[float, Card]], kind: CardKind, pointed: np.ndarray) -> Card:
    if found:
        return max(found, key=lambda one: one[0])[1]
    raise Refused(
        "no-reference",
        f"No card ({kind.name}, {kind.width_mm:g} x {kind.height_mm:g} mm) is seen where --reference-at points. "
        "Point at its four corners, check its kind, or lay it on wood of another shade and photograph again.",
        cards([pointed]),
    )


def _patches_about(pixels: np.ndarray, place: np.ndarray, longest: float) -> list[np.ndarray]:
    """Four-sided patches (4, 2) px about a place, looked for in the picture and in smaller parts of it."""
    patches: list[np.ndarray] = []
    reach = max(pixels.shape[:2])
    for share in ABOUT:
        low = np.floor(place - 0.5 * share * reach).astype(int).clip(0)
        high = np.ceil(place + 0.5 * share * reach).astype(int) + 1
        part = pixels[low[1] : high[1], low[0] : high[0]]
        for quad in (*card_candidates(part, longest), *unlike_candidates(part, longest)):
            about = cv2.pointPolygonTest((quad + low).astype(np.float32), (float(place[0]), float(place[1])), False)
            if about > 0 and not any(_alike(quad + low, other) for other in patches):
                patches.append(quad + low)
    return sorted(patches, key=lambda patch: -_diagonal(patch))[:MOST_PATCHES]


def _alike(one: np.ndarray, other: np.ndarray) -> bool:
    return bool(np.abs(one - other).max() < 0.03 * _diagonal(one))


def _diagonal(quad: np.ndarray) -> float:
    return float(np.linalg.norm(quad[0] - quad[2]))
