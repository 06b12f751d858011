"""Where the lap could run in a photograph, by the trained score: courses with the chance of each."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.ground.refusal import Refused
from fitcheck.lap.course.boundaries import lap_direction
from fitcheck.lap.course.course_evidence import ROW_MM, CourseEvidence, course_evidence
from fitcheck.lap.course.find_course import COARSE_MM, Course, pixel_mm
from fitcheck.lap.evidence.pointed import ASTRAY, Pointed
from fitcheck.reference.pose import FacePose

#: Hulls are photographed upright more often than not: log odds.
UPRIGHT = 1.7
#: A whole photograph's evidence for one course counts by so much: what is strange in it is strange all along.
WEIGHT = 0.02
#: Courses with less chance than this are none.
LEAST_CHANCE = 0.02
#: An edge that looks as if the plank lay on the reference's side may still be the lap's: what that costs.
TURNED_WORTH = -60.0
#: Where one stands out by so much the lap is not looked for across as well.
PLAIN_EVIDENCE = 60.0
#: Where no course stands out of even wood by so much (natural log of its odds), there is no edge.
LEAST_EVIDENCE = -150.0
#: A finger points to within so many pixels of the picture, and may mean either corner of the edge (standard
#: uncertainties).
FINGER_PX, EITHER_CORNER_MM = 8.0, 3.0
#: Rows about a course's middle that are the same course, and the most courses on one side.
SAME_MM, MOST_ON_A_SIDE = 4.0, 2
#: What of a step's chance must lie on a course for the course to run there.
LEAST_SHARE = 0.02
#: A second course on one side must hold so much of that side's chance.
SECOND_SHARE = 0.1


@dataclass(frozen=True)
class ScoredCourse(Course):
    """A course with its ``chance`` against the others."""

    chance: float = 1.0


@dataclass(frozen=True, eq=False)
class _Side:
    """The evidence for a lap on one side of the reference, in the frame of ``pose``, and where a finger pointed."""

    pose: FacePose
    evidence: CourseEvidence
    pointed: Pointed | None

    @property
    def sheer_up(self) -> bool:
        """Whether the sheer lies toward y: away from the reference, which lies on the strake."""
        return self.evidence.sheer_up != self.evidence.on_plank

    @property
    def keel(self) -> str:
        """How the hull lies in the picture if this edge is the lap's."""
        upright = keel_in_picture(self.pose)
        return upright if self.sheer_up else {"down": "up", "up": "down"}[upright]

    @property
    def worth(self) -> float:
        """The log odds of the lap's edge here at all."""
        turned = TURNED_WORTH if self.evidence.on_plank else 0.0
        return self.evidence.marginals.log_total + turned + (UPRIGHT if self.keel == "down" else 0.0)

    def course(self, rows: np.ndarray, chance: float) -> ScoredCourse:
        """The course in rows (T,), NaN where it cannot be told."""
        from scipy.ndimage import gaussian_filter1d

        one, known = self.evidence, np.isfinite(rows)
        along = one.along_mm[known]
        y = gaussian_filter1d(np.interp(rows[known], np.arange(len(one.y_mm)), one.y_mm), 1.0, mode="nearest")
        if self.sheer_up:
            return ScoredCourse(self.pose, self.keel, along, y, chance)
        return ScoredCourse(self.pose.turned(0.0, flip=True), self.keel, -along[::-1], -y[::-1], chance)


