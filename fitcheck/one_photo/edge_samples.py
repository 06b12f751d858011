"""From edge and line as a finder traced them in one photograph to samples with value, uncertainty and state.

Whichever finder traced them (:mod:`fitcheck.one_photo.edge`, :mod:`fitcheck.one_photo.scored_edge`), a value is worked
out and told in one way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Sample
from fitcheck.contract.settings import Settings
from fitcheck.ground.uncertainty import COVERAGE
from fitcheck.lap.past_values import Seen, Values, past_values
from fitcheck.lap.strip import Strip
from fitcheck.reference.pose import FacePose

SAMPLE_MM = 5.0
U_WITNESS_MM = 0.15
FAR_MM = 120.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Traced:
    """Edge and line in one photograph at ``along_mm`` (N,), their places and uncertainties (N,) in rows of ``strip``.

    ``u_corner_mm`` is the uncertainty of the corner's place that is common to the photograph; ``hidden`` tells that the
    plank hides its inner corner, so that the edge traced is the outer one. ``in_sight`` (N,) is False out of the
    picture, ``covered`` (N,) True under a clamp; ``lost`` (N,) says why there is no line to measure to: "hidden",
    "ambiguous", or "".
    """

    pose: FacePose
    strip: Strip
    along_mm: np.ndarray
    edge_down_mm: np.ndarray
    u_edge_mm: np.ndarray
    line_down_mm: np.ndarray
    u_line_mm: np.ndarray
    u_corner_mm: float
    hidden: bool
    in_sight: np.ndarray
    covered: np.ndarray
    lost: np.ndarray


def values_of(traced: Traced, settings: Settings) -> Values:
    """Past-the-line values of one photograph, window by window."""
    bevel_deg, u_bevel_deg = settings.bevel()
    along = traced.along_mm
    seen = Seen(
        edge_mm=np.column_stack([along, traced.strip.y_mm(along, traced.edge_down_mm)]),
        line_mm=np.column_stack([along, traced.strip.y_mm(along, traced.line_down_mm)]),
        u_edge_mm=traced.u_edge_mm,
        u_line_mm=traced.u_line_mm,
        u_corner_mm=traced.u_corner_mm,
        hidden=traced.hidden,
        drop_mm=settings.witness_mm or 0.0,
    )
    return past_values(
        traced.pose,
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


def places_in_sight(traced: Traced, values: Values) -> np.ndarray:
    """Places each 5 mm from the first window in the picture to the last; the rest is not of this photograph."""
    places = _places(values)
    seen = traced.along_mm[traced.in_sight]
    return places[(places >= seen.min()) & (places <= seen.max())] if len(seen) else places


def samples_at(traced: Traced, values: Values, settings: Settings, places: np.ndarray) -> list[Sample]:
    """A sample at each of these places (N,) along the lap, from the windows on either side of it."""
    order = np.argsort(values.along_mm)
    along = values.along_mm[order]
    nearest = order[np.clip(np.searchsorted(along, places - SAMPLE_MM / 2), 0, len(order) - 1)]
    past = np.interp(places, along, values.past_mm[order])
    u95 = COVERAGE * np.interp(places, along, values.u_mm[order])
    edge_px, line_px = _pixels(traced, values, settings, places, past)
    covered, lost = traced.covered[nearest], traced.lost[nearest]
    samples = []
    for number, place in enumerate(places):
        flags = _flags(traced, settings, float(place))
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


def _flags(traced: Traced, settings: Settings, place_mm: float) -> tuple[str, ...]:
    flags = ["edge-from-outer-corner" if traced.hidden else "edge-from-inner-corner"]
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
    traced: Traced, values: Values, settings: Settings, places: np.ndarray, past: np.ndarray
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Where inner corner and line stand in the picture at these places."""
    line_y = traced.strip.y_mm(places, np.interp(places, traced.along_mm, traced.line_down_mm))
    lap_y = line_y + (settings.witness_mm or 0.0)
    bevel = np.radians(settings.bevel()[0])
    corner = np.column_stack([places, lap_y - past * np.cos(bevel), past * np.sin(bevel)])
    line = np.column_stack([places, line_y, np.zeros(len(places))])
    as_pairs = lambda px: [(float(u), float(v)) for u, v in px]  # noqa: E731
    return as_pairs(traced.pose.px_from_face(corner)), as_pairs(traced.pose.px_from_face(line))
