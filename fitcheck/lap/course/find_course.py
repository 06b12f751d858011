"""Find where the lap runs in a photograph: its course, on which side of the reference, and how the hull lies."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.candidates import carried
from fitcheck.ground.refusal import Refused
from fitcheck.lap.course.boundaries import Boundary, boundaries, lap_direction
from fitcheck.lap.course.which_lap import keel_of, likely_laps
from fitcheck.lap.shown import courses_shown, edges_shown
from fitcheck.reference.pose import FacePose

#: The course is found in a small picture with pixels of about so much.
COARSE_MM = 0.4
#: A pencil line of half a millimetre must cover more than a pixel to be told from grain.
MOST_PIXEL_MM = 0.4


@dataclass(frozen=True)
class Course:
    """Where the lap runs, roughly: ``y_mm`` (C,) over ``along_mm`` (C,) in the frame of ``pose``.

    That frame has x along the lap and y toward the sheer; ``keel`` tells how the hull lies in the picture.
    """

    pose: FacePose
    keel: str
    along_mm: np.ndarray
    y_mm: np.ndarray


def pixel_mm(pose: FacePose) -> float:
    """Size of a pixel on the face at the reference."""
    return float(np.linalg.norm(pose.translation_mm) / pose.camera.matrix[0, 0])


def fine_pixel_mm(pose: FacePose) -> float:
    """As :func:`pixel_mm`. Raises :class:`Refused` ``too-far`` where a pixel is too coarse for a pencil line."""
    px_mm = pixel_mm(pose)
    if px_mm > MOST_PIXEL_MM:
        raise Refused(
            "too-far",
            f"A pixel covers {px_mm:.2f} mm of the lap; {MOST_PIXEL_MM:g} mm or less is needed to tell a pencil line "
            "from grain. Photograph from nearer, without zoom, at the camera's full size.",
        )
    return px_mm


def find_course(
    pixels: np.ndarray,
    pose: FacePose,
    outlines_px: tuple[np.ndarray, ...],
    keel: str,
    edge_at_px: tuple[tuple[float, float], ...] = (),
) -> Course:
    """Where the lap most likely runs in a photograph, and how the hull lies; ``keel`` is "down", "up" or "auto".

    ``edge_at_px`` are places on the plank's edge that the builder pointed at.
    Raises :class:`fitcheck.ground.refusal.Refused` where no edge is found or the keel cannot be told.
    """
    courses = find_courses(pixels, pose, outlines_px, keel, edge_at_px)
    if any(other.keel != courses[0].keel for other in courses):
        with carried(courses_shown(courses)):
            raise keel_unclear()
    return courses[0]


def find_courses(
    pixels: np.ndarray,
    pose: FacePose,
    outlines_px: tuple[np.ndarray, ...],
    keel: str,
    edge_at_px: tuple[tuple[float, float], ...] = (),
) -> list[Course]:
    """As :func:`find_course`, with every course that the lap could have, likeliest first."""
    shrink = max(1, int(COARSE_MM / pixel_mm(pose)))
    small = pixels
    if shrink > 1:
        small = cv2.resize(pixels, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    pose = pose.turned(lap_direction(small, pose, outlines_px, shrink))
    found = boundaries(small, pose, outlines_px, shrink, through_px=edge_at_px)
    with carried(edges_shown(found, pose)):
        laps = found if edge_at_px else likely_laps(found, pose, keel)
    return [_course_along(lap, pose) for lap in laps]


def keel_unclear() -> Refused:
    """The refusal where an edge on either side of the reference could be the lap's."""
    return Refused(
        "keel-unclear",
        "Two edges could be the lap, one on either side of the reference. Say which way the hull lies with "
        "--keel down or --keel up.",
    )


def edge_ambiguous() -> Refused:
    """The refusal where more than one edge could be the plank's."""
    return Refused(
        "edge-ambiguous",
        "More than one edge could be the plank's. Point at it with --edge-at u,v, or light the lap from the keel's "
        "side so that its edge stands out.",
    )


def _course_along(lap: Boundary, pose: FacePose) -> Course:
    keel = keel_of(lap, pose)
    if lap.off_mm < 0:
        return Course(pose.turned(0.0, flip=True), keel, -lap.along_mm[::-1], -lap.y_mm[::-1])
    return Course(pose, keel, lap.along_mm, lap.y_mm)
