"""One photograph of one lap: from the picture to samples with value, uncertainty and state."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.advice.states import state_of
from fitcheck.calibration.camera import Camera, check_measurable, load_camera
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.contract.settings import Settings, unusual_lap
from fitcheck.ground.candidates import Candidate, cards, carried, lettered
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.ground.small_lengths import told_in
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.lap.course.find_course import edge_ambiguous
from fitcheck.lap.line.fair_line import BELIEVED
from fitcheck.lap.past_values import Seen, Values, past_values
from fitcheck.lap.shown import ambiguous_shown, look_shown
from fitcheck.lap.square_on.square_look import Look
from fitcheck.lap.square_on.with_cards import look_with_cards
from fitcheck.picture.focus import exposure_and_focus
from fitcheck.picture.photo import Photo, load_photo
from fitcheck.reference.find import find_references
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Sighting

SAMPLE_MM = 5.0
U_WITNESS_MM = 0.15
FAR_MM = 120.0
LEAST_MEASURED_MM = 40.0
MOST_AT_EDGE = 0.4
#: Where more than this share of the lap shows a sure line, it is the edge that cannot be told.
SURE_LINE = 0.5


def measure_photo(path: str | Path, camera: Camera | str | Path, settings: Settings) -> Measurement:
    """Measure the lap in one photograph.

    ``camera`` is a camera or the path of its file. The answer is false, with its reasons, where the photograph cannot
    be measured; only a
    wrong call (:class:`fitcheck.ground.refusal.WrongCall`: no such file, an unusable camera file) raises.
    """
    camera = camera if isinstance(camera, Camera) else load_camera(camera)
    try:
        photo = load_photo(path, size_px=camera.size_px)
    except Refused as refused:
        return refusal(refused.reason, settings, camera, ({"name": Path(path).name},))
    return measure_loaded(photo, camera, settings)


def measure_loaded(photo: Photo, camera: Camera, settings: Settings) -> Measurement:
    """As :func:`measure_photo`, for a photograph already loaded."""
    try:
        warnings = (*check_measurable(camera, photo), *exposure_and_focus(photo.pixels))
        turned = camera.turned(photo.orientation)
        found = find_references(photo.pixels, turned, settings.reference, settings.hints.reference_at_px)
        with carried(cards(one.outline_px for one in found.sightings)):
            look, used, settings, told = look_with_cards(photo.pixels, list(found.references), settings)
            return _answer(photo, camera, settings, tuple(used), look, (*warnings, *found.warnings, *told))
    except Refused as refused:
        return refusal(refused.reason, settings, camera, (photo.as_json(),), refused.candidates)


def refusal(
    reason: Reason,
    settings: Settings,
    camera: Camera | None,
    photos: tuple[Mapping[str, Any], ...],
    candidates: tuple[Candidate, ...] = (),
) -> Measurement:
    """A measurement that could not be made, with the reason and what had been found."""
    named = None if camera is None else camera.as_json()
    shown = lettered(candidates)
    reasons = (told_in(reason, settings.units),)
    return Measurement("refused", settings.as_json(), reasons=reasons, camera=named, photos=photos, candidates=shown)


def _answer(
    photo: Photo,
    camera: Camera,
    settings: Settings,
    sightings: tuple[Sighting, ...],
    look: Look,
    warnings: tuple[Reason, ...],
) -> Measurement:
    values = values_of(look, settings)
    samples = tuple(samples_at(look, values, settings, _in_sight(look, values)))
    with carried(look_shown(look)):
        refuse_if_nothing(samples, look, settings)
    return Measurement(
        "measured",
        {**settings.as_json(), "keel": look.keel},
        warnings=warnings + warnings_of(settings),
        camera=camera.as_json(),
        photos=(photo.as_json(),),
        reference=_reference_json(sightings, look.pose),
        samples=samples,
        budget_mm={name: round(float(np.median(part)), 4) for name, part in values.parts.items()},
        candidates=lettered(ambiguous_shown(look)),
    )


def values_of(look: Look, settings: Settings) -> Values:
    """Past-the-line values of one photograph, window by window."""
    bevel_deg, u_bevel_deg = settings.bevel()
    along = look.aligned.along_mm
    seen = Seen(
        edge_mm=np.column_stack([along, look.strip.y_mm(along, look.edge_down_mm)]),
        line_mm=np.column_stack([along, look.strip.y_mm(along, look.line.down_mm)]),
        u_edge_mm=look.aligned.u_mm,
        u_line_mm=look.line.u_mm,
        u_corner_mm=look.corners.u_strake_mm,
        hidden=look.hidden,
        drop_mm=settings.witness_mm or 0.0,
    )
    return past_values(
        look.pose,
        seen,
        thickness_mm=settings.thickness_mm,
        u_thickness_mm=settings.u_thickness_mm,
        bevel_deg=bevel_deg,
        u_bevel_deg=u_bevel_deg,
        u_witness_mm=U_WITNESS_MM if settings.witness_mm else 0.0,
        gains=settings.gains,
    )


def _places(values: Values) -> np.ndarray:
    """Places each 5 mm of lap, as far as there are values."""
    low, high = values.along_mm.min(), values.along_mm.max()
    return np.arange(np.ceil(low / SAMPLE_MM) * SAMPLE_MM, high + 1e-6, SAMPLE_MM)


def _in_sight(look: Look, values: Values) -> np.ndarray:
    """Places each 5 mm from the first window in the picture to the last; the rest is not of this photograph."""
    places = _places(values)
    seen = look.aligned.along_mm[look.aligned.seen > 0.5]
    return places[(places >= seen.min()) & (places <= seen.max())] if len(seen) else places


def samples_at(look: Look, values: Values, settings: Settings, places: np.ndarray) -> list[Sample]:
    """A sample at each of these places (N,) along the lap, from the windows on either side of it."""
    order = np.argsort(values.along_mm)
    along = values.along_mm[order]
    nearest = order[np.clip(np.searchsorted(along, places - SAMPLE_MM / 2), 0, len(order) - 1)]
    past = np.interp(places, along, values.past_mm[order])
    u95 = COVERAGE * np.interp(places, along, values.u_mm[order])
    edge_px, line_px = _pixels(look, values, settings, places, past)
    covered, lost = look.covered[nearest], _lost(look)[nearest]
    samples = []
    for number, place in enumerate(places):
        flags = _flags(look, settings, float(place))
        if covered[number] or lost[number]:
            state = "covered" if covered[number] else lost[number]
            samples.append(Sample(float(place), None, None, str(state), edge_px=edge_px[number], flags=flags))
            continue
        value, doubt = float(past[number]), float(u95[number])
        state = state_of(value, doubt, settings.limit_mm)
        samples.append(
            Sample(float(place), value, doubt, state, edge_px=edge_px[number], line_px=line_px[number], flags=flags)
        )
    return samples


def _lost(look: Look) -> np.ndarray:
    """Windows (N,) without a line to measure to: "hidden", "ambiguous", or ""."""
    sure = (look.line.chance >= BELIEVED) & ~look.edge_unclear
    # A path that lies against the edge follows the crease, not a line: the line is under the plank there, or at it.
    lost = np.where(sure, "", "ambiguous").astype(object)
    at_edge = look.line.at_edge
    # Where most of it follows the crease, the rest is no line either.
    lost[at_edge | (at_edge[~look.covered].mean() > MOST_AT_EDGE if (~look.covered).any() else False)] = "hidden"
    return lost


def _flags(look: Look, settings: Settings, place_mm: float) -> tuple[str, ...]:
    flags = ["edge-from-outer-corner" if look.hidden else "edge-from-inner-corner"]
    if abs(place_mm) > FAR_MM:
        flags.append("far-from-reference")
    if settings.witness_mm:
        flags.append("witness")
    if settings.bevel_deg is None:
        flags.append("bevel-not-told")
    if settings.hints.pointed:
        flags.append("by-hand")
    return tuple(flags)


def _pixels(
    look: Look, values: Values, settings: Settings, places: np.ndarray, past: np.ndarray
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Where inner corner and line stand in the picture at these places."""
    line_y = look.strip.y_mm(places, np.interp(places, look.line.along_mm, look.line.down_mm))
    lap_y = line_y + (settings.witness_mm or 0.0)
    bevel = np.radians(settings.bevel()[0])
    corner = np.column_stack([places, lap_y - past * np.cos(bevel), past * np.sin(bevel)])
    line = np.column_stack([places, line_y, np.zeros(len(places))])
    as_pairs = lambda px: [(float(u), float(v)) for u, v in px]  # noqa: E731
    return as_pairs(look.pose.px_from_face(corner)), as_pairs(look.pose.px_from_face(line))


