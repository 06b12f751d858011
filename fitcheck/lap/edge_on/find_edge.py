"""Where the plank's edge runs in an edge-on photograph: roughly, and which side of it the keel lies.

With a reference its pose tells both: the camera stands on the keel side, and the inner corner is the first long
boundary of the strake beyond the reference, with the outer corner a known way further. Without one, the two corners are
looked for as a pair across the whole picture.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.candidates import carried
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.course.boundaries import Boundary, boundaries, lap_direction
from fitcheck.lap.course.find_course import COARSE_MM, pixel_mm
from fitcheck.lap.section import Section, corner_shift_mm
from fitcheck.lap.shown import edges_shown
from fitcheck.reference.pose import FacePose

CLEAR_MM, MOST_OFF_MM = 1.0, 160.0
LEAST_STRENGTH = 1.5
#: How much of a partner's strength counts, and within how far of its expected place it is one.
PARTNER_SHARE, PARTNER_MM, PARTNER_RELATIVE = 0.8, 1.5, 0.08
NEAR_MM = 150.0
#: Less off square than this, the edge face and a slit are too foreshortened; the guide asks for 55 to 75.
LEAST_SLANT_DEG, GOOD_SLANT_DEG = 40.0, 52.0


@dataclass(frozen=True)
class EdgeOn:
    """The rough edge: ``points_px`` (M, 2) of the inner corner in order, ``keelward`` (2,) in the picture, ``keel``
    "down" or "up", and ``height_px`` the rough seen height of the edge face.

    ``pose`` has x along the lap and y toward the sheer, with the camera on the keel side; None without a reference.
    """

    points_px: np.ndarray
    keelward: np.ndarray
    keel: str
    height_px: float
    pose: FacePose | None = None
    warnings: tuple[Reason, ...] = ()


def find_by_reference(
    pixels: np.ndarray,
    pose: FacePose,
    outlines_px: tuple[np.ndarray, ...],
    section: Section,
    edge_at_px: tuple[tuple[float, float], ...] = (),
) -> EdgeOn:
    """The edge beyond a reference on the strake, in an upright photograph (H, W, 3) BGR.

    ``pose`` is in the reference's frame; ``edge_at_px`` are places on the inner corner that the builder pointed at.
    Raises :class:`Refused` ``not-edge-on`` where the photograph looks too squarely at the face, ``no-edge`` where no
    edge is found.
    """
    shrink = max(1, int(COARSE_MM / pixel_mm(pose)))
    small = pixels
    if shrink > 1:
        small = cv2.resize(pixels, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    pose = pose.turned(lap_direction(small, pose, outlines_px, shrink))
    if pose.camera_face_mm[1] > 0:
        pose = pose.turned(0.0, flip=True)
    found = boundaries(small, pose, outlines_px, shrink, through_px=edge_at_px, most=8)
    least = max(float(pose.face_from_px(outline)[:, 1].max()) for outline in outlines_px) + CLEAR_MM
    beyond = [one for one in found if least < one.off_mm < MOST_OFF_MM and one.strength > LEAST_STRENGTH]
    if not beyond:
        raise Refused(
            "no-edge",
            "No plank edge is in sight beyond the reference. Lay the reference on the strake below, 2 to 10 cm from "
            "the edge, and look up along the face from the keel side.",
            edges_shown(found, pose),
        )
    inner = max(beyond, key=lambda one: _likeness(one, beyond, pose, section))
    with carried(edges_shown([inner], pose)):
        return edge_on_along(pose, inner.along_mm, inner.y_mm, inner.off_mm, section, pixels.shape[1::-1])


def edge_on_along(
    pose: FacePose,
    along_mm: np.ndarray,
    y_mm: np.ndarray,
    off_mm: float,
    section: Section,
    size_px: tuple[int, ...],
) -> EdgeOn:
    """The rough edge that runs through ``y_mm`` (N,) over ``along_mm`` (N,) on the face, ``off_mm`` at its middle.

    ``pose`` has x along the lap and y toward the sheer, ``size_px`` is the picture's (w, h). Raises :class:`Refused`
    ``not-edge-on`` as :func:`find_by_reference`.
    """
    warnings = _slant_warnings(slant_deg(pose, off_mm))
    points = pose.px_from_face(np.column_stack([along_mm, y_mm, np.zeros(len(y_mm))]))
    middle = pose.px_from_face(np.array([[0.0, off_mm, 0.0], [0.0, off_mm - 20.0, 0.0]]))
    keelward = (middle[1] - middle[0]) / np.linalg.norm(middle[1] - middle[0])
    top = pose.px_from_face(np.array([[0.0, off_mm, section.thickness_mm]]))[0]
    keel = "down" if keelward[1] > 0 else "up"
    inside = np.asarray((points > 2) & (points < np.array(size_px) - 3)).all(axis=1)
    points = points[_run_about(np.asarray(inside), int(np.argmin(np.abs(along_mm))))]
    return EdgeOn(points, keelward, keel, float(abs((top - middle[0]) @ keelward)), pose, warnings)


def _run_about(inside: np.ndarray, middle: int) -> slice:
    """The run of true places about the middle one: far out of the picture the lens model folds back into it."""
    outside = np.flatnonzero(~inside)
    low = outside[outside < middle].max(initial=-1) + 1
    high = outside[outside > middle].min(initial=len(inside))
    return slice(int(low), int(high))


def slant_deg(pose: FacePose, y_mm: float) -> float:
    """The angle off square at which the camera sees the face at ``y_mm``, in degrees."""
    camera = pose.camera_face_mm
    return float(np.degrees(np.arctan2(y_mm - camera[1], camera[2])))


def _likeness(one: Boundary, among: list[Boundary], pose: FacePose, section: Section) -> float:
    """Strong, with the outer corner where it should be, and near the reference."""
    level = np.full(len(one.along_mm), one.off_mm)
    shift = float(np.median(corner_shift_mm(pose, section, one.along_mm, level, chamfer_end="face")))
    slack = PARTNER_MM + PARTNER_RELATIVE * shift
    partners = [other.strength for other in among if abs(other.off_mm - one.off_mm - shift) < slack]
    support = PARTNER_SHARE * min(one.strength, max(partners)) if partners else 0.0
    return float((one.strength + support) * np.exp(-one.off_mm / NEAR_MM))


def refuse_square_on(slant: float) -> None:
    """Raise :class:`Refused` ``not-edge-on`` where the lap is seen too squarely for a slit to show."""
    if slant < LEAST_SLANT_DEG:
        raise Refused(
            "not-edge-on",
            f"The lap is seen {slant:.0f}° off square; a slit shows from 55° to 75°. Stand on the keel side and look "
            "up along the strake's face at the plank's edge.",
        )


def _slant_warnings(slant: float) -> tuple[Reason, ...]:
    refuse_square_on(slant)
    if slant < GOOD_SLANT_DEG:
        text = f"The lap is seen {slant:.0f}° off square; 55° to 75° from the keel side shows a slit better."
        return (Reason("slant-small", text),)
    return ()
