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
from fitcheck.reference.card.card_find import card_candidates, unlike_candidates
from fitcheck.reference.card.card_kind import CARDS, CardKind
from fitcheck.reference.card.card_sides import Channel, as_seen, fit_corners, telling_channel, unlike_wood
from fitcheck.reference.pose import PRIOR_CENTRE, PRIOR_FOCAL, FacePose, solve_pose
from fitcheck.reference.sides.straight_sides import UNSEEN
from fitcheck.reference.sighting import Sighting

MOST_CANDIDATES = 8
#: Edge-on views see the card up to 76 degrees off square, its short side shortened to a quarter.
SLANTWISE = 4.2
#: Relative mismatch of the aspect beyond which a card is another card: half of the 3.9 % between a bank and a US
#: business card.
ASPECT_TOLERANCE = 0.013
#: Told as another card than it is, a card is read as tilted, and bends the lens: the sum of squares of corners and lens
#: in standard uncertainties. Over 57 made photographs and those at hand the right kind strained them by 67 at most.
MOST_STRAIN = 90.0
#: A smaller strain counts where another known card, of clearly another shape, fits this many times better.
DOUBTFUL_STRAIN, TIMES_BETTER, UNLIKE = 12.0, 3.0, 0.02
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
    longest = SLANTWISE * kind.aspect
    try:
        found = _cards_at(card_candidates(pixels, longest)[:MOST_CANDIDATES], pixels, camera, kind, telling_channel)
        return [_doubted(pixels, camera, *one) for one in found]
    except Refused as refused:
        unlike = unlike_candidates(pixels, longest)[:MOST_CANDIDATES]
        try:
            found = _cards_at(unlike, pixels, camera, kind, unlike_wood)
        except Refused:
            raise refused from None
        sure = [_widened(*one, UNLIKE_DOUBT) for one in found if one[0].u_px.max() < MOST_UNLIKE_PX]
        if not sure:
            raise
        return sure


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
    found: list[tuple[float, Sighting, FacePose]] = []
    best_reason: tuple[float, Refused] | None = None
    for quad in candidates:
        if any(_within(quad, other) for _, other, _ in found):
            continue
        try:
            with carried(cards([quad])):
                corners, u_px, blur_px = fit_corners(pixels, quad, camera, channel)
                seen = as_seen(kind, pixels, corners)
                misfit, sighting, pose = _best_turn((corners, u_px), camera, seen)
        except Refused as refused:
            # Bare wood gives patches whose sides do not stand out: that is no card seen.
            if refused.reason.text != UNSEEN:
                best_reason = best_reason or (np.inf, refused)
            continue
        if misfit < ASPECT_TOLERANCE and not _strained((corners, u_px), camera, seen, _strain(sighting, pose)):
            with carried(cards([corners])):
                _refuse_blurred(blur_px, sighting)
            if not any(_overlap(sighting, other) for _, other, _ in found):
                found.append((misfit, sighting, pose))
        elif best_reason is None or misfit < best_reason[0]:
            best_reason = (misfit, _other_shape((corners, u_px), camera, kind))
    if found:
        return [(sighting, pose) for _, sighting, pose in found]
    if best_reason is not None:
        raise best_reason[1]
    raise Refused(
        "no-reference",
        f"No card ({kind.name}, {kind.width_mm:g} x {kind.height_mm:g} mm) stands out in the picture. "
        "Lay one flat on the strake below the lap, wholly in the picture and on wood of another shade, "
        "and photograph again.",
    )


def _refuse_blurred(blur_px: float, sighting: Sighting) -> None:
    """The card's own sides tell how sharp the picture is where it matters, in the millimetres that matter."""
    long_px = np.linalg.norm(sighting.points_px[0] - sighting.points_px[1])
    blur_mm = blur_px * float(np.ptp(sighting.points_mm[:, 0]) / long_px)
    if blur_mm > MOST_BLUR_MM and blur_px > LEAST_BLUR_PX:
        raise Refused(
            "photo-blurred",
            f"The picture is blurred by {blur_mm:.1f} mm at the reference; under {MOST_BLUR_MM:g} mm is needed to see "
            "a pencil line. Focus on the lap, hold still or rest the camera, and bring light.",
        )