def refuse_if_nothing(samples: tuple[Sample, ...], look: Look, settings: Settings) -> None:
    """Raise :class:`Refused` with the reason where too little of the lap has a value."""
    measured = [sample for sample in samples if sample.past_line_mm is not None]
    if len(measured) * SAMPLE_MM >= LEAST_MEASURED_MM:
        return
    line = "witness line" if settings.witness_mm else "lap line"
    if all(sample.state == "covered" for sample in samples):
        raise Refused(
            "edge-covered",
            "The plank's edge is covered or out of sight along the whole photograph. Photograph between the clamps.",
        )
    if _only_the_edge_is_unclear(look):
        raise edge_ambiguous()
    faint = look.line.score > look.line.rival + 0.15 and look.line.score > 0.8
    if faint or settings.witness_mm:
        raise Refused(
            "line-ambiguous",
            f"The {line} cannot be told from the grain. Strike it again, darker, or point to it with --line-at u,v.",
        )
    if look.hidden:
        raise Refused(
            "line-hidden",
            "The lap line is hidden behind the plank's edge from here. "
            "Photograph from lower down, on the keel side, or strike a "
            "witness line below it and give its distance with --witness.",
        )
    raise Refused(
        "no-line",
        "No lap line is in sight below the edge: the edge has run past it, or it is not drawn, "
        "or too faint for this grain. "
        "Strike it darker, or a witness line below it and give its distance with --witness.",
    )


