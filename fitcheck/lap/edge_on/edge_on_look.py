"""Look at one edge-on photograph: corners, slit and scale along the whole visible length."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.ground.refusal import Refused
from fitcheck.lap.edge_on.edge_corners import OuterCorner, follow_inner, follow_outer
from fitcheck.lap.edge_on.edge_on_covered import strange
from fitcheck.lap.edge_on.find_edge import EdgeOn
from fitcheck.lap.edge_on.scale import USUAL_SLANT_DEG, Scale, scale_by_reference, scale_by_thickness
from fitcheck.lap.edge_on_band import Band, EdgeLine, cut_band, smoothed
from fitcheck.lap.section import Section
from fitcheck.lap.slit.feigned_slit import wood_px
from fitcheck.lap.slit.shared_unknowns import LEAST_SHADOW, SHADOWS_PX
from fitcheck.lap.slit.slit_fit import Slits, fit_slits, rough_slits
from fitcheck.lap.slit.slit_model import Rows
from fitcheck.picture.focus import blur_px

BLOCKS = 240
FAIR_BLOCKS = 4.0
WIDEST_MM, MOST_MOUTH_MM = 2.0, 1.2
BESIDE_PX = 8.0
CORNER_REACH_PX = 1.6
LEAST_PX_PER_MM = 1.5
#: Share of an even sky's light, with a little thrown back, on the edge face and on the strake by its foot.
SKY_ON_EDGE, SKY_BESIDE = 0.55, 0.6
#: Rows of the strake beside the edge, clear of a narrow shadow.
NEAR_ROWS = slice(6, 11)
#: An edge face with less than this of the plank's face's light lies in shade, and so does a slit's mouth.
SHADED_EDGE = 0.5
#: From one chord to the next the edge turns less than this (sine of the angle), nearly everywhere.
CHORD_MM, MOST_TURN, TURN_SHARE = 25.0, 0.1, 0.97
LEAST_BLUR_PX, MOST_BLUR_PX = 0.75, 2.0
#: An inner corner that nobody spoke of is eased by one of these; one that was given by no more or less than this.
EASED_MM, GIVEN_WITHIN_MM = np.array([0.0, 0.1, 0.2, 0.3, 0.4]), 0.05


@dataclass(frozen=True)
class Look:
    """What an edge-on photograph shows, block by block (B,): the line of the inner corner, the blocks' places in the
    picture ``inner_px`` (B, 2), the slit with its other side ``slit_foot_px`` (B, 2), the outer corner and the scale.

    ``wood_px`` (B,) is how wide a slit the wood's own grain can feign; ``shade`` and ``shadow`` are the light at a
    slit's mouth and in the plank's shadow over that beside them; ``covered`` (B,) where a thing lies over the lap or it
    is out of the picture.
    """

    rough: EdgeOn
    line: EdgeLine
    inner_px: np.ndarray
    slit_foot_px: np.ndarray
    slits: Slits
    outer: OuterCorner
    scale: Scale
    wood_px: np.ndarray
    shade: float
    shadow: float
    covered: np.ndarray


def look_edge_on(
    pixels: np.ndarray,
    rough: EdgeOn,
    covers: tuple[np.ndarray, ...],
    section: Section,
    u_thickness_mm: float,
) -> Look:
    """Follow the corners and fit the slit in an upright photograph (H, W, 3) BGR.

    Raises :class:`Refused` ``too-far`` where a millimetre of gap is too few pixels.
    """
    length = float(np.linalg.norm(np.diff(rough.points_px, axis=0), axis=1).sum())
    block_px = max(3, int(length / BLOCKS))
    line = follow_inner(pixels, rough, block_px, FAIR_BLOCKS * block_px, covers)
    blur = _blur(pixels, line)
    line, widest_px = _at_inner_corner(pixels, line, block_px, blur, rough.height_px, section.thickness_mm)
    _refuse_bent(line, rough.height_px / section.thickness_mm)
    full, scale = _full_height(rough, line, block_px, section)
    tall = cut_band(pixels, line, np.arange(-1.5 * full.max() - 10.0, 3.0), block_px, covers)
    outer = follow_outer(tall, full, blur, full_everywhere=scale is None)
    inner = line.at_px[tall.block]
    if scale is None:
        scale = scale_by_thickness(_even_height(outer.height_px), section, u_thickness_mm, inner, rough.keel)
    _refuse_far(scale)
    beside = cut_band(pixels, line, np.arange(4.0, 0.8 * full.max() + 30.0), block_px)
    shade, shadow = _shades(tall, beside, outer)
    reach = widest_px if shadow > LEAST_SHADOW else max(widest_px, SHADOWS_PX[-1])
    near = cut_band(pixels, line, np.arange(-BESIDE_PX, reach + BESIDE_PX), block_px, covers)
    rows = Rows(near.at_px, blur, float(np.tan(np.radians(scale.slant_deg))), shade, shadow)
    hidden = strange(tall, beside, full, float(np.median(scale.px_per_mm)), block_px) | ~near.seen | ~tall.seen
    eased = possible_easings(section.eased_mm) * float(np.median(scale.px_per_mm))
    slits = fit_slits(
        near.light, rows, widest_px, CORNER_REACH_PX, block_px=block_px, eased_px=tuple(eased), clear=~hidden
    )
    inner = inner + slits.corner_px[:, None] * line.keelward[near.block]
    foot = inner + slits.width_px[:, None] * line.keelward[near.block]
    wood = wood_px(beside, blur, rows.slant)
    return Look(rough, line, inner, foot, slits, outer, scale, wood, shade, shadow, hidden)


def possible_easings(given_mm: float | None) -> np.ndarray:
    """How far (N,) the inner corner may be eased, in mm: around what was given, or anything usual.

    >>> possible_easings(0.3).round(2).tolist(), possible_easings(0.0).tolist()
    ([0.25, 0.3, 0.35], [0.0])
    """
    if given_mm is None:
        return EASED_MM
    if given_mm == 0.0:
        return np.zeros(1)
    return np.maximum(given_mm + np.array([-GIVEN_WITHIN_MM, 0.0, GIVEN_WITHIN_MM]), 0.0)


def _full_height(rough: EdgeOn, line: EdgeLine, block_px: int, section: Section) -> tuple[np.ndarray, Scale | None]:
    """The full height (B,) in pixels of the edge face, and the scale where a reference gives it."""
    count = len(line.at_px) // block_px
    block = np.arange(count) * block_px + block_px // 2
    if rough.pose is None:
        return np.full(count, rough.height_px), None
    scale = scale_by_reference(rough.pose, section, line.at_px[block], line.keelward[block])
    return scale.height_px(section.thickness_mm), scale


def _at_inner_corner(
    pixels: np.ndarray, line: EdgeLine, block_px: int, blur: float, height_px: float, thickness_mm: float
) -> tuple[EdgeLine, float]:
    """The line moved from the strongest boundary, which is a slit's mouth where the lap stands open, to the corner;
    and how wide, in pixels, a slit is to be looked for."""
    px_per_mm = height_px / thickness_mm
    widest = WIDEST_MM * px_per_mm
    reach = (-MOST_MOUTH_MM * px_per_mm - 1.0, CORNER_REACH_PX)
    band = cut_band(pixels, line, np.arange(reach[0] - BESIDE_PX, widest + BESIDE_PX), block_px)
    mouth = _mouth_shade(cut_band(pixels, line, np.arange(-1.3 * height_px - 4.0, 0.0), block_px), height_px)
    rows = Rows(band.at_px, blur, float(np.tan(np.radians(USUAL_SLANT_DEG))), mouth, 1.0)
    off, width = rough_slits(band.light, rows, widest, reach)
    line = smoothed(line.moved(np.interp(np.arange(len(line.at_px)), band.block, off)), FAIR_BLOCKS * block_px / 2.0)
    return line, float(np.clip(1.3 * np.quantile(width, 0.98) + 0.5 * px_per_mm, 0.5 * widest, widest))


def _mouth_shade(above: Band, height_px: float) -> float:
    """The light at a slit's mouth over that of the strake, roughly: that on the edge face over the plank's face where
    the edge face lies in shade; else 1."""
    away, light = -above.at_px, above.light
    edge = np.median(light[(away > 0.3 * height_px) & (away < 0.7 * height_px)])
    face = np.median(light[away > 1.1 * height_px])
    mouth = float(np.clip(edge / max(float(face), 1e-4), 0.1, 1.0))
    return mouth if mouth < SHADED_EDGE else 1.0


def _even_height(height_px: np.ndarray) -> np.ndarray:
    """The edge face's height (B,), even along the lap as perspective makes it, whatever single places show."""
    at = np.linspace(-1.0, 1.0, len(height_px))
    weight = np.ones(len(at))
    for _ in range(5):
        fair = np.polyval(np.polyfit(at, height_px, 2, w=weight), at)
        left = np.abs(height_px - fair)
        weight = 1.0 / (1.0 + (left / (1.5 * np.median(left) + 0.1)) ** 2)
    return np.asarray(fair)