def _best_turn(
    fitted: tuple[np.ndarray, np.ndarray], camera: Camera, kind: CardKind
) -> tuple[float, Sighting, FacePose]:
    """The card laid either way round, whichever fits; the misfit is relative to its size."""
    corners, u_px = fitted
    options: list[tuple[float, Sighting, FacePose]] = []
    refusals = []
    for roll in (0, 1):
        turned, u_turned = np.roll(_from_upper_left(corners), -roll, axis=0), np.roll(u_px, -roll)
        half = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * (kind.width_mm / 2, kind.height_mm / 2)
        points = np.column_stack([half, np.full(4, kind.thickness_mm)])
        sighting = Sighting(kind.name, points, turned, u_turned, kind.u_scale, corners)
        try:
            pose = solve_pose(sighting, camera)
        except Refused as refused:
            # Seen slantwise the wrong way round looks more slantwise still.
            refusals.append(refused)
            continue
        size_px = float(np.linalg.norm(turned[0] - turned[2]))
        options.append((pose.residual_px / size_px * 2.0, sighting, pose))
    if not options:
        raise refusals[0]
    return min(options, key=lambda option: option[0])


def _from_upper_left(corners: np.ndarray) -> np.ndarray:
    return np.roll(corners, -int(np.argmin(corners.sum(axis=1))), axis=0)


def _within(quad: np.ndarray, card: Sighting) -> bool:
    """Whether a candidate's middle lies on a card that was found: fitted, it would be that card again."""
    middle = quad.mean(axis=0)
    outline = card.outline_px.astype(np.float32)
    return cv2.pointPolygonTest(outline, (float(middle[0]), float(middle[1])), False) >= 0


def _overlap(one: Sighting, other: Sighting) -> bool:
    apart = np.linalg.norm(one.points_px.mean(axis=0) - other.points_px.mean(axis=0))
    return bool(apart < 0.5 * np.linalg.norm(one.points_px[0] - one.points_px[2]))


def _strain(sighting: Sighting, pose: FacePose) -> float:
    prior = np.array([PRIOR_FOCAL, PRIOR_CENTRE, PRIOR_CENTRE])
    corners = len(sighting.u_px) * (pose.residual_px / float(np.median(sighting.u_px))) ** 2
    return float(corners + ((pose.lens / prior) ** 2).sum())


def _strained(fitted: tuple[np.ndarray, np.ndarray], camera: Camera, kind: CardKind, strain: float) -> bool:
    """Whether only a bent lens or bent sides would make the card in sight one of this kind."""
    if strain > MOST_STRAIN or strain < DOUBTFUL_STRAIN:
        return strain > MOST_STRAIN
    unlike = [other for other in CARDS.values() if abs(other.aspect / kind.aspect - 1.0) > UNLIKE]
    return any(TIMES_BETTER * _strain(*_best_turn(fitted, camera, other)[1:]) < strain for other in unlike)


def _other_shape(fitted: tuple[np.ndarray, np.ndarray], camera: Camera, kind: CardKind) -> Refused:
    """What the card in sight is instead, by trying the known ones."""
    tried = {name: _best_turn(fitted, camera, other) for name, other in CARDS.items()}
    strains = {name: _strain(sighting, pose) for name, (_, sighting, pose) in tried.items()}
    likely = min(strains, key=lambda name: strains[name])
    corners = fitted[0]
    sides = np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1).reshape(2, 2).mean(axis=0)
    seen = sides.max() / sides.min()
    looks = f" It looks like {likely}." if strains[likely] < MOST_STRAIN and likely != kind.name else ""
    return Refused(
        "reference-aspect",
        f"The card in sight has not the shape of {kind.name} "
        f"({kind.aspect:.3f} long to wide; seen about {seen:.3f}).{looks} "
        "Give the kind that lies there, lay it flat, or measure it and give its size, such as 88.6x50.7mm.",
        cards([corners]),
    )
