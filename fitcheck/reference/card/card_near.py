"""A card near a rough outline, by sides and shape together: pointed at, or a patch that does not fit as it is."""

from __future__ import annotations

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.reference.card.card_kind import CARDS, CardKind
from fitcheck.reference.card.card_rank import LEAST_SCORE, score_of
from fitcheck.reference.card.card_shape import UNLIKE, best_turn, is_of_kind
from fitcheck.reference.card.card_sides import as_seen, fit_by_side
from fitcheck.reference.card.rims import settled
from fitcheck.reference.card.side_choices import likely_outlines
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Sighting

#: A patch found by its colours may be off by this share of its diagonal.
PATCH_SHARE = 0.06
#: Outlines that are fitted; how far a fitted side may be from where the choice put it, in pixels.
MOST_OUTLINES, FIT_REACH_PX = 6, 5.0
Card = tuple[Sighting, FacePose]


def cards_near(
    pixels: np.ndarray, camera: Camera, kind: CardKind, rough: np.ndarray, reach_px: float
) -> list[tuple[float, Card]]:
    """Cards of this kind near a rough outline (4, 2) px, with the log-odds of each, up to a constant.

    ``reach_px`` is how far the outline's corners may be off.
    """
    found = []
    for odds, outline in likely_outlines(pixels, rough, camera, kind, reach_px=reach_px, most=MOST_OUTLINES):
        fitted = card_at(pixels, camera, kind, outline)
        if fitted is not None:
            found.append((odds + fitted[0], fitted[1]))
    return found


def card_at(pixels: np.ndarray, camera: Camera, kind: CardKind, outline: np.ndarray) -> tuple[float, Card] | None:
    """The card of this kind whose sides lie along a likely outline (4, 2) px, with its score; None where none fits."""
    try:
        corners, u_px, _ = fit_by_side(pixels, outline, camera, reach_px=FIT_REACH_PX)
        seen = as_seen(kind, pixels, corners)
        turn = best_turn((corners, u_px), camera, seen)
    except Refused:
        return None
    score = score_of(pixels, *turn[1:])
    if score < LEAST_SCORE or not is_of_kind((corners, u_px), camera, seen, turn):
        return None
    return score, (settled(*turn[1:]), turn[2])


def fits_another_kind(pixels: np.ndarray, camera: Camera, kind: CardKind, rough: np.ndarray, reach_px: float) -> bool:
    """Whether a card of another shape is likelier near a rough outline (4, 2) px than one of this kind."""

    def odds(one: CardKind) -> float:
        likeliest = likely_outlines(pixels, rough, camera, one, reach_px=reach_px, most=1)
        return likeliest[0][0] if likeliest else -np.inf

    others = [other for other in CARDS.values() if abs(other.aspect / kind.aspect - 1.0) > UNLIKE]
    return max(map(odds, others)) > odds(kind)