def _only_the_edge_is_unclear(look: Look) -> bool:
    sight = ~look.covered
    line = (look.line.chance >= BELIEVED) & ~look.line.at_edge
    return bool(sight.any() and line[sight].mean() > SURE_LINE and look.edge_unclear[sight].all())


def warnings_of(settings: Settings) -> tuple[Reason, ...]:
    """What is to be said of the settings with every answer."""
    warnings = []
    if settings.bevel_deg is None:
        warnings.append(
            Reason(
                "bevel-not-told",
                "No bevel was told; 6° ± 4° is assumed. Give --bevel from the bevel gauge for a narrower answer.",
            )
        )
    if settings.lap_mm is not None:
        warnings += unusual_lap(settings.lap_mm, settings.thickness_mm, check="--lap and --thickness")
    return tuple(warnings)


def _reference_json(sightings: tuple[Sighting, ...], pose: FacePose) -> dict[str, Any]:
    first = sightings[0]
    return {
        "kind": first.kind,
        "corners_px": [[round(float(u), 2), round(float(v), 2)] for u, v in first.outline_px],
        "tilt_deg": round(pose.tilt_deg, 2),
        "u_tilt_deg": round(float(np.degrees(np.sqrt(pose.covariance[0, 0]))), 2),
        "residual_px": round(pose.residual_px, 3),
        "distance_mm": round(float(np.linalg.norm(pose.translation_mm)), 1),
        "count": len(sightings),
    }