def scored_courses(
    pixels: np.ndarray,
    pose: FacePose,
    outlines_px: tuple[np.ndarray, ...],
    keel: str,
    edge_at_px: tuple[tuple[float, float], ...] = (),
) -> list[ScoredCourse]:
    """Every course that the lap could have, likeliest first; ``keel`` is "down", "up" or "auto".

    ``edge_at_px`` are places on the plank's edge that the builder pointed at. Raises
    :class:`fitcheck.ground.refusal.Refused` where no edge is found.
    """
    shrink = max(1, int(COARSE_MM / pixel_mm(pose)))
    small = pixels
    if shrink > 1:
        small = cv2.resize(pixels, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    along = pose.turned(lap_direction(small, pose, outlines_px, shrink))
    found: list[_Side] = []
    # Rays, brush marks or saw marks may run across the lap: where nothing is found along them it is looked for across.
    for turn in (0.0, np.pi / 2):
        way = along.turned(turn)
        pointed = _pointed(way, edge_at_px)
        sides = [_Side(way, one, pointed) for one in course_evidence(small, way, outlines_px, shrink, pointed)]
        sides = [one for one in sides if keel in ("auto", one.keel)]
        found += sides
        if not edge_at_px and max(one.worth for one in sides) > PLAIN_EVIDENCE:
            break
    best = max(one.worth for one in found)
    if best < LEAST_EVIDENCE:
        raise Refused(
            "no-edge",
            "No plank edge is in sight near the reference. Lay the reference on the strake below, "
            "2 to 10 cm from the edge.",
        )
    courses = [
        side.course(path, share * _passes(side.pointed, side.evidence, path) * np.exp(WEIGHT * (side.worth - best)))
        for side in found
        for path, share in _paths(side.evidence)
    ]
    apart = _apart(sorted(courses, key=lambda one: -one.chance))
    whole = sum(one.chance for one in apart)
    likely = [replace(one, chance=one.chance / whole) for one in apart]
    return sorted((one for one in likely if one.chance > LEAST_CHANCE), key=lambda one: -one.chance)


def _apart(courses: list[ScoredCourse]) -> list[ScoredCourse]:
    """The courses, each that runs along a likelier one counted to that."""
    kept: list[ScoredCourse] = []
    for one in courses:
        for at, other in enumerate(kept):
            same_frame = np.allclose(one.pose.rotation, other.pose.rotation)
            off = np.interp(one.along_mm, other.along_mm, other.y_mm) - one.y_mm
            if same_frame and np.median(np.abs(off)) < SAME_MM:
                kept[at] = replace(other, chance=other.chance + one.chance)
                break
        else:
            kept.append(one)
    return kept


def _pointed(pose: FacePose, at_px: tuple[tuple[float, float], ...]) -> Pointed | None:
    if not at_px:
        return None
    on_face = pose.face_from_px(np.array(at_px, float))
    return Pointed(on_face[:, 0], -on_face[:, 1], float(np.hypot(FINGER_PX * pixel_mm(pose), EITHER_CORNER_MM)))


def _passes(pointed: Pointed | None, one: CourseEvidence, rows: np.ndarray) -> float:
    """How likely (up to 1) the places pointed at are, for a course in rows (T,) that passes them so near."""
    if pointed is None:
        return 1.0
    known = np.isfinite(rows)
    y = np.interp(rows[known], np.arange(len(one.y_mm)), one.y_mm)
    off = np.interp(pointed.along_mm, one.along_mm[known], y) + pointed.down_mm
    return float(np.prod((1.0 - ASTRAY) * np.exp(-0.5 * (off / pointed.u_mm) ** 2) + ASTRAY))


def _paths(one: CourseEvidence) -> list[tuple[np.ndarray, float]]:
    """The likeliest courses in rows (T,), NaN where it cannot be told, and their share of the chance."""
    left = one.marginals.in_row.copy()
    wide = round(SAME_MM / ROW_MM)
    found: list[tuple[np.ndarray, float]] = []
    for _ in range(MOST_ON_A_SIDE):
        rows = _followed(left, 2 * wide)
        about = np.abs(np.arange(len(left))[:, None] - rows[None, :]) <= wide
        held = np.where(about, left, 0.0)
        share = held.sum(axis=0)
        if share.mean() < (SECOND_SHARE if found else LEAST_SHARE):
            break
        middle = (held * np.arange(len(left))[:, None]).sum(axis=0) / np.maximum(share, 1e-9)
        found.append((np.where(share > LEAST_SHARE, middle, np.nan), float(share.mean())))
        left[np.abs(np.arange(len(left))[:, None] - rows[None, :]) <= 2 * wide] = 0.0
    return found


def _followed(chance: np.ndarray, reach: int) -> np.ndarray:
    """Rows (T,) of a course followed both ways from the surest cell, at most ``reach`` rows a step."""
    rows = np.empty(chance.shape[1], int)
    start = int(chance.max(axis=0).argmax())
    rows[start] = chance[:, start].argmax()
    for way in (1, -1):
        at = start
        while 0 <= at + way < len(rows):
            low = max(0, rows[at] - reach)
            near = chance[low : rows[at] + reach + 1, at + way]
            rows[at + way] = low + int(near.argmax()) if near.max() > 1e-6 else rows[at]
            at += way
    return rows


def keel_in_picture(pose: FacePose) -> str:
    """How a hull with its sheer toward y lies in the picture: with its keel "down" or "up"."""
    ends = pose.px_from_face(np.array([[0.0, 0.0, 0.0], [0.0, 20.0, 0.0]]))
    return "down" if ends[1, 1] < ends[0, 1] else "up"
