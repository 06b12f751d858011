"""One photograph of one lap by the trained score: a second opinion on one that the usual way refused.

Its numbers are those of photographed boards, on which it was trained; on grain that a program drew the usual way is
surer. So it is asked only where that way found no line or no edge, and it must find both plainly.
"""

from __future__ import annotations

import numpy as np

from fitcheck.advice.states import state_of
from fitcheck.calibration.camera import Camera, check_measurable
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.lap.past_values import Seen, Values, past_values
from fitcheck.lap.square_on.scored_look import ScoredLook
from fitcheck.lap.square_on.scored_strake import look_from_cards
from fitcheck.one_photo.edge import (
    FAR_MM,
    LEAST_MEASURED_MM,
    SAMPLE_MM,
    U_WITNESS_MM,
    reference_json,
    warnings_of,
)
from fitcheck.picture.focus import exposure_and_focus
from fitcheck.picture.photo import Photo
from fitcheck.reference.find import find_references

#: Refusals after which the score is asked: the reference was found, and edge or line was not.
ASKED_AFTER = frozenset(
    ("no-edge", "edge-ambiguous", "keel-unclear", "line-ambiguous", "no-line", "line-hidden", "reference-on-plank")
)
#: Where the line is more likely absent than this it is said to be hidden; else it cannot be told.
ABSENT = 0.8
#: The score's answer is taken where so much of the lap in sight has a number.
LEAST_SHARE = 0.4


def second_opinion(refused: Measurement, photo: Photo, camera: Camera, settings: Settings) -> Measurement:
    """The measurement by the trained score of a photograph that the usual way refused; the refusal where it fails too.

    Places that were pointed at are left to the usual way.
    """
    if refused or settings.hints.pointed or not {one.code for one in refused.reasons} <= ASKED_AFTER:
        return refused
    try:
        found = find_references(photo.pixels, camera.turned(photo.orientation), settings.reference)
        look, card = look_from_cards(photo.pixels, list(found.references), settings)
    except Refused:
        return refused
    values = values_of(look, settings)
    samples = tuple(samples_at(look, values, settings, places_in_sight(look, values)))
    measured = [one for one in samples if one.past_line_mm is not None]
    in_sight = [one for one in samples if one.state != "covered"]
    if len(measured) * SAMPLE_MM < LEAST_MEASURED_MM or len(measured) < LEAST_SHARE * len(in_sight):
        return refused
    told = (*check_measurable(camera, photo), *exposure_and_focus(photo.pixels), *found.warnings)
    return Measurement(
        "measured",
        {**settings.as_json(), "keel": look.keel},
        warnings=(*told, by_score(), *warnings_of(settings)),
        camera=camera.as_json(),
        photos=(photo.as_json(),),
        reference=reference_json((card,), look.pose),
        samples=samples,
        budget_mm={name: round(float(np.median(part)), 4) for name, part in values.parts.items()},
    )


def by_score() -> Reason:
    """What is said with every answer by the score."""
    return Reason(
        "by-score",
        "Edge and line were told by the trained score, on wood where they do not stand out plainly. Look at the "
        "picture: are they traced right? Measure a place or two with a rule.",
    )


def values_of(look: ScoredLook, settings: Settings) -> Values:
    """Past-the-line values of one photograph, window by window."""
    bevel_deg, u_bevel_deg = settings.bevel()
    along = look.along_mm
    seen = Seen(
        edge_mm=np.column_stack([along, look.strip.y_mm(along, look.edge_down_mm)]),
        line_mm=np.column_stack([along, look.strip.y_mm(along, look.marks.line.down_mm)]),
        u_edge_mm=look.marks.edge.u_mm,
        u_line_mm=look.marks.line.u_mm,
        u_corner_mm=look.u_corner_mm,
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


def places_in_sight(look: ScoredLook, values: Values) -> np.ndarray:
    """Places each 5 mm from the first window in the picture to the last; the rest is not of this photograph."""
    places = _places(values)
    seen = look.along_mm[look.sight > 0.5]
    return places[(places >= seen.min()) & (places <= seen.max())] if len(seen) else places


def samples_at(look: ScoredLook, values: Values, settings: Settings, places: np.ndarray) -> list[Sample]:
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


def _lost(look: ScoredLook) -> np.ndarray:
    """Windows (N,) without a line to measure to: "hidden", "ambiguous", or ""."""
    lost = np.where(look.measured, "", "ambiguous").astype(object)
    lost[look.edge_sure & (look.marks.line.absent > ABSENT)] = "hidden"
    return lost


def _flags(look: ScoredLook, settings: Settings, place_mm: float) -> tuple[str, ...]:
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
    look: ScoredLook, values: Values, settings: Settings, places: np.ndarray, past: np.ndarray
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Where inner corner and line stand in the picture at these places."""
    line_y = look.strip.y_mm(places, np.interp(places, look.along_mm, look.marks.line.down_mm))
    lap_y = line_y + (settings.witness_mm or 0.0)
    bevel = np.radians(settings.bevel()[0])
    corner = np.column_stack([places, lap_y - past * np.cos(bevel), past * np.sin(bevel)])
    line = np.column_stack([places, line_y, np.zeros(len(places))])
    as_pairs = lambda px: [(float(u), float(v)) for u, v in px]  # noqa: E731
    return as_pairs(look.pose.px_from_face(corner)), as_pairs(look.pose.px_from_face(line))
