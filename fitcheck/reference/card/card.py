"""A bank card, a business card or a card of measured size, found in the photograph and fitted to a fraction of a
pixel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.candidates import cards, carried
from fitcheck.ground.refusal import Refused
from fitcheck.reference.card.card_find import card_candidates, joined, unlike_candidates
from fitcheck.reference.card.card_kind import CardKind
from fitcheck.reference.card.card_near import PATCH_SHARE, card_at, fits_another_kind
from fitcheck.reference.card.card_rank import LEAST_SCORE, score_of
from fitcheck.reference.card.card_shape import SLANTWISE, best_turn, is_of_kind, other_shape
from fitcheck.reference.card.card_sides import Channel, as_seen, fit_corners, telling_channel, unlike_wood
from fitcheck.reference.card.rims import settled
from fitcheck.reference.card.side_choices import likely_outlines
from fitcheck.reference.pose import FacePose, solve_pose
from fitcheck.reference.sides.straight_sides import UNSEEN
from fitcheck.reference.sighting import Sighting

MOST_CANDIDATES = 8
#: Outlines chosen by their sides that are fitted, where no patch fits as it is.
MOST_LOOKS = 3
#: Channels that put a card's size further apart than this many times its doubt cast doubt on it.
CHANNELS_APART = 1.5
#: A card found by being unlike the wood is the worse told for it: over 20 made photographs its size was off by 0.4 %.
#: A side that runs off to streaks of grain shows by the doubt of its corners.
UNLIKE_DOUBT, MOST_UNLIKE_PX = 0.004, 0.6
#: A blur (standard deviation) wider than a pencil line leaves nothing of it; a coarse picture is not a blurred one.
MOST_BLUR_MM, LEAST_BLUR_PX = 0.9, 2.2


def find_card(pixels: np.ndarray, camera: Camera, kind: CardKind) -> tuple[Sighting, FacePose]:
    """The card of this kind in the photograph, and the pose of the face under it.

    ``pixels`` (H, W, 3) BGR upright, ``camera`` turned the same way. Raises :class:`Refused` with ``no-reference``
    where no
    card is found, ``reference-aspect`` where one is found of another shape (it says which it looks like),
    ``reference-unclear`` where its sides cannot be fitted, ``reference-oblique`` where it is seen too slantwise.
    """
    sightings = all_cards(pixels, camera, kind)
    return sightings[0]


def all_cards(pixels: np.ndarray, camera: Camera, kind: CardKind) -> list[tuple[Sighting, FacePose]]:
    """Every card of this kind in the photograph, the surest first. Raises :class:`Refused` where there is none."""
    return [(settled(*one), one[1]) for one in _searched(pixels, camera, kind)]


def _searched(pixels: np.ndarray, camera: Camera, kind: CardKind) -> list[tuple[Sighting, FacePose]]:
    longest = SLANTWISE * kind.aspect
    patches = card_candidates(pixels, longest)[:MOST_CANDIDATES]
    try:
        found = _cards_at(patches, pixels, camera, kind, telling_channel)
        return [_doubted(pixels, camera, *one) for one in found]
    except Refused as refused:
        if refused.reason.code == "photo-blurred":
            raise
        unlike = unlike_candidates(pixels, longest)[:MOST_CANDIDATES]
        try:
            found = _cards_at(unlike, pixels, camera, kind, unlike_wood)
        except Refused:
            found = []
        sure = [_widened(*one, UNLIKE_DOUBT) for one in found if one[0].u_px.max() < MOST_UNLIKE_PX]
        found = sure or _by_sides([*joined(patches)[:2], *patches[:3], *unlike[:3]], pixels, camera, kind)
        if not found:
            raise refused from None
        return found


def _by_sides(
    patches: Sequence[np.ndarray], pixels: np.ndarray, camera: Camera, kind: CardKind
) -> list[tuple[Sighting, FacePose]]:
    """The likeliest card among patches that fit none as they are: their sides looked for together, by the shape."""
    outlines: list[tuple[float, np.ndarray]] = []
    for patch in patches:
        reach_px = PATCH_SHARE * float(np.linalg.norm(patch[0] - patch[2]))
        outlines += likely_outlines(pixels, patch, camera, kind, reach_px=reach_px, most=1)
    found: list[tuple[float, tuple[Sighting, FacePose]]] = []
    for odds, outline in sorted(outlines, key=lambda one: -one[0])[:MOST_LOOKS]:
        fitted = card_at(pixels, camera, kind, outline)
        if fitted is None or fitted[1][0].u_px.max() >= MOST_UNLIKE_PX:
            continue
        if not fits_another_kind(pixels, camera, kind, outline, PATCH_SHARE * float(np.ptp(outline))):
            found.append((odds + fitted[0], fitted[1]))
    if not found:
        return []
    return [_widened(*max(found, key=lambda one: one[0])[1], UNLIKE_DOUBT)]


def _doubted(pixels: np.ndarray, camera: Camera, sighting: Sighting, pose: FacePose) -> tuple[Sighting, FacePose]:
    """The card, its size doubted by as much as its sides lie elsewhere in the other channel.

    Where a card's colours change along its sides, no one mix of them tells it from the wood all along, and a side may
    be drawn off by a hundredth of the card.
    """
    try:
        corners = fit_corners(pixels, sighting.outline_px, camera, unlike_wood)[0]
    except Refused:
        return sighting, pose
    apart = abs(_around_px(corners) / _around_px(sighting.outline_px) - 1.0)
    if apart < CHANNELS_APART * sighting.u_scale:
        return sighting, pose
    return _widened(sighting, pose, apart)


def _widened(sighting: Sighting, pose: FacePose, doubt: float) -> tuple[Sighting, FacePose]:
    """The card with a further relative doubt of its size, and its pose."""
    doubted = replace(sighting, u_scale=float(np.hypot(sighting.u_scale, doubt)))
    return doubted, solve_pose(doubted, pose.camera)


def _around_px(corners: np.ndarray) -> float:
    return float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).sum())


def _cards_at(
    candidates: Sequence[np.ndarray], pixels: np.ndarray, camera: Camera, kind: CardKind, channel: Channel
) -> list[tuple[Sighting, FacePose]]:
    """The cards among candidates (4, 2), their sides fitted in the channel that tells each from the wood around it."""
    ranked: list[tuple[float, float, Sighting, FacePose]] = []
    best_reason: tuple[float, Refused] | None = None
    for quad in candidates:
        if any(_within(quad, card) and _area(quad) < _area(card.outline_px) for _, _, card, _ in ranked):
            continue
        try:
            with carried(cards([quad])):
                corners, u_px, blur_px = fit_corners(pixels, quad, camera, channel)
                seen = as_seen(kind, pixels, corners)
                turn = best_turn((corners, u_px), camera, seen)
        except Refused as refused:
            # Bare wood gives patches whose sides do not stand out: that is no card seen.
            if refused.reason.text != UNSEEN:
                best_reason = best_reason or (np.inf, refused)
            continue
        if is_of_kind((corners, u_px), camera, seen, turn):
            score = score_of(pixels, *turn[1:])
            if score > LEAST_SCORE:
                ranked.append((score, blur_px, *turn[1:]))
        elif best_reason is None or turn[0] < best_reason[0]:
            # A blurred card has no shape that could be told.
            other = _blurred(blur_px, turn[1]) or other_shape((corners, u_px), camera, kind)
            best_reason = (turn[0], other)
    if ranked:
        return _apart(ranked)
    if best_reason is not None:
        raise best_reason[1]
    raise Refused(
        "no-reference",
        f"No card ({kind.name}, {kind.width_mm:g} x {kind.height_mm:g} mm) stands out in the picture. "
        "Lay one flat on the strake below the lap, wholly in the picture and on wood of another shade, "
        "and photograph again.",
    )


def _apart(ranked: list[tuple[float, float, Sighting, FacePose]]) -> list[tuple[Sighting, FacePose]]:
    """The likeliest outlines, each clear of those before it: what lies on a card, or shares its sides, is no other."""
    found: list[tuple[Sighting, FacePose]] = []
    for _, blur_px, sighting, pose in sorted(ranked, key=lambda one: -one[0]):
        if any(_within(sighting.outline_px, other) or _within(other.outline_px, sighting) for other, _ in found):
            continue
        blurred = _blurred(blur_px, sighting)
        if blurred is not None:
            with carried(cards([sighting.outline_px])):
                raise blurred
        found.append((sighting, pose))
    return found


def _area(quad: np.ndarray) -> float:
    return float(cv2.contourArea(quad.astype(np.float32)))


def _blurred(blur_px: float, sighting: Sighting) -> Refused | None:
    """The refusal of a picture that is too blurred to measure in, else None.

    The card's own sides tell how sharp it is where it matters, in the millimetres that matter.
    """
    long_px = np.linalg.norm(sighting.points_px[0] - sighting.points_px[1])
    blur_mm = blur_px * float(np.ptp(sighting.points_mm[:, 0]) / long_px)
    if blur_mm > MOST_BLUR_MM and blur_px > LEAST_BLUR_PX:
        return Refused(
            "photo-blurred",
            f"The picture is blurred by {blur_mm:.1f} mm at the reference; under {MOST_BLUR_MM:g} mm is needed to see "
            "a pencil line. Focus on the lap, hold still or rest the camera, and bring light.",
        )
    return None


def _within(quad: np.ndarray, card: Sighting) -> bool:
    """Whether the middle of an outline (4, 2) lies on a card that was found."""
    middle = quad.mean(axis=0)
    outline = card.outline_px.astype(np.float32)
    return cv2.pointPolygonTest(outline, (float(middle[0]), float(middle[1])), False) >= 0