def _blur(pixels: np.ndarray, line: EdgeLine) -> float:
    low, high = line.at_px.min(axis=0).astype(int) - 120, line.at_px.max(axis=0).astype(int) + 120
    around = pixels[max(0, low[1]) : high[1], max(0, low[0]) : high[0]]
    found = blur_px(cv2.cvtColor(np.ascontiguousarray(around), cv2.COLOR_BGR2GRAY))
    return float(np.clip(found or 0.9, LEAST_BLUR_PX, MOST_BLUR_PX))


def _shades(tall: Band, beside: Band, outer: OuterCorner) -> tuple[float, float]:
    """The light at a slit's mouth, and in the plank's own shadow, over that of the strake beside it.

    The mouth has the light of the edge face, which looks the same way. The edge face has its half of the sky and no
    more where the light that casts shadows does not reach it: what is less than half tells how strong that light is.
    Where the strake beside lies in the shadow itself, it is the sky's light that the mouth is compared with.
    """
    rows = -tall.at_px[:, None]
    light, strake = tall.light, beside.light
    full = np.maximum(outer.height_px, 6.0)
    edge = np.median(light[(rows > 1.5) & (rows < np.clip(0.4 * full, 3.5, 8.0))])
    face_rows = (rows > full + 4.0) & (rows < full + 10.0)
    face = np.median(light[face_rows]) if face_rows.any() else edge
    near, far = np.median(strake[NEAR_ROWS]), np.median(strake[-10:])
    on_edge = float(edge / max(face, 1e-4))
    sky = min(1.0, on_edge / SKY_ON_EDGE)
    beside_edge = SKY_BESIDE * sky
    shade = float(np.clip(on_edge * max(1.0, far / max(near, 1e-4)), 0.1, 1.0))
    return shade, float(np.clip(beside_edge / (beside_edge + 1.0 - sky), 0.1, 1.0))


def _refuse_bent(line: EdgeLine, px_per_mm: float) -> None:
    """A clamped plank's edge is fair: a line that turns sharply has run from one corner, or streak, to another."""
    chord = max(2, int(CHORD_MM * px_per_mm))
    way = line.at_px[chord:] - line.at_px[:-chord]
    if len(way) <= chord:
        return
    before, after = way[:-chord], way[chord:]
    turn = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    turn /= np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    if float(np.quantile(turn, TURN_SHARE)) > MOST_TURN:
        raise Refused(
            "edge-faint",
            "The line found for the plank's edge turns as no clamped plank does, so it follows the grain in places. "
            "Light the lap from the keel side, so that the edge is lighter or darker than the faces, or point at the "
            "edge with --edge-at.",
        )


def _refuse_far(scale: Scale) -> None:
    seen = float(np.median(scale.px_per_mm))
    if seen < LEAST_PX_PER_MM:
        raise Refused(
            "too-far",
            f"A millimetre of gap is {seen:.1f} pixels here; {LEAST_PX_PER_MM:g} are needed. Go nearer and photograph "
            "the lap in shorter stretches.",
        )
