"""Look at the lap in one photograph: from the pose of the face to edge and line on the strip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.lap.course.find_course import Course, fine_pixel_mm, pixel_mm
from fitcheck.lap.edge.common_profile import Aligned, align
from fitcheck.lap.edge.covered import covered
from fitcheck.lap.edge.edge_path import edge_path, edge_worth, log_tone
from fitcheck.lap.edge.other_edges import OtherEdge, edge_elsewhere, nearer_edge
from fitcheck.lap.edge.square_corners import Corners, place_corners
from fitcheck.lap.line.line import Line, find_line
from fitcheck.lap.past_values import CHAMFER_RUN_MM, SILHOUETTE_LOSS_MM, U_SILHOUETTE_MM, edge_width, u_edge_width
from fitcheck.lap.section import Section, corner_shift_mm
from fitcheck.lap.strip import Strip, cut_strip
from fitcheck.reference.pose import FacePose

COLUMN_MM = 0.5
ABOVE_MM, BELOW_MM = 15.0, 18.0
SMOOTH_MM = 20.0
#: Below this chance of its reading the profile of the edge is unclear.
LEAST_CHANCE = 0.7
#: An edge unclear along more than this share of the lap is none.
MOST_UNCLEAR = 0.4
#: Another edge nearer the line is a rival from this share of the first one's evidence, and better from that; one beyond
#: them both puts it in doubt only where it stands out more.
RIVAL_SHARE, BETTER_SHARE, STRONGER_SHARE = 0.75, 0.9, 1.15
#: An edge under so much evidence (in noise units) must lead the best other one by so much: a faint one is often a
#: streak. Not so down to a witness line, where the strip is twice as deep and holds more rivals.
PLAIN_GAIN, LEAST_LEAD = 10.0, 3.5


@dataclass(frozen=True)
class Look:
    """What one photograph shows of its lap. Places ``down_mm`` are strip rows; ``hidden`` tells that the plank hides
    its inner corner; ``other_edges`` are those that put the edge in doubt."""

    pose: FacePose
    keel: str
    strip: Strip
    aligned: Aligned
    corners: Corners
    edge_down_mm: np.ndarray
    covered: np.ndarray
    edge_unclear: np.ndarray
    hidden: bool
    px_mm: float
    line: Line
    other_edges: tuple[OtherEdge, ...] = ()


def look_along(
    pixels: np.ndarray, course: Course, outlines_px: tuple[np.ndarray, ...], settings: Settings, *, again: bool = True
) -> Look:
    """Find edge and line in a photograph whose lap's course is known.

    Where a better edge lies nearer the line, looks once ``again`` along that one.
    Raises :class:`fitcheck.ground.refusal.Refused` ``too-far`` where the pixels are too coarse for a pencil line.
    """
    pose, keel = course.pose, course.keel
    px_mm = fine_pixel_mm(pose)
    strip = _fine_strip(pixels, course, outlines_px, settings.witness_mm or 0.0)
    bevel_deg, u_bevel_deg = settings.bevel()
    tone = log_tone(strip.values)
    bevel, gains = float(np.radians(bevel_deg)), settings.gains
    width = edge_width(pose, settings.thickness_mm, bevel, strip.along_mm, strip.base_y_mm, gains)
    section = Section(settings.thickness_mm, bevel, CHAMFER_RUN_MM, gains)
    shift = corner_shift_mm(pose, section, strip.along_mm, strip.base_y_mm, chamfer_end="face")
    hidden = width < 0.1
    wider = np.zeros(len(shift)) if hidden else _wider(pose, section, strip)
    worth = edge_worth(strip, tone, shift)
    path = edge_path(strip, worth)
    aligned = align(strip, tone, path, width, wider)
    if hidden:
        corners = place_corners(aligned, SILHOUETTE_LOSS_MM, U_SILHOUETTE_MM, px_mm)
    else:
        y = float(np.median(strip.base_y_mm))
        u_width = u_edge_width(pose, settings.thickness_mm, settings.u_thickness_mm, bevel_deg, u_bevel_deg, y)
        corners = place_corners(aligned, width, u_width, px_mm)
    edge = aligned.down_mm + corners.strake_mm + np.interp(aligned.along_mm, strip.along_mm, wider)
    edge_columns = _smooth(np.interp(strip.along_mm, aligned.along_mm, edge))
    line = find_line(
        strip,
        np.ascontiguousarray(tone[..., 0]),
        edge_columns,
        aligned.along_mm,
        expected_mm=settings.witness_mm or 0.0,
        face_above_mm=corners.strake_mm - corners.face_mm,
        px_mm=px_mm,
        anchors=_anchors(strip, pose, settings.hints.line_at_px),
    )
    unclear = np.interp(aligned.along_mm, path.along_mm, path.unclear()) > 0.5
    unclear |= aligned.unlike() | (corners.chance < LEAST_CHANCE)
    nearer = nearer_edge(strip, worth, aligned.along_mm, edge, line.down_mm)
    if nearer is not None and nearer.share > BETTER_SHARE and again:
        better = Course(pose, keel, nearer.along_mm, strip.y_mm(nearer.along_mm, nearer.down_mm))
        return look_along(pixels, better, outlines_px, settings, again=False)
    unclear |= nearer is not None and nearer.share > RIVAL_SHARE
    elsewhere = edge_elsewhere(strip, worth, aligned.along_mm, edge, line.down_mm)
    unclear |= elsewhere is not None and elsewhere.share > STRONGER_SHARE
    others = sorted((one for one in (nearer, elsewhere) if one is not None), key=lambda one: -one.share)
    if not settings.witness_mm and not settings.hints.edge_at_px:
        unclear |= _weak(path.gain, others[0].share if others else 0.0)
    hides = covered(aligned)
    unclear |= bool((~hides).any()) and unclear[~hides].mean() > MOST_UNCLEAR
    doubtful = tuple(one for one in others if one.share > RIVAL_SHARE)
    return Look(pose, keel, strip, aligned, corners, edge, hides, unclear, hidden, px_mm, line, doubtful)


def _weak(gain: float, rival_share: float) -> bool:
    """Whether an edge is hardly plainer than the best other one in the strip."""
    return gain < PLAIN_GAIN and gain * (1.0 - rival_share) < LEAST_LEAD


def _fine_strip(pixels: np.ndarray, course: Course, outlines_px: tuple[np.ndarray, ...], witness_mm: float) -> Strip:
    from scipy.ndimage import gaussian_filter1d

    row_mm = float(np.clip(0.5 * pixel_mm(course.pose), 0.08, 0.15))
    columns = np.arange(course.along_mm[0], course.along_mm[-1], COLUMN_MM)
    base = np.interp(columns, course.along_mm, gaussian_filter1d(course.y_mm, 4.0, mode="nearest"))
    down = np.arange(-ABOVE_MM, BELOW_MM + (witness_mm + 6.0 if witness_mm else 0.0), row_mm)
    return cut_strip(pixels, course.pose, columns, base, down, covers=outlines_px)


def _smooth(edge: np.ndarray) -> np.ndarray:
    from scipy.ndimage import gaussian_filter1d

    return np.asarray(gaussian_filter1d(edge, SMOOTH_MM / COLUMN_MM, mode="nearest"))


def _wider(pose: FacePose, section: Section, strip: Strip) -> np.ndarray:
    """How much wider than usual the edge face is seen at each column (C,), where the hull twists; flat: 0."""
    level = np.full(len(strip.along_mm), np.median(strip.base_y_mm))
    width = corner_shift_mm(pose, section, strip.along_mm, level, chamfer_end="face")
    return np.asarray(width - np.median(width))


def _anchors(strip: Strip, pose: FacePose, at_px: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
    if not at_px:
        return []
    on_face = pose.face_from_px(np.array(at_px, float))
    return [(float(x), float(np.interp(x, strip.along_mm, strip.base_y_mm) - y)) for x, y in on_face]
