"""From pixels across the edge to millimetres normal to the lap, place by place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.lap.edge_on.find_edge import slant_deg
from fitcheck.lap.section import Section
from fitcheck.reference.pose import FacePose

#: Without a reference the view is taken to be this far off square.
USUAL_SLANT_DEG = 65.0


@dataclass(frozen=True)
class Scale:
    """At each of N places: how many pixels a millimetre normal to the lap is seen as just over the strake,
    ``px_per_mm`` (N,), and how much fewer a millimetre further out, ``fewer_per_mm`` (N,); the relative standard
    uncertainty ``u_relative`` of both; ``along_mm`` (N,); and how far off square the lap is seen, ``slant_deg``."""

    px_per_mm: np.ndarray
    fewer_per_mm: np.ndarray
    u_relative: float
    along_mm: np.ndarray
    slant_deg: float

    def height_mm(self, height_px: np.ndarray) -> np.ndarray:
        """Heights (N,) normal to the lap of what is seen ``height_px`` (N,) beyond the inner corner."""
        flat = height_px / self.px_per_mm
        return np.asarray(flat * (1.0 + self.fewer_per_mm * flat))

    def height_px(self, height_mm: float) -> np.ndarray:
        """How far (N,) beyond the inner corner a point ``height_mm`` out is seen."""
        return np.asarray(self.px_per_mm * height_mm * (1.0 - self.fewer_per_mm * height_mm))


def scale_by_reference(pose: FacePose, section: Section, inner_px: np.ndarray, keelward: np.ndarray) -> Scale:
    """The scale at inner corners (N, 2) seen with unit normals ``keelward`` (N, 2), from the pose of the face."""
    on_face = pose.face_from_px(inner_px)
    seen = []
    for height in (0.5, section.thickness_mm):
        off = height * section.normal
        points = np.column_stack([on_face[:, 0], on_face[:, 1] + off[0], np.full(len(on_face), off[1])])
        seen.append(-((pose.px_from_face(points) - inner_px) * keelward).sum(axis=1) / height)
    fewer = (1.0 - seen[1] / seen[0]) / (section.thickness_mm - 0.5)
    slant = slant_deg(pose, float(np.median(on_face[:, 1])))
    # Turned about the lap, the sine of the slant changes; moved away, all of it does.
    turn = float(np.sqrt(pose.covariance[0, 0])) / np.tan(np.radians(slant))
    away = float(np.sqrt(pose.covariance[5, 5])) / float(np.linalg.norm(pose.translation_mm))
    return Scale(seen[0], fewer, float(np.hypot(turn, away)), on_face[:, 0], slant)


def scale_by_thickness(
    height_px: np.ndarray, section: Section, u_thickness_mm: float, inner_px: np.ndarray, keel: str
) -> Scale:
    """The scale where the edge face, ``thickness`` high, is seen ``height_px`` (N,) high at inner corners (N, 2).

    Places along are approximate: from the middle, by the usual slant; they rise to the right with the ``keel`` down.
    """
    seen_mm = section.thickness_mm - section.chamfer_mm / 2.0
    per_mm = height_px / seen_mm
    steps = np.linalg.norm(np.diff(inner_px, axis=0), axis=1)
    face_px_per_mm = per_mm / np.sin(np.radians(USUAL_SLANT_DEG))
    along = np.concatenate([[0.0], np.cumsum(steps / face_px_per_mm[1:])])
    u_relative = float(np.hypot(u_thickness_mm, section.chamfer_mm / 2.0) / seen_mm)
    along = (along - along[len(along) // 2]) * (1.0 if keel == "down" else -1.0)
    return Scale(per_mm, np.zeros(len(per_mm)), u_relative, along, USUAL_SLANT_DEG)
