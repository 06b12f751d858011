"""Look at the lap in one photograph by the trained score: edge and line, each place with its chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.light import light_of_levels
from fitcheck.ground.refusal import Reason
from fitcheck.lap.course.find_course import Course, fine_pixel_mm, pixel_mm
from fitcheck.lap.evidence.channels import FINE_MM
from fitcheck.lap.evidence.look_odds import LookOdds, look_odds
from fitcheck.lap.evidence.marks import ABOUT_WITNESS_MM, Marks, find_marks
from fitcheck.lap.evidence.odds import by_steps
from fitcheck.lap.past_values import CHAMFER_RUN_MM, u_edge_width
from fitcheck.lap.section import Section, corner_shift_mm
from fitcheck.lap.square_on.by_finger import Fingers, drawn_by_hand, pointed_elsewhere, pointed_on
from fitcheck.lap.strip import Strip, cut_strip
from fitcheck.reference.pose import FacePose

ABOVE_MM, BELOW_MM = 20.0, 28.0
#: The strip runs along a curve of this degree through the course.
BASE_DEGREE = 3
#: The strip is cut in columns of 1 mm, and two are one column of the evidence.
CUT_MM, CUTS = 1.0, 2
#: A picture much finer than this is reduced first: between sampled columns it would show only its noise.
FINEST_MM = 0.12
#: With the edge face narrower than this the plank hides its inner corner.
HIDDEN_MM = 0.1
#: Standard uncertainty of a corner's place in its photograph: the easing of the corner, a crumb of glue, a reflection.
U_OUTER_MM, U_INNER_MM = 0.15, 0.15
#: However stiff a plank, its two corners run this far off parallel (standard uncertainty).
U_STRAIGHT_MM = 0.1
#: An edge with less chance is unsure; a place where it is more likely absent, or out of sight, is covered.
LEAST_CHANCE, ABSENT, LEAST_SIGHT = 0.95, 0.5, 0.5
#: What is likelier than all else in a picture may still be nothing: edge and line must outdo even wood by so much in
#: all (natural logarithm of the odds).
LEAST_EDGE_EVIDENCE, LEAST_LINE_EVIDENCE = 20.0, 7.5


@dataclass(frozen=True)
class ScoredLook:
    """What one photograph shows of its lap, at ``along_mm`` (N,); places ``down_mm`` are strip rows.

    ``marks`` are edge and line, from this look or from several; ``width_mm`` (N,) is how far below the outer corner the
    inner one is seen here, ``hidden`` tells that the plank hides it. ``sight`` (N,) is the share of the place that is
    in the picture and not under the reference. ``elsewhere`` says where the builder pointed at another place.
    """

    pose: FacePose
    keel: str
    strip: Strip
    marks: Marks
    width_mm: np.ndarray
    sight: np.ndarray
    hidden: bool
    px_mm: float
    elsewhere: tuple[Reason, ...] = ()

    @property
    def along_mm(self) -> np.ndarray:
        """Places along the lap (N,)."""
        return self.marks.along_mm

    @property
    def edge_down_mm(self) -> np.ndarray:
        """The corner that is seen (N,): the inner one, or, where the plank hides it, the outer."""
        return self.marks.edge.down_mm - (self.width_mm if self.hidden else 0.0)

    @property
    def u_corner_mm(self) -> float:
        """Standard uncertainty of the corner's place, common to the photograph."""
        return U_OUTER_MM if self.hidden else U_INNER_MM

    @property
    def covered(self) -> np.ndarray:
        """Places (N,) where a clamp or something else hides the edge, or that are out of the picture."""
        return (self.sight < LEAST_SIGHT) | (self.marks.edge.absent > ABSENT)

    @property
    def edge_sure(self) -> np.ndarray:
        """Places (N,) with hardly a chance that the edge runs elsewhere."""
        enough = self.marks.edge_by_hand or self.marks.edge_evidence > LEAST_EDGE_EVIDENCE
        return (self.marks.edge.chance > LEAST_CHANCE) & enough

    @property
    def line_sure(self) -> np.ndarray:
        """Places (N,) with hardly a chance that the line runs elsewhere or is not there."""
        enough = self.marks.line_by_hand or self.marks.line_evidence > LEAST_LINE_EVIDENCE
        return (self.marks.line.chance > LEAST_CHANCE) & enough

    @property
    def measured(self) -> np.ndarray:
        """Places (N,) with a number."""
        return ~self.covered & self.edge_sure & self.line_sure


@dataclass(frozen=True)
class Cut:
    """A photograph's strip along a course, with its evidence."""

    pose: FacePose
    keel: str
    strip: Strip
    odds: LookOdds
    hidden: bool
    u_width_mm: float
    sight: np.ndarray
    px_mm: float

    def look(self, marks: Marks) -> ScoredLook:
        """The look with these marks."""
        return ScoredLook(
            self.pose, self.keel, self.strip, marks, self.odds.width_mm, self.sight, self.hidden, self.px_mm
        )


def look_by_score(
    pixels: np.ndarray, course: Course, outlines_px: tuple[np.ndarray, ...], settings: Settings
) -> ScoredLook:
    """Find edge and line in a photograph whose lap's course is known.

    Raises :class:`fitcheck.ground.refusal.Refused` ``too-far`` where the pixels are too coarse for a pencil line.
    """
    cut = cut_along(pixels, course, outlines_px, settings)
    marks = marks_of([cut], settings)
    return replace(cut.look(marks), elsewhere=pointed_away(marks, cut, settings))


