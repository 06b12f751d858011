"""From edge and line on the strip to past-the-line values, each with every doubt that is in it.

Uncertainty is carried by first derivatives, taken numerically: the same short computation is repeated with each input
moved a little (GUM 5.1;
JCGM 101 says to prove it by trials, which the tests do).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fitcheck.contract.gain import GainShape
from fitcheck.lap.section import Section, corner_shift_mm, past_of_corner
from fitcheck.reference.pose import FacePose

#: An outer corner eased by nothing to 0.4 mm is seen as a step between the middle and the end of its easing: so far
#: sheerward of the sharp corner on average, with this doubt.
CHAMFER_RUN_MM, U_CHAMFER_MM = 0.15, 0.10
#: Part of the chamfer that the silhouette loses from the sheer side: half of nothing to 0.4 mm, with that doubt and the
#: doubt which of the two ends of a dark chamfer is seen.
SILHOUETTE_LOSS_MM, U_SILHOUETTE_MM = 0.2, 0.18


@dataclass(frozen=True)
class Seen:
    """What was found on the strip: apparent face-plane places (x, y) in mm of edge and line.

    ``edge_mm`` and ``line_mm`` are (N, 2) and (M, 2), ``u_edge_mm`` and ``u_line_mm`` their standard uncertainty
    across the lap, ``u_corner_mm``
    that of the edge's place in its profile, common to the photograph. ``hidden`` tells that the edge seen is the
    outer corner's silhouette.
    ``drop_mm`` is how far below the lap line the line lies: 0, or the witness distance.
    """

    edge_mm: np.ndarray
    line_mm: np.ndarray
    u_edge_mm: np.ndarray
    u_line_mm: np.ndarray
    u_corner_mm: float
    hidden: bool
    drop_mm: float


@dataclass(frozen=True)
class Values:
    """Past-the-line values at ``along_mm`` (N,), the standard uncertainty ``u_mm`` (N,) and its parts by name (N,)
    each."""

    along_mm: np.ndarray
    past_mm: np.ndarray
    u_mm: np.ndarray
    parts: dict[str, np.ndarray]


def edge_width(
    pose: FacePose,
    thickness_mm: float,
    bevel_rad: float,
    along_mm: np.ndarray,
    y_mm: np.ndarray,
    gains: tuple[GainShape, ...] = (),
) -> float:
    """How wide the edge face is seen, outer corner to inner corner, in mm on the face; negative where it is hidden."""
    section = Section(thickness_mm, bevel_rad, CHAMFER_RUN_MM, gains)
    return float(np.median(corner_shift_mm(pose, section, along_mm, y_mm, chamfer_end="face")))


def u_edge_width(
    pose: FacePose, thickness_mm: float, u_thickness_mm: float, bevel_deg: float, u_bevel_deg: float, y_mm: float
) -> float:
    """Standard uncertainty of :func:`edge_width`: thickness, bevel, tilt of the face, the corner's easing."""
    camera = pose.camera_face_mm
    slope = (camera[1] - y_mm) / camera[2]
    bevel = np.radians(bevel_deg)
    by_thickness = (np.sin(bevel) - np.cos(bevel) * slope) * u_thickness_mm
    by_bevel = thickness_mm * np.radians(u_bevel_deg)
    tilt = float(np.sqrt(pose.covariance[0, 0]))
    return float(np.sqrt(by_thickness**2 + by_bevel**2 + (thickness_mm * tilt) ** 2 + U_CHAMFER_MM**2))


