"""What the builder pointed at, held against what was found: a course drawn by hand where the picture shows nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fitcheck.contract.hints import Places
from fitcheck.ground.refusal import Reason
from fitcheck.lap.course.find_course import pixel_mm
from fitcheck.lap.course.scored_course import FINGER_PX
from fitcheck.lap.evidence.marks import Marks
from fitcheck.lap.evidence.path import Path
from fitcheck.lap.evidence.pointed import Pointed
from fitcheck.lap.strip import Strip
from fitcheck.reference.pose import FacePose

#: From so many places a fair curve is drawn; it is held to reach so far beyond the outermost.
FEWEST, BEYOND_MM = 3, 20.0
#: With less than this share of the places between them sure, the picture shows nothing there.
SHOWN_SHARE = 0.2
#: What was found so many of the finger's uncertainties away is said.
APART = 3.0


@dataclass(frozen=True)
class Fingers:
    """Places pointed at on the edge and on the line, on a strip; None where there are none."""

    edge: Pointed | None
    line: Pointed | None


def pointed_on(strip: Strip, pose: FacePose, at_px: Places) -> Pointed | None:
    """Places in pixels that the builder pointed at, on the strip; None where there are none."""
    if not at_px:
        return None
    on_face = pose.face_from_px(np.array(at_px, float))
    down = np.interp(on_face[:, 0], strip.along_mm, strip.base_y_mm) - on_face[:, 1]
    return Pointed(on_face[:, 0], down, FINGER_PX * pixel_mm(pose))


def drawn_by_hand(marks: Marks, fingers: Fingers, least_chance: float) -> Marks:
    """The marks, with the builder's own course for a mark of which the picture shows nothing, from three places on."""
    line, edge = marks.line, marks.edge
    return replace(
        marks,
        edge=_drawn(edge, fingers.edge, marks.along_mm, least_chance),
        line=_drawn(line, fingers.line, marks.along_mm, least_chance),
        edge_by_hand=_needed(edge, fingers.edge, marks.along_mm, least_chance),
        line_by_hand=_needed(line, fingers.line, marks.along_mm, least_chance),
    )


def pointed_elsewhere(marks: Marks, fingers: Fingers, width_mm: np.ndarray) -> tuple[Reason, ...]:
    """What is said where edge or line was surely found away from a place pointed at.

    ``width_mm`` (T,) is how far above the inner corner the outer one is seen: either may have been meant.
    """
    return tuple(
        one
        for one in (
            _elsewhere("edge", marks.edge, fingers.edge, marks.along_mm, np.maximum(width_mm, 0.0)),
            _elsewhere("line", marks.line, fingers.line, marks.along_mm, np.zeros(len(marks.along_mm))),
        )
        if one is not None
    )


def _between(pointed: Pointed, along_mm: np.ndarray) -> np.ndarray:
    low, high = pointed.along_mm.min() - BEYOND_MM, pointed.along_mm.max() + BEYOND_MM
    return np.asarray((along_mm >= low) & (along_mm <= high))


def _needed(path: Path, pointed: Pointed | None, along_mm: np.ndarray, least_chance: float) -> bool:
    if pointed is None or len(pointed.along_mm) < FEWEST:
        return False
    between = _between(pointed, along_mm)
    return bool(between.any() and (path.chance[between] > least_chance).mean() < SHOWN_SHARE)


def _drawn(path: Path, pointed: Pointed | None, along_mm: np.ndarray, least_chance: float) -> Path:
    if pointed is None or not _needed(path, pointed, along_mm, least_chance):
        return path
    degree = 2 if len(pointed.along_mm) > FEWEST else 1
    curve = np.polynomial.Polynomial.fit(pointed.along_mm, pointed.down_mm, degree)
    between = _between(pointed, along_mm)
    return replace(
        path,
        down_mm=curve(along_mm),
        u_mm=np.full(len(along_mm), pointed.u_mm),
        chance=np.where(between, 1.0, 0.0),
        absent=np.where(between, 0.0, path.absent),
    )


def _elsewhere(
    mark: str, path: Path, pointed: Pointed | None, along_mm: np.ndarray, above_mm: np.ndarray
) -> Reason | None:
    if pointed is None:
        return None
    for along, down in zip(pointed.along_mm, pointed.down_mm, strict=True):
        at = int(np.abs(along_mm - along).argmin())
        off = down - path.down_mm[at]
        # Between the two corners of an edge nothing is wrong.
        beyond = off if off > 0 else min(0.0, off + float(above_mm[at]))
        if path.chance[at] > 0.95 and abs(beyond) > APART * pointed.u_mm:
            side = "above" if beyond > 0 else "below"
            text = (
                f"The {mark} seems to be {abs(beyond):.1f} mm {side} a place you pointed at. "
                "ScoredLook at the picture: if it is marked wrongly, point again, at two or three places along it."
            )
            return Reason("pointed-elsewhere", text)
    return None
