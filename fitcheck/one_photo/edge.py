"""One photograph of one lap: from the picture to samples with value, uncertainty and state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.calibration.camera import Camera, check_measurable, load_camera
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.contract.settings import Settings, unusual_lap
from fitcheck.ground.candidates import Candidate, cards, carried, lettered
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.ground.small_lengths import told_in
from fitcheck.lap.course.find_course import edge_ambiguous
from fitcheck.lap.line.fair_line import BELIEVED
from fitcheck.lap.shown import ambiguous_shown, look_shown
from fitcheck.lap.square_on.square_look import Look
from fitcheck.lap.square_on.with_cards import look_with_cards
from fitcheck.one_photo.edge_samples import SAMPLE_MM, Traced, places_in_sight, samples_at, values_of
from fitcheck.picture.focus import exposure_and_focus
from fitcheck.picture.photo import Photo, load_photo
from fitcheck.reference.find import find_references
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Found, Sighting

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
        return measure_ready(ready(photo, camera, settings), camera)
    except Refused as refused:
        return refusal(refused.reason, settings, camera, (photo.as_json(),), refused.candidates)


@dataclass(frozen=True, eq=False)
class Ready:
    """A photograph that can be measured, the references found in it, its settings, and what is to be said of it."""

    photo: Photo
    found: Found
    settings: Settings
    warnings: tuple[Reason, ...]

    @property
    def outlines_px(self) -> tuple[np.ndarray, ...]:
        """The outlines of all references."""
        return tuple(one.outline_px for one in self.found.sightings)


def ready(photo: Photo, camera: Camera, settings: Settings) -> Ready:
    """Find the references in a photograph. Raises :class:`Refused` where it cannot be measured or none is found."""
    warnings = (*check_measurable(camera, photo), *exposure_and_focus(photo.pixels))
    turned = camera.turned(photo.orientation)
    try:
        found = find_references(photo.pixels, turned, settings.reference, settings.hints.reference_at_px)
    except Refused as refused:
        # Where nothing in the picture is sharp the shape of what was found is not that of the card.
        soft = any(one.code == "photo-soft" for one in warnings)
        if soft and refused.reason.code == "reference-aspect":
            raise Refused(
                "photo-blurred",
                "The picture is too blurred to tell the card. Focus on the lap, hold still or rest the camera, and "
                "bring light.",
            ) from None
        raise
    return Ready(photo, found, settings, (*warnings, *found.warnings))


def measure_ready(taken: Ready, camera: Camera) -> Measurement:
    """As :func:`measure_loaded`, for a photograph whose references are found."""
    photo, found, settings = taken.photo, taken.found, taken.settings
    try:
        with carried(cards(taken.outlines_px)):
            look, strake = look_with_cards(photo.pixels, list(found.references), settings)
            return _answer(photo, camera, strake.settings, strake.used, look, (*taken.warnings, *strake.told))
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
    traced = traced_of(look)
    values = values_of(traced, settings)
    samples = tuple(samples_at(traced, values, settings, places_in_sight(traced, values)))
    with carried(look_shown(look)):
        refuse_if_nothing(samples, look, settings)
    return Measurement(
        "measured",
        {**settings.as_json(), "keel": look.keel},
        warnings=warnings + warnings_of(settings),
        camera=camera.as_json(),
        photos=(photo.as_json(),),
        reference=reference_json(sightings, look.pose),
        samples=samples,
        budget_mm={name: round(float(np.median(part)), 4) for name, part in values.parts.items()},
        candidates=lettered(ambiguous_shown(look)),
    )


def traced_of(look: Look) -> Traced:
    """What a look traced, as samples are made of it."""
    return Traced(
        pose=look.pose,
        strip=look.strip,
        along_mm=look.aligned.along_mm,
        edge_down_mm=look.edge_down_mm,
        u_edge_mm=look.aligned.u_mm,
        line_down_mm=look.line.down_mm,
        u_line_mm=look.line.u_mm,
        u_corner_mm=look.corners.u_strake_mm,
        hidden=look.hidden,
        in_sight=look.aligned.seen > 0.5,
        covered=look.covered,
        lost=_lost(look),
    )


def _lost(look: Look) -> np.ndarray:
    """Windows (N,) without a line to measure to: "hidden", "ambiguous", or ""."""
    sure = (look.line.chance >= BELIEVED) & ~look.edge_unclear
    # A path that lies against the edge follows the crease, not a line: the line is under the plank there, or at it.
    lost = np.where(sure, "", "ambiguous").astype(object)
    at_edge = look.line.at_edge
    # Where most of it follows the crease, the rest is no line either.
    lost[at_edge | (at_edge[~look.covered].mean() > MOST_AT_EDGE if (~look.covered).any() else False)] = "hidden"
    return lost


def refuse_if_nothing(samples: tuple[Sample, ...], look: Look, settings: Settings) -> None:
    """Raise :class:`Refused` with the reason where too little of the lap has a value."""
    if not too_little(samples):
        return
    if _only_the_edge_is_unclear(look):
        raise edge_ambiguous()
    faint = look.line.score > look.line.rival + 0.15 and look.line.score > 0.8
    if faint or settings.witness_mm:
        raise line_ambiguous(settings)
    if look.hidden:
        raise line_hidden()
    raise Refused(
        "no-line",
        "No lap line is in sight below the edge: the edge has run past it, or it is not drawn, "
        "or too faint for this grain. "
        "Strike it darker, or a witness line below it and give its distance with --witness.",
    )


def too_little(samples: tuple[Sample, ...]) -> bool:
    """Whether too little of the lap has a value. Raises :class:`Refused` ``edge-covered`` where none is in sight."""
    measured = [sample for sample in samples if sample.past_line_mm is not None]
    if len(measured) * SAMPLE_MM >= LEAST_MEASURED_MM:
        return False
    if all(sample.state == "covered" for sample in samples):
        raise Refused(
            "edge-covered",
            "The plank's edge is covered or out of sight along the whole photograph. Photograph between the clamps.",
        )
    return True


def line_ambiguous(settings: Settings) -> Refused:
    """The refusal where the line cannot be told from the grain."""
    line = "witness line" if settings.witness_mm else "lap line"
    return Refused(
        "line-ambiguous",
        f"The {line} cannot be told from the grain. Strike it again, darker, or point to it with --line-at u,v.",
    )


def line_hidden() -> Refused:
    """The refusal where the plank hides its line."""
    return Refused(
        "line-hidden",
        "The lap line is hidden behind the plank's edge from here. "
        "Photograph from lower down, on the keel side, or strike a "
        "witness line below it and give its distance with --witness.",
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


def reference_json(sightings: tuple[Sighting, ...], pose: FacePose) -> dict[str, Any]:
    """What an answer tells of the reference it rests on."""
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
