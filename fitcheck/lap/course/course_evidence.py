"""What speaks for a plank's edge in all the wood around the reference, on a small straightened picture."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.light import light_of_levels
from fitcheck.lap.course.boundaries import small_strip
from fitcheck.lap.evidence.channels import COARSE_MM, coarse_channels
from fitcheck.lap.evidence.look_odds import Belief
from fitcheck.lap.evidence.network import load_network
from fitcheck.lap.evidence.odds import by_steps, row_odds
from fitcheck.lap.evidence.pointed import Pointed, as_odds
from fitcheck.lap.evidence.summed_paths import Fairness, Marginals, summed_paths
from fitcheck.lap.strip import Strip
from fitcheck.reference.pose import FacePose

ROW_MM = COARSE_MM[0]
#: Columns of the small strip, one a millimetre, to a column of the network; columns of the network to a step of paths.
FINE_COLUMNS, WIDE = 3, 4
STEP_MM = FINE_COLUMNS * WIDE
#: A column with less of it in sight tells nothing.
LEAST_SEEN = 0.2
COURSE = Belief(0.25, 0.02, 0.35, Fairness(3, 0.15))


#: A lap runs at least this far from the reference's middle.
LEAST_OFF_MM = 10.0
#: A finger outweighs a stretch of grain: its odds count by so much, beside those of single steps.
FINGER_WEIGHT = 4.0
#: What no path may pass.
BARRED = -60.0


@dataclass(frozen=True)
class CourseEvidence:
    """Marginals of a plank's edge in rows ``y_mm`` (R,) at steps ``along_mm`` (T,), on one side of the reference.

    ``sheer_up`` tells that the sheer lies toward y; ``on_plank`` that the edge would have the reference on its own
    plank, not on the strake below.
    """

    along_mm: np.ndarray
    y_mm: np.ndarray
    sheer_up: bool
    on_plank: bool
    marginals: Marginals


def course_evidence(
    pixels: np.ndarray,
    pose: FacePose,
    outlines_px: tuple[np.ndarray, ...],
    shrink: int,
    edge_at: Pointed | None = None,
) -> list[CourseEvidence]:
    """The evidence for a lap on either side of the reference, with the sheer toward y or away from it: four.

    ``pixels`` is the photograph reduced by ``shrink``; ``pose`` has its x axis along the lap; ``edge_at``
    are places pointed at on the edge, down being away from y. Raises
    :class:`fitcheck.ground.refusal.Refused` ``reference-cut`` where too little wood is in sight.
    """
    strip = small_strip(pixels, pose, outlines_px, shrink)
    light, seen = course_columns(strip)
    columns = seen.shape[1] * FINE_COLUMNS
    along, y = by_steps(strip.along_mm[:columns], STEP_MM) / STEP_MM, -strip.down_mm
    return [one for sheer_up in (True, False) for one in either_side(light, seen, along, y, sheer_up, edge_at)]


def course_columns(strip: Strip) -> tuple[np.ndarray, np.ndarray]:
    """Amounts of light (R, C, 3), and where wood is seen (R, C), in the network's wider columns."""
    columns = len(strip.along_mm) // FINE_COLUMNS * FINE_COLUMNS
    size = (columns // FINE_COLUMNS, len(strip.down_mm))
    light = cv2.resize(light_of_levels(strip.values[:, :columns]), size, interpolation=cv2.INTER_AREA)
    seen = np.asarray(strip.seen[:, :columns].reshape(len(strip.down_mm), -1, FINE_COLUMNS).all(axis=2))
    return light, seen


def either_side(
    light: np.ndarray,
    seen: np.ndarray,
    along_mm: np.ndarray,
    y_mm: np.ndarray,
    sheer_up: bool,
    edge_at: Pointed | None = None,
) -> list[CourseEvidence]:
    """The evidence on both sides of the reference from ``light`` (R, C, 3) and ``seen`` (R, C)."""
    turn = slice(None) if sheer_up else slice(None, None, -1)
    network = load_network("course")
    scores = network.scores(coarse_channels(light[turn, turn], seen[turn, turn]))[0][turn, turn]
    odds, absent = row_odds(scores, float(network.none[0]), seen, absent_share=COURSE.absent_share, floor=COURSE.floor)
    told = seen.mean(axis=0) > LEAST_SEEN
    steps = by_steps(np.where(told & seen, odds, np.where(told, np.log(COURSE.floor), 0.0)), WIDE) * COURSE.weight
    none = by_steps(np.where(told, absent, 0.0), WIDE) * COURSE.weight
    along_mm = along_mm[: steps.shape[1]]
    if edge_at is not None:
        steps = steps + FINGER_WEIGHT * as_odds(edge_at, along_mm, -y_mm)
    found = []
    for above in (True, False):
        there = y_mm > LEAST_OFF_MM if above else y_mm < -LEAST_OFF_MM
        marginals = summed_paths(np.where(there[:, None], steps, BARRED), none, COURSE.fairness)
        found.append(CourseEvidence(along_mm, y_mm, sheer_up, above != sheer_up, marginals))
    return found
