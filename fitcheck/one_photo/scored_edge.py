"""One photograph of one lap by the trained score: where the builder points, or after the usual way refused it.

Its numbers are those of photographed boards, on which it was trained; on grain that a program drew the usual way is
surer. So it is asked only where that way found no line or no edge, and it must find both plainly. Places pointed at
are its own from the start: it takes them as evidence with a width, which the usual way cannot.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.contract.measurement import Measurement
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.one_photo.edge import Ready, measure_ready, ready, refusal
from fitcheck.one_photo.edge_samples import Traced
from fitcheck.one_photo.laid_looks import LaidLooks, lay
from fitcheck.one_photo.scored_answer import Together, answer_by_score, look_together, traced_by_score
from fitcheck.picture.photo import Photo

#: Refusals after which the score is asked: the reference was found, and edge or line was not.
ASKED_AFTER = frozenset(
    ("no-edge", "edge-ambiguous", "keel-unclear", "line-ambiguous", "no-line", "line-hidden", "reference-on-plank")
)
#: A line that lies nearer the edge than this along more than so much of its length may be the same dark stroke.
ONE_STROKE_MM, ONE_STROKE_SHARE = 0.5, 0.5
#: The second opinion is taken where so much of the lap in sight has a number.
LEAST_SHARE = 0.4


def measure_either_way(photo: Photo, camera: Camera, settings: Settings) -> Measurement:
    """As :func:`fitcheck.one_photo.edge.measure_loaded`, by the score where the builder points or the rules refuse."""
    try:
        taken = ready(photo, camera, settings)
    except Refused as refused:
        return refusal(refused.reason, settings, camera, (photo.as_json(),), refused.candidates)
    return ready_either_way(taken, camera)


def ready_either_way(taken: Ready, camera: Camera) -> Measurement:
    """As :func:`measure_either_way`, for a photograph whose references are found."""
    if taken.settings.hints.edge_at_px or taken.settings.hints.line_at_px:
        return pointed_at(taken, camera)
    return second_opinion(measure_ready(taken, camera), taken, camera)


def pointed_at(taken: Ready, camera: Camera) -> Measurement:
    """The measurement by the trained score of a photograph in which the builder pointed at edge or line."""
    try:
        laid = lay([taken])
        return _by_score(look_together(laid), laid, camera)
    except Refused as refused:
        photos = (taken.photo.as_json(),)
        return refusal(refused.reason, taken.settings, camera, photos, refused.candidates)


def second_opinion(refused: Measurement, taken: Ready, camera: Camera) -> Measurement:
    """The measurement by the trained score of a photograph that the usual way refused; its refusal where that fails."""
    if refused or not {one.code for one in refused.reasons} <= ASKED_AFTER:
        return refused
    try:
        laid = lay([taken])
        together = look_together(laid)
        if one_stroke(traced_by_score(together.looks[0])):
            return refused
        answer = _by_score(together, laid, camera)
    except Refused:
        return refused
    measured = [one for one in answer.samples if one.past_line_mm is not None]
    in_sight = [one for one in answer.samples if one.state != "covered"]
    return answer if len(measured) >= LEAST_SHARE * len(in_sight) else refused


def _by_score(together: Together, laid: LaidLooks, camera: Camera) -> Measurement:
    answer = answer_by_score(together, laid, camera, (laid.looks[0].ready.photo.as_json(),))
    return replace(answer, warnings=(*answer.warnings, by_score()))


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
