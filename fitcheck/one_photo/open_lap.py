"""One edge-on photograph of a lap: from the picture to samples with gap, step, uncertainty and state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.advice.bevel import bevel_advice
from fitcheck.advice.gain_run import gain_advice
from fitcheck.calibration.camera import Camera, check_measurable, load_camera
from fitcheck.contract.gain import GainShape, step_mm
from fitcheck.contract.gap_measurement import GapMeasurement, GapSample
from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import Candidate, candidate, cards, carried, lettered
from fitcheck.ground.refusal import Reason, Refused, WrongCall
from fitcheck.ground.small_lengths import told_in
from fitcheck.lap.edge_on.corner_pair import find_by_thickness
from fitcheck.lap.edge_on.edge_on_look import Look, look_edge_on
from fitcheck.lap.edge_on.find_edge import EdgeOn, find_by_reference, refuse_square_on
from fitcheck.lap.edge_on.gap_samples import placed, sample_of
from fitcheck.lap.edge_on.gap_values import OPEN, gap_values
from fitcheck.lap.section import Section
from fitcheck.picture.focus import exposure_and_focus
from fitcheck.picture.photo import Photo, load_photo
from fitcheck.reference.card.card_kind import CARDS
from fitcheck.reference.find import find_references
from fitcheck.reference.kinds import THICKNESS
from fitcheck.reference.sighting import Sighting

#: Where the step differs by more than this, beyond its doubt, over this share of the lap, thickness or gain are wrong.
OFF_MM, OFF_SHARE = 0.3, 0.5
#: A step that is level within the first along most of the lap, and differs by more than the second, is another
#: thickness, or a streak of grain: its doubt alone would not say so.
LEVEL_MM, LEVEL_OFF_MM = 0.8, 0.9
#: A step above its full height carries the excess as doubt; where the middle of all is so much higher it is said.
TALLER = 1.08


@dataclass(frozen=True, eq=False)
class _Start:
    """What a look begins with: the references seen, the edge roughly, and what is to be said of them."""

    sightings: tuple[Sighting, ...]
    rough: EdgeOn
    warnings: tuple[Reason, ...]


def measure_gap(path: str | Path, camera: Camera | str | Path, settings: Settings) -> GapMeasurement:
    """Measure gap and step of the lap in one edge-on photograph.

    ``camera`` is a camera or the path of its file; ``settings.reference`` is "thickness" where nothing
    of known length lies in the photograph. The answer is false, with its reasons, where the photograph cannot be
    measured; only a wrong call raises (:class:`fitcheck.ground.refusal.WrongCall`: no such file, an unusable camera
    file).
    """
    camera = camera if isinstance(camera, Camera) else load_camera(camera)
    try:
        photo = load_photo(path, size_px=camera.size_px)
    except Refused as refused:
        return gap_refusal(refused.reason, settings, camera, ({"name": Path(path).name},))
    return measure_gap_loaded(photo, camera, settings)


def measure_gap_loaded(photo: Photo, camera: Camera, settings: Settings) -> GapMeasurement:
    """As :func:`measure_gap`, for a photograph already loaded."""
    try:
        warnings = (*check_measurable(camera, photo), *exposure_and_focus(photo.pixels))
        turned = camera.turned(photo.orientation)
        section = Section(settings.thickness_mm, float(np.radians(settings.bevel()[0])), eased_mm=settings.eased_mm)
        start = _find(photo.pixels, turned, settings, section)
        covers = tuple(one.outline_px for one in start.sightings)
        with carried((*cards(covers), candidate("edge", start.rough.points_px))):
            look = look_edge_on(photo.pixels, start.rough, covers, section, settings.u_thickness_mm)
            return _answer(photo, camera, settings, section, start.sightings, look, (*warnings, *start.warnings))
    except Refused as refused:
        return gap_refusal(refused.reason, settings, camera, (photo.as_json(),), refused.candidates)


def gap_refusal(
    reason: Reason,
    settings: Settings,
    camera: Camera | None,
    photos: tuple[Mapping[str, Any], ...],
    candidates: tuple[Candidate, ...] = (),
) -> GapMeasurement:
    """A measurement that could not be made, with the reason and what had been found."""
    named = None if camera is None else camera.as_json()
    shown = lettered(candidates)
    reasons = (told_in(reason, settings.units),)
    return GapMeasurement("refused", settings.as_json(), reasons=reasons, camera=named, photos=photos, candidates=shown)


def _find(pixels: np.ndarray, camera: Camera, settings: Settings, section: Section) -> _Start:
    if settings.reference == THICKNESS.name:
        if settings.hints.reference_at_px:
            raise WrongCall("--reference-at points at a card: say with --reference which kind it is")
        told = _untold_card(pixels, camera)
        rough = find_by_thickness(pixels, camera, settings.thickness_mm, settings.keel)
        return _Start((), rough, (*told, *rough.warnings))
    found = find_references(pixels, camera, settings.reference, settings.hints.reference_at_px)
    outlines = tuple(one.outline_px for one in found.sightings)
    with carried(cards(outlines)):
        rough = find_by_reference(pixels, found.pose, outlines, section, settings.hints.edge_at_px)
    return _Start(found.sightings, rough, (*found.warnings, *rough.warnings))


def _untold_card(pixels: np.ndarray, camera: Camera) -> tuple[Reason, ...]:
    """What a card in the picture tells that was not named as its reference.

    Without a reference nothing else shows that a photograph was taken square-on, where every lap looks closed. Raises
    :class:`Refused` ``not-edge-on`` where a card shows it.
    """
    for kind in CARDS:
        try:
            found = find_references(pixels, camera, kind)
        except Refused:
            continue
        with carried(cards(one.outline_px for one in found.sightings)):
            refuse_square_on(found.pose.tilt_deg)
        text = f"A card lies in the picture: told with --reference {kind}, if it is one, it gives places and the step."
        return (Reason("card-not-told", text),)
    return ()


def _answer(
    photo: Photo,
    camera: Camera,
    settings: Settings,
    section: Section,
    sightings: tuple[Sighting, ...],
    look: Look,
    warnings: tuple[Reason, ...],
) -> GapMeasurement:
    values = gap_values(look, section, settings.u_thickness_mm)
    refuse_if_covered(look)
    one = placed(photo.name, look, values, values.along_mm, [0.0])
    samples = tuple(sample_of(one, row, on_plank=False) for row in range(len(one.place_mm)))
    if values.feigned:
        warnings = (*warnings, never_ending())
    return with_advice(
        GapMeasurement(
            "measured",
            {**settings.as_json(), "keel": look.rough.keel},
            warnings=warnings,
            camera=camera.as_json(),
            photos=(photo.as_json(),),
            reference=_reference_json(sightings, look),
            samples=samples,
            least_gap_mm=float(np.median(OPEN * values.u_gap_mm[~look.covered])),
            budget_mm={name: round(float(np.median(part[~look.covered])), 4) for name, part in values.parts.items()},
        ),
        settings,
    )


def with_advice(measurement: GapMeasurement, settings: Settings) -> GapMeasurement:
    """The measurement with its advice: which bevel to plane, and the step against the gains told."""
    samples, thickness_mm = measurement.samples, settings.thickness_mm
    bevel = bevel_advice(samples, lap_mm=settings.lap_mm, thickness_mm=thickness_mm, bevel_deg=settings.bevel_deg)
    wood_mm = float(np.median([sample.place_mm() for sample in samples]))
    gains = [gain.facing(wood_mm) for gain in settings.gains]
    found = [gain_advice(samples, gain, thickness_mm=thickness_mm) for gain in gains]
    differs = [told_in(one, settings.units) for one in _thickness_warning(samples, thickness_mm, gains)]
    warnings = (*measurement.warnings, *differs)
    advised = tuple(one for one in found if one is not None)
    return replace(measurement, warnings=warnings, bevel=bevel, gains=advised)


def _thickness_warning(
    samples: Sequence[GapSample], thickness_mm: float, gains: Sequence[GainShape]
) -> tuple[Reason, ...]:
    """What is said where the step surely is another than told along most of the lap."""
    known = [one for one in samples if one.proud_mm is not None and "scale-from-thickness" not in one.flags]
    if not known:
        return ()
    step, doubt = (np.array([getattr(one, key) for one in known], float) for key in ("proud_mm", "proud_u95_mm"))
    told = step_mm(thickness_mm, gains, np.array([one.place_mm() for one in known]))
    off = np.abs(step - told) - doubt
    level = np.ptp(np.quantile(step - told, (0.1, 0.9))) < LEVEL_MM
    level_off = level and abs(float(np.median(step - told))) > LEVEL_OFF_MM
    if np.mean(off > OFF_MM) < OFF_SHARE and not level_off and not np.median(step) > TALLER * np.median(told):
        return ()
    text = (
        f"The step is {np.median(step):.1f} mm along most of the lap, where the plank was told to be "
        f"{thickness_mm:g} mm thick: check --thickness, or tell the gain. A step that is too high may be the plank's "
        "shadow: light it from the keel side. One that is too low may be a streak of grain."
    )
    return (Reason("thickness-differs", text),)


def refuse_if_covered(look: Look) -> None:
    """Raise :class:`Refused` ``covered`` where nothing of the lap is clear."""
    if look.covered.all():
        raise Refused("covered", "The lap is covered along its whole length. Move the clamps and photograph again.")


def never_ending() -> Reason:
    """What is said where a dark band never ends along the photograph."""
    return Reason(
        "dark-all-along",
        "A dark band runs under the edge along the whole photograph. It may be a pencil line, a stain or a shadow; the "
        "doubt of the gap is widened by it. Wipe the line off, or photograph with the light from the keel side.",
    )


def _reference_json(sightings: tuple[Sighting, ...], look: Look) -> dict[str, Any]:
    seen = {"slant_deg": round(look.scale.slant_deg, 1), "px_per_mm": round(float(np.median(look.scale.px_per_mm)), 2)}
    pose = look.rough.pose
    if pose is None:
        return {"kind": THICKNESS.name, **seen}
    return {
        "kind": sightings[0].kind,
        "corners_px": [[round(float(u), 2), round(float(v), 2)] for u, v in sightings[0].outline_px],
        "tilt_deg": round(pose.tilt_deg, 2),
        "residual_px": round(pose.residual_px, 3),
        "distance_mm": round(float(np.linalg.norm(pose.translation_mm)), 1),
        "count": len(sightings),
        **seen,
    }
