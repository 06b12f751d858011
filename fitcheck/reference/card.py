"""A bank card, a business card or a card of measured size, found in the photograph and fitted to a fraction of a
pixel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.reference.card_find import card_candidates, unlike_candidates
from fitcheck.reference.kinds import CARDS, CardKind, kind_by_aspect
from fitcheck.reference.pose import PRIOR_CENTRE, PRIOR_FOCAL, FacePose, solve_pose
from fitcheck.reference.sides import UNSEEN, Side, corners_of, fit_side
from fitcheck.reference.sighting import Sighting
from fitcheck.reference.steps import linear_light
from fitcheck.refusal import Refused

#: From a patch (H, W, 3) of the picture and a quadrilateral in it: a channel (H, W) in which the card stands out.
Channel = Callable[[np.ndarray, np.ndarray], np.ndarray]
MOST_CANDIDATES = 8
#: Variance that every colour is taken to have at least, as a share of the whole range squared.
LEAST_SPREAD = 6e-5
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
#: Sides of a card are seldom told better than this, whatever the scatter of their samples says.
LEAST_CORNER_PX = 0.05
#: Channels that put a card's size further apart than this many times its doubt cast doubt on it.
CHANNELS_APART = 1.5
#: A card found by being unlike the wood is the worse told for it: over 20 made photographs its size was off by 0.4 %.
#: A side that runs off to streaks of grain shows by the doubt of its corners.
UNLIKE_DOUBT, MOST_UNLIKE_PX = 0.004, 0.6
#: A dark card's own side and its shadow on the wood count as card, so it looks larger by so much, in mm, and its
#: uncertainty; on 66 made photographs by 0.4 ± 0.3. Wholly so for a card darker than the wood by this share (natural
#: logarithm), not at all for one lighter by as much.
DARK_RIM_MM, U_DARK_RIM_MM, DARKER = 0.4, 0.3, 0.5
#: A blur (standard deviation) wider than a pencil line leaves nothing of it; a coarse picture is not a blurred one.
MOST_BLUR_MM, LEAST_BLUR_PX = 0.9, 2.2
#: The second try, for sides that show the card's thickness: how much smaller, and how far off it may then be.
ROUGH_SHRINK, ROUGH_REACH_PX = 3, 6.0


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
        found = _cards_at(card_candidates(pixels, longest)[:MOST_CANDIDATES], pixels, camera, kind, _telling_channel)
        return [_doubted(pixels, camera, *one) for one in found]
    except Refused as refused:
        unlike = unlike_candidates(pixels, longest)[:MOST_CANDIDATES]
        try:
            found = _cards_at(unlike, pixels, camera, kind, _unlike_wood)
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
        corners = _fit_corners(pixels, sighting.outline_px, camera, _unlike_wood)[0]
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
            corners, u_px, blur_px = _fit_corners(pixels, quad, camera, channel)
            seen = _as_seen(kind, pixels, corners)
            misfit, sighting, pose = _best_turn((corners, u_px), camera, seen)
        except Refused as refused:
            # Bare wood gives patches whose sides do not stand out: that is no card seen.
            if refused.reason.text != UNSEEN:
                best_reason = best_reason or (np.inf, refused)
            continue
        if misfit < ASPECT_TOLERANCE and not _strained((corners, u_px), camera, seen, _strain(sighting, pose)):
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


def _as_seen(kind: CardKind, pixels: np.ndarray, corners: np.ndarray) -> CardKind:
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


def _fit_corners(
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
    corners_px, covariance = _meet(sides, camera)
    u_px = np.sqrt(np.trace(covariance, axis1=1, axis2=2) / 2.0)
    if (corners_px < 1).any() or (corners_px > np.array(pixels.shape[1::-1]) - 2).any():
        raise Refused("reference-cut", "The reference is cut off by the picture's edge. Photograph it whole.")
    blur_px = float(np.median([side.blur_px for side in sides]))
    return corners_px, np.maximum(u_px, LEAST_CORNER_PX), blur_px


def _reach_px(quad: np.ndarray) -> float:
    return max(4.0, 0.035 * float(np.linalg.norm(quad[0] - quad[2])))


def _fit_sides(
    gray: np.ndarray, quad: np.ndarray, camera: Camera, low: np.ndarray, *, reach_px: float, shrink: int = 1
) -> list[Side]:
    """The four sides near ``quad`` (4, 2), full-size pixels, in a patch that begins at ``low`` (2,) and was reduced
    by ``shrink``."""
    coarse = (quad - low + 0.5) / shrink - 0.5
    return [
        fit_side(
            gray,
            coarse[i],
            coarse[(i + 1) % 4],
            reach_px=reach_px / shrink,
            undistort=lambda at: camera.undistort((at + 0.5) * shrink - 0.5 + low),
        )
        for i in range(4)
    ]


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


def _telling_channel(patch: np.ndarray, quad: np.ndarray) -> np.ndarray:
    """The mix of colours that tells the card from the wood around it best, as float32."""
    values, card, wood = _card_and_wood(patch, quad)
    within = np.cov(card.T) + np.cov(wood.T) + LEAST_SPREAD * float(np.ptp(values)) ** 2 * np.eye(3)
    mix = np.linalg.solve(within, np.median(card, axis=0) - np.median(wood, axis=0))
    mix /= np.abs(mix).sum()
    return np.ascontiguousarray(values @ mix.astype(np.float32))


def _unlike_wood(patch: np.ndarray, quad: np.ndarray) -> np.ndarray:
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
    looks = looks or (
        f" Its sides look like {kind_by_aspect(seen)}." if kind_by_aspect(seen) not in (None, kind.name) else ""
    )
    return Refused(
        "reference-aspect",
        f"The card in sight has not the shape of {kind.name} "
        f"({kind.aspect:.3f} long to wide; seen about {seen:.3f}).{looks} "
        "Give the kind that lies there, lay it flat, or measure it and give its size, such as 88.6x50.7mm.",
    )