def pointed_away(marks: Marks, cut: Cut, settings: Settings) -> tuple[Reason, ...]:
    """What is said where a mark was surely found away from a place pointed at in this photograph."""
    return pointed_elsewhere(marks, fingers_on(cut, settings), cut.odds.width_mm)


def marks_of(cuts: Sequence[Cut], settings: Settings) -> Marks:
    """Edge and line of one lap on the strips of one look or several; places pointed at are those of the first."""
    first = cuts[0]
    fingers = fingers_on(first, settings)
    marks = find_marks(
        [one.odds for one in cuts],
        u_width_mm=first.u_width_mm,
        witness_mm=settings.witness_mm or 0.0,
        edge_at=fingers.edge,
        line_at=fingers.line,
    )
    return drawn_by_hand(marks, fingers, LEAST_CHANCE)


def fingers_on(cut: Cut, settings: Settings) -> Fingers:
    """Where the builder pointed, on a strip."""
    hints = settings.hints
    return Fingers(*(pointed_on(cut.strip, cut.pose, at_px) for at_px in (hints.edge_at_px, hints.line_at_px)))


def cut_along(pixels: np.ndarray, course: Course, outlines_px: tuple[np.ndarray, ...], settings: Settings) -> Cut:
    """The strip of a photograph along a course, with its evidence; raises as :func:`look_by_score`."""
    return with_evidence(strip_along(pixels, course, outlines_px, settings), course, settings)


def with_evidence(cut: tuple[Strip, float], course: Course, settings: Settings) -> Cut:
    """A strip, and the size of the pixels it was cut from, with its evidence."""
    strip, px_mm = cut
    pose = course.pose
    bevel_deg, u_bevel_deg = settings.bevel()
    section = Section(settings.thickness_mm, float(np.radians(bevel_deg)), CHAMFER_RUN_MM, settings.gains)
    width = corner_shift_mm(pose, section, strip.along_mm, strip.base_y_mm, chamfer_end="face")
    hidden = bool(np.median(width) < HIDDEN_MM)
    y = float(np.median(strip.base_y_mm))
    u_width = u_edge_width(pose, settings.thickness_mm, settings.u_thickness_mm, bevel_deg, u_bevel_deg, y)
    light, seen, along = strip_columns(strip)
    odds = look_odds(
        light,
        seen,
        along,
        strip.down_mm,
        width_mm=np.interp(along, strip.along_mm, width),
        u_twist_mm=np.hypot(U_STRAIGHT_MM, settings.thickness_mm * pose.departs(along)[1]),
        hidden=hidden,
        px_per_mm=1.0 / px_mm,
    )
    sight = np.interp(odds.along_mm, along, _sight(seen, strip))
    return Cut(pose, course.keel, strip, odds, hidden, u_width, sight, px_mm)


def seen_again(cut: Cut, settings: Settings) -> Cut:
    """The same strip with the evidence anew, where the settings have changed."""
    course = Course(cut.pose, cut.keel, cut.strip.along_mm, cut.strip.base_y_mm)
    return with_evidence((cut.strip, cut.px_mm), course, settings)


def strip_along(
    pixels: np.ndarray, course: Course, outlines_px: tuple[np.ndarray, ...], settings: Settings
) -> tuple[Strip, float]:
    """The strip along the course, and the size of the pixels that it was cut from; raises as :func:`look_by_score`."""
    fine_pixel_mm(course.pose)
    columns = np.arange(course.along_mm[0], course.along_mm[-1], CUT_MM)
    # A fair curve, not the edge's own bumps: along it a struck line is straight.
    degree = min(BASE_DEGREE, len(course.along_mm) - 1)
    base = np.polynomial.Polynomial.fit(course.along_mm, course.y_mm, degree)(columns)
    deeper = settings.witness_mm + ABOUT_WITNESS_MM if settings.witness_mm else 0.0
    down = np.arange(-ABOVE_MM, BELOW_MM + deeper, FINE_MM[0])
    return strip_on(pixels, course.pose, columns, base, down, outlines_px)


def strip_on(
    pixels: np.ndarray,
    pose: FacePose,
    along_mm: np.ndarray,
    base_y_mm: np.ndarray,
    down_mm: np.ndarray,
    outlines_px: tuple[np.ndarray, ...],
) -> tuple[Strip, float]:
    """The strip along a base curve (C,) that is given, and the size of the pixels that it was cut from."""
    px_mm = pixel_mm(pose)
    shrink = max(1, int(2.0 * FINEST_MM / px_mm))
    if shrink > 1:
        pixels = cv2.resize(pixels, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    return cut_strip(pixels, pose, along_mm, base_y_mm, down_mm, covers=outlines_px, shrink=shrink), px_mm * shrink


def strip_columns(strip: Strip) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Amounts of light (R, C, 3), where wood is seen (R, C), and places along (C,) in the evidence's wider columns."""
    whole = len(strip.along_mm) // CUTS * CUTS
    rows = len(strip.down_mm)
    light = cv2.resize(light_of_levels(strip.values[:, :whole]), (whole // CUTS, rows), interpolation=cv2.INTER_AREA)
    seen = np.asarray(strip.seen[:, :whole].reshape(rows, -1, CUTS).all(axis=2))
    return np.minimum(light, 1.0).astype(np.float32), seen, by_steps(strip.along_mm, CUTS) / CUTS


def _sight(seen: np.ndarray, strip: Strip) -> np.ndarray:
    """The share (C,) of each column about the edge that is seen."""
    near = (strip.down_mm > -3.0) & (strip.down_mm < 8.0)
    return np.asarray(seen[near].mean(axis=0))
