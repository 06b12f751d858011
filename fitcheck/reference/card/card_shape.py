"""Is a four-sided outline a card of a kind? Its pose, and how far corners, lens and rims must bend for it."""

from __future__ import annotations

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.candidates import cards
from fitcheck.ground.refusal import Refused
from fitcheck.reference.card.card_kind import CARDS, CardKind
from fitcheck.reference.card.rims import rims_left_open
from fitcheck.reference.pose import PRIOR_CENTRE, PRIOR_FOCAL, FacePose, solve_pose
from fitcheck.reference.sighting import Sighting

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

Fitted = tuple[np.ndarray, np.ndarray]


def best_turn(fitted: Fitted, camera: Camera, kind: CardKind) -> tuple[float, Sighting, FacePose]:
    """The card laid either way round, whichever fits; the misfit is relative to its size.

    ``fitted`` is the corners (4, 2) px and their standard uncertainties (4,). Raises :class:`Refused` where neither
    way round has a pose.
    """
    corners, u_px = fitted
    options: list[tuple[float, Sighting, FacePose]] = []
    refusals = []
    for roll in (0, 1):
        turn = int(np.argmin(corners.sum(axis=1))) + roll
        turned, u_turned = np.roll(corners, -turn, axis=0), np.roll(u_px, -turn)
        half = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * (kind.width_mm / 2, kind.height_mm / 2)
        points = np.column_stack([half, np.full(4, kind.thickness_mm)])
        sighting = Sighting(kind.name, points, turned, u_turned, kind.u_scale, corners)
        try:
            sighting = rims_left_open(sighting, solve_pose(sighting, camera))
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


def strain_of(sighting: Sighting, pose: FacePose) -> float:
    """What the pose bends to fit: the sum of squares of corners, lens and rims in their standard uncertainties."""
    prior = np.array([PRIOR_FOCAL, PRIOR_CENTRE, PRIOR_CENTRE])
    corners = len(sighting.u_px) * (pose.residual_px / float(np.median(sighting.u_px))) ** 2
    return float(corners + ((pose.lens / prior) ** 2).sum() + (pose.slack**2).sum())


def is_of_kind(fitted: Fitted, camera: Camera, kind: CardKind, found: tuple[float, Sighting, FacePose]) -> bool:
    """Whether the outline is one of this kind, without a bent lens or bent sides; ``found`` is :func:`best_turn`'s."""
    misfit, sighting, pose = found
    strain = strain_of(sighting, pose)
    if misfit >= ASPECT_TOLERANCE or strain > MOST_STRAIN:
        return False
    if strain < DOUBTFUL_STRAIN:
        return True
    unlike = [other for other in CARDS.values() if abs(other.aspect / kind.aspect - 1.0) > UNLIKE]
    return not any(TIMES_BETTER * strain_of(*best_turn(fitted, camera, other)[1:]) < strain for other in unlike)


def other_shape(fitted: Fitted, camera: Camera, kind: CardKind) -> Refused:
    """What the card in sight is instead, by trying the known ones."""
    strains = {name: strain_of(*best_turn(fitted, camera, other)[1:]) for name, other in CARDS.items()}
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
