"""A seam between two faces of wood seen face-on: the hood end against the rabbet, the butt of a scarf.

The builder points at the seam (its two ends at least); a card or rule beside it gives the scale. Told are the width of
the open seam along its length, where it bears, and how much to take off there for the rest to come together, never
off the open part.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera, check_measurable, load_camera
from fitcheck.contract.gap_measurement import GapMeasurement, GapSample
from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import cards
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.ground.uncertainty import COVERAGE, ONE_SIDED
from fitcheck.lap.edge_on_band import EdgeLine, cut_band, edge_line
from fitcheck.lap.slit.seam_width import SeamWidths, seam_widths
from fitcheck.one_photo.open_lap import gap_refusal
from fitcheck.picture.focus import blur_px, exposure_and_focus
from fitcheck.picture.photo import Photo, load_photo
from fitcheck.reference.find import find_references
from fitcheck.reference.pose import FacePose

SAMPLE_MM, WIDEST_MM, REACH_MM = 2.5, 4.0, 2.0
LEAST_REACH_PX, BESIDE_PX, CLEAR_PX = 4.0, 9.0, 46.0
OPEN = 3.0
U_DARK, LEAST_U_MM, CLOSED_UNDER_MM = 0.08, 0.03, 0.3
MOST_SLANT_DEG = 45.0


def measure_seam(path: str | Path, camera: Camera | str | Path, settings: Settings) -> GapMeasurement:
    """Measure the seam through ``settings.hints.edge_at_px`` in one photograph with a reference of known length in it.

    Samples carry the seam's width as ``gap_mm`` over ``along_mm``, the distance from the first place pointed at. False
    with its reasons where the photograph cannot be measured. Raises :class:`fitcheck.ground.refusal.WrongCall`
    where fewer than two places are pointed at, or as :func:`fitcheck.one_photo.open_lap.measure_gap`.
    """
    camera = camera if isinstance(camera, Camera) else load_camera(camera)
    try:
        photo = load_photo(path, size_px=camera.size_px)
    except Refused as refused:
        return gap_refusal(refused.reason, settings, camera, ({"name": Path(path).name},))
    return measure_seam_loaded(photo, camera, settings)


def measure_seam_loaded(photo: Photo, camera: Camera, settings: Settings) -> GapMeasurement:
    """As :func:`measure_seam`, for a photograph already loaded."""
    if len(settings.hints.edge_at_px) < 2:
        raise WrongCall("--seam needs its two ends: give --edge-at u,v twice or more, in order along the seam")
    try:
        warnings = (*check_measurable(camera, photo), *exposure_and_focus(photo.pixels))
        turned = camera.turned(photo.orientation)
        found = find_references(photo.pixels, turned, settings.reference, settings.hints.reference_at_px)
        if found.pose.tilt_deg > MOST_SLANT_DEG:
            text = f"The wood is seen {found.pose.tilt_deg:.0f}° off square; photograph a seam squarely, under 45°."
            raise Refused("seam-oblique", text, cards(one.outline_px for one in found.sightings))
        samples = _samples(photo.pixels, found.pose, settings.hints.edge_at_px)
    except Refused as refused:
        return gap_refusal(refused.reason, settings, camera, (photo.as_json(),), refused.candidates)
    return GapMeasurement(
        "measured",
        settings.as_json(),
        warnings=(*warnings, *found.warnings),
        camera=camera.as_json(),
        photos=(photo.as_json(),),
        reference={"kind": settings.reference, "tilt_deg": round(found.pose.tilt_deg, 2), "seam": True},
        samples=tuple(samples),
        least_gap_mm=float(np.median([one.gap_u95_mm for one in samples if one.gap_u95_mm])) * OPEN / COVERAGE,
        bevel=take_off(samples),
    )


def _samples(pixels: np.ndarray, pose: FacePose, through_px: Sequence[tuple[float, float]]) -> list[GapSample]:
    points = np.array(through_px, float)
    line = edge_line(points, np.array([0.0, 1.0]))
    if np.linalg.norm(points[0] - line.at_px[0]) > np.linalg.norm(points[0] - line.at_px[-1]):
        line = EdgeLine(line.at_px[::-1], line.keelward[::-1])
    on_face = pose.face_from_px(line.at_px)
    beside = pose.face_from_px(line.at_px + line.keelward)
    step = np.gradient(on_face, axis=0)
    step /= np.linalg.norm(step, axis=1)[:, None]
    # Square to the seam on the wood: seen aslant, a pixel across it in the picture also runs along it.
    mm_px = np.abs((beside - on_face)[:, 0] * step[:, 1] - (beside - on_face)[:, 1] * step[:, 0])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(on_face, axis=0), axis=1))])
    block_px = max(2, int(SAMPLE_MM / (along[-1] / len(along))))
    reach = max(LEAST_REACH_PX, REACH_MM / float(np.median(mm_px)))
    widest = WIDEST_MM / float(np.median(mm_px))
    rows = np.arange(-widest / 2 - reach - CLEAR_PX, widest / 2 + reach + CLEAR_PX)
    band = cut_band(pixels, line, rows, block_px)
    low, high = line.at_px.min(axis=0).astype(int) - 40, line.at_px.max(axis=0).astype(int) + 40
    around = np.ascontiguousarray(pixels[max(0, low[1]) : high[1], max(0, low[0]) : high[0]])
    blur = float(np.clip(blur_px(cv2.cvtColor(around, cv2.COLOR_BGR2GRAY)) or 0.9, 0.75, 2.0))
    widths = _two_rounds(pixels, line, block_px, blur, widest, reach, band.at_px)
    u_scale = float(np.sqrt(pose.covariance[5, 5])) / float(np.linalg.norm(pose.translation_mm))
    return [_sample(widths, number, band.block, line, along, mm_px, u_scale) for number in range(len(band.block))]


def _two_rounds(
    pixels: np.ndarray,
    line: EdgeLine,
    block_px: int,
    blur: float,
    widest: float,
    reach: float,
    rows: np.ndarray,
) -> SeamWidths:
    """Widths with the line first brought onto the seam, so that the second look is a narrow one."""
    near = cut_band(pixels, line, np.arange(-widest / 2 - reach - BESIDE_PX, widest / 2 + reach + BESIDE_PX), block_px)
    first = seam_widths(near, blur, widest, reach)
    off = np.interp(np.arange(len(line.at_px)), near.block, first.middle_px)
    moved = EdgeLine(line.at_px + off[:, None] * line.keelward, line.keelward)
    width = min(widest, 1.3 * float(first.width_px.max()) + 2.0)
    narrow = cut_band(pixels, moved, np.arange(-width / 2 - BESIDE_PX, width / 2 + BESIDE_PX), block_px)
    found = seam_widths(narrow, blur, width, 1.0)
    wood = seam_widths(cut_band(pixels, moved, rows, block_px), blur, 2.0, 0.5).wood_px
    return SeamWidths(found.width_px, found.u_px, found.middle_px + first.middle_px, wood)


def _sample(
    widths: SeamWidths,
    number: int,
    block: np.ndarray,
    line: EdgeLine,
    along: np.ndarray,
    mm_px: np.ndarray,
    u_scale: float,
) -> GapSample:
    at = int(block[number])
    scale = float(mm_px[at])
    gap = float(widths.width_px[number]) * scale
    parts = (float(widths.u_px[number]) * scale, float(widths.wood_px[number]) * scale, U_DARK * gap, u_scale * gap)
    u_gap = float(np.sqrt(sum(part**2 for part in parts) + LEAST_U_MM**2))
    pixel = line.at_px[at] + widths.middle_px[number] * line.keelward[at]
    edge_px = (float(pixel[0]), float(pixel[1]))
    if gap < ONE_SIDED * u_gap and gap + ONE_SIDED * u_gap <= CLOSED_UNDER_MM:
        return GapSample(
            along_mm=float(along[at]),
            gap_mm=0.0,
            gap_u95_mm=gap + ONE_SIDED * u_gap,
            proud_mm=None,
            proud_u95_mm=None,
            edge_px=edge_px,
            state="closed",
        )
    state = "open" if gap > OPEN * u_gap else "unsure"
    return GapSample(
        along_mm=float(along[at]),
        gap_mm=gap,
        gap_u95_mm=COVERAGE * u_gap,
        proud_mm=None,
        proud_u95_mm=None,
        edge_px=edge_px,
        state=state,
    )


def take_off(samples: Sequence[GapSample]) -> dict[str, Any] | None:
    """How much to take off where the seam bears, for its open part to come together; None where nothing is open.

    ``cuts`` are [along_mm, depth_mm] at closed places alone: the widest surely open width, less what is still there.

    >>> seam = [GapSample(float(x), 0.8 if x > 50 else 0.0, 0.2, None, None, (0.0, 0.0), "open" if x > 50 else "closed")
    ...         for x in range(0, 100, 10)]
    >>> take_off(seam)["cuts"][0]
    [0.0, 0.4]
    """
    opened = [one for one in samples if one.state == "open" and one.gap_mm is not None and one.gap_u95_mm is not None]
    if not opened:
        return None
    widest = max((one.gap_mm or 0.0) - (one.gap_u95_mm or 0.0) for one in opened)
    bears = [one for one in samples if one.state == "closed"]
    cuts = [[round(one.place_mm(), 1), round(max(widest - (one.gap_u95_mm or 0.0), 0.0), 3)] for one in bears]
    return {"seam": True, "widest_mm": round(widest, 3), "cuts": [cut for cut in cuts if cut[1] > 0.0]}
