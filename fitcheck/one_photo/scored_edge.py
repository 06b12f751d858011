"""One photograph of one lap by the trained score: a second opinion on one that the usual way refused.

Its numbers are those of photographed boards, on which it was trained; on grain that a program drew the usual way is
surer. So it is asked only where that way found no line or no edge, and it must find both plainly.
"""

from __future__ import annotations

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.contract.measurement import Measurement
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.square_on.scored_look import ScoredLook
from fitcheck.lap.square_on.scored_strake import look_from_cards
from fitcheck.one_photo.edge import (
    LEAST_MEASURED_MM,
    Ready,
    measure_ready,
    ready,
    reference_json,
    refusal,
    warnings_of,
)
from fitcheck.one_photo.edge_samples import SAMPLE_MM, Traced, places_in_sight, samples_at, values_of
from fitcheck.picture.photo import Photo

#: Refusals after which the score is asked: the reference was found, and edge or line was not.
ASKED_AFTER = frozenset(
    ("no-edge", "edge-ambiguous", "keel-unclear", "line-ambiguous", "no-line", "line-hidden", "reference-on-plank")
)
#: Where the line is more likely absent than this it is said to be hidden; else it cannot be told.
ABSENT = 0.8
#: A line that lies nearer the edge than this along more than so much of its length may be the same dark stroke.
ONE_STROKE_MM, ONE_STROKE_SHARE = 0.5, 0.5
#: The score's answer is taken where so much of the lap in sight has a number.
LEAST_SHARE = 0.4


def measure_either_way(photo: Photo, camera: Camera, settings: Settings) -> Measurement:
    """As :func:`fitcheck.one_photo.edge.measure_loaded`, with the second opinion where that refuses."""
    try:
        taken = ready(photo, camera, settings)
    except Refused as refused:
        return refusal(refused.reason, settings, camera, (photo.as_json(),), refused.candidates)
    return second_opinion(measure_ready(taken, camera, settings), taken, camera, settings)


def second_opinion(refused: Measurement, taken: Ready, camera: Camera, settings: Settings) -> Measurement:
    """The measurement by the trained score of a photograph that the usual way refused; the refusal where it fails too.

    Places that were pointed at are left to the usual way.
    """
    if refused or settings.hints.pointed or not {one.code for one in refused.reasons} <= ASKED_AFTER:
        return refused
    try:
        look, card = look_from_cards(taken.photo.pixels, list(taken.found.references), settings)
    except Refused:
        return refused
    traced = _traced(look)
    if one_stroke(traced):
        return refused
    values = values_of(traced, settings)
    samples = tuple(samples_at(traced, values, settings, places_in_sight(traced, values)))
    measured = [one for one in samples if one.past_line_mm is not None]
    in_sight = [one for one in samples if one.state != "covered"]
    if len(measured) * SAMPLE_MM < LEAST_MEASURED_MM or len(measured) < LEAST_SHARE * len(in_sight):
        return refused
    return Measurement(
        "measured",
        {**settings.as_json(), "keel": look.keel},
        warnings=(*taken.warnings, by_score(), *warnings_of(settings)),
        camera=camera.as_json(),
        photos=(taken.photo.as_json(),),
        reference=reference_json((card,), look.pose),
        samples=samples,
        budget_mm={name: round(float(np.median(part)), 4) for name, part in values.parts.items()},
    )


def one_stroke(traced: Traced) -> bool:
    """Whether edge and line lie on each other along most of the lap: one stroke or streak taken for both.

    Its number would be a sure nought, whatever the plank does. A plank that has come to its line looks so too; that is
    left to the usual way and to the eye.
    """
    told = (traced.lost == "") & ~traced.covered
    near = np.abs(traced.line_down_mm - traced.edge_down_mm)[told] < ONE_STROKE_MM
    return bool(near.any() and near.mean() > ONE_STROKE_SHARE)


def by_score() -> Reason:
    """What is said with every answer by the score."""
    return Reason(
        "by-score",
        "Edge and line were told by the trained score, on wood where they do not stand out plainly. Look at the "
        "picture: are they traced right? Measure a place or two with a rule.",
    )


def _traced(look: ScoredLook) -> Traced:
    return Traced(
        pose=look.pose,
        strip=look.strip,
        along_mm=look.along_mm,
        edge_down_mm=look.edge_down_mm,
        u_edge_mm=look.marks.edge.u_mm,
        line_down_mm=look.marks.line.down_mm,
        u_line_mm=look.marks.line.u_mm,
        u_corner_mm=look.u_corner_mm,
        hidden=look.hidden,
        in_sight=look.sight > 0.5,
        covered=look.covered,
        lost=_lost(look),
    )


def _lost(look: ScoredLook) -> np.ndarray:
    """Windows (N,) without a line to measure to: "hidden", "ambiguous", or ""."""
    lost = np.where(look.measured, "", "ambiguous").astype(object)
    lost[look.edge_sure & (look.marks.line.absent > ABSENT)] = "hidden"
    return lost