def past_values(
    pose: FacePose,
    seen: Seen,
    *,
    thickness_mm: float,
    u_thickness_mm: float,
    bevel_deg: float,
    u_bevel_deg: float,
    u_witness_mm: float = 0.0,
    gains: tuple[GainShape, ...] = (),
) -> Values:
    """Past-the-line values where both edge and line are seen."""
    edge_at, line_at = _as_seen(pose, seen.edge_mm), _as_seen(pose, seen.line_mm)
    section = Section(thickness_mm, np.radians(bevel_deg), gains=gains)
    no_change = np.zeros(len(pose.covariance))

    def compute(change: np.ndarray, section: Section) -> tuple[np.ndarray, np.ndarray]:
        return _compute(pose, seen, edge_at, line_at, change, section)

    along, past = compute(no_change, section)
    moved = lambda change, section: np.interp(along, *_rising(*compute(change, section)))  # noqa: E731
    slopes = np.empty((len(no_change), len(along)))
    for number, step in enumerate(np.sqrt(np.diag(pose.covariance))):
        change = no_change.copy()
        change[number] = step
        slopes[number] = (moved(change, section) - moved(-change, section)) / (2.0 * step)
    pose_variance = np.einsum("in,ij,jn->n", slopes, pose.covariance, slopes)
    by_thickness = moved(no_change, section.higher(u_thickness_mm)) - past
    tilted = [replace(section, bevel_rad=np.radians(bevel_deg + side * u_bevel_deg)) for side in (-1, 1)]
    by_bevel = (moved(no_change, tilted[1]) - moved(no_change, tilted[0])) / 2.0
    parts = {
        "edge": np.interp(along, seen.edge_mm[:, 0], seen.u_edge_mm),
        "line": np.interp(along, seen.line_mm[:, 0], seen.u_line_mm),
        "corner": np.full(len(along), seen.u_corner_mm),
        "pose and scale": np.sqrt(pose_variance),
        "thickness": np.abs(by_thickness),
        "bevel": np.abs(by_bevel),
        "flatness": _flatness(pose, seen, along, past, thickness_mm),
    }
    if u_witness_mm:
        parts["witness"] = np.full(len(along), u_witness_mm)
    total = np.sqrt(np.sum([part**2 for part in parts.values()], axis=0))
    return Values(along, past, total, parts)


def _as_seen(pose: FacePose, face_mm: np.ndarray) -> np.ndarray:
    points = np.column_stack([face_mm, np.zeros(len(face_mm))])
    return pose.seen(pose.px_from_face(points))


def _compute(
    pose: FacePose, seen: Seen, edge_at: np.ndarray, line_at: np.ndarray, change: np.ndarray, section: Section
) -> tuple[np.ndarray, np.ndarray]:
    camera, toward_line = pose.perturbed(change).sight(line_at)
    reach = camera[2] / toward_line[:, 2]
    line_x, line_y = _rising(
        camera[0] - toward_line[:, 0] * reach, camera[1] - toward_line[:, 1] * reach + seen.drop_mm
    )
    camera, toward = pose.perturbed(change).sight(edge_at)
    rise: float | np.ndarray = 0.0
    if seen.hidden and _hides(camera, section, float(np.median(line_y))):
        rise = np.maximum(section.step_mm(pose, seen.edge_mm[:, 0]) - SILHOUETTE_LOSS_MM, 0.0)
    return past_of_corner(camera, toward, lambda x: np.interp(x, line_x, line_y), section, rise)


def _hides(camera: np.ndarray, section: Section, y_mm: float) -> bool:
    """Whether the plank hides its own inner corner; with a bevel this steep it may not, and then that corner was
    seen."""
    return bool(np.median((camera[1] - y_mm) / camera[2]) > np.tan(section.bevel_rad))


def _rising(along: np.ndarray, value: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    order = np.argsort(along)
    return along[order], value[order]


def _flatness(pose: FacePose, seen: Seen, along: np.ndarray, past: np.ndarray, thickness_mm: float) -> np.ndarray:
    """What the strake's bending and twisting away from the reference's plane may do, growing with the distance from
    it."""
    camera = pose.camera_face_mm
    sag, lean_rad = pose.departs(along)
    scale = np.abs(past - seen.drop_mm) * sag / camera[2]
    lean = thickness_mm * lean_rad
    # The inner corner in sight measures itself; the further it is only inferred, the more a twist matters.
    share = 1.0 if seen.hidden else min(1.0, seen.u_corner_mm / 0.25)
    aside = sag * np.abs(along - camera[0]) / camera[2]
    slope = np.abs(np.gradient(past, along)) if len(along) > 1 else np.zeros(len(along))
    return np.sqrt(scale**2 + (lean * share) ** 2 + (aside * slope) ** 2)
