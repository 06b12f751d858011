"""The straight edges and ends of a rule, where they show: they sharpen its plane and tell where its scale begins."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.reference.rule.rule_pose import OnLine, RulePlane
from fitcheck.reference.rule.rule_ticks import px_of
from fitcheck.reference.sides.steps import sample_bilinear
from fitcheck.reference.sides.straight_sides import Side, fit_side

WIDEST_MM, NARROWEST_MM = 60.0, 6.0
LONGEST_MARGIN_MM = 25.0
CUT_MM = 0.25
MOST_SKEW, MOST_UNPARALLEL = 0.03, 0.008
STANDS_OUT = 0.4
#: An edge is straight to this much over this share of its length; a row of numerals is not.
MOST_RMS_PX, LEAST_KEPT = 0.5, 0.7
LEAST_BIAS_PX, WHOLE_SHARE = 0.04, 0.7


@dataclass(frozen=True)
class Edge:
    """One edge of the rule: ``at`` its y (or x, for an end) in mm, ``skew`` its slope there, ``side`` as fitted."""

    at: float
    side: Side
    skew: float

    def samples(self, camera: Camera, axis: int, line: int) -> OnLine:
        """The edge for the pose: it lies straight along one axis, at an unknown place.

        What scatters its places, a reflection or the wood's grain, also turns it whole.
        """
        seen = camera.undistort(self.side.places_px)
        bias_px = np.hypot(LEAST_BIAS_PX, WHOLE_SHARE * self.side.rms_px)
        u_px = np.sqrt(self.side.rms_px**2 + len(seen) * bias_px**2)
        return OnLine(seen, axis, np.full(len(seen), np.nan), np.full(len(seen), u_px / self.side.unit_px), line)


def find_edge(
    gray: np.ndarray, camera: Camera, plane: RulePlane, span_mm: tuple[float, float], y_mm: float, upward: bool
) -> Edge | None:
    """The graduated edge near ``y_mm``, from ``span_mm[0]`` to ``[1]`` along it; ``upward``: the rule lies below it."""
    left, right = px_of(plane, camera, np.array([(span_mm[0], y_mm), (span_mm[1], y_mm)]))
    ends = (left, right) if upward else (right, left)
    return _fitted(gray, camera, plane, ends, axis=1, reach_px=6.0)


def find_far_edge(
    gray: np.ndarray,
    camera: Camera,
    plane: RulePlane,
    span_mm: tuple[float, float],
    from_mm: float,
    downward: bool,
    beside: Edge | None = None,
) -> Edge | None:
    """The edge across the rule from the marks, searched from ``from_mm`` on, downward or upward.

    It runs along the graduated edge ``beside``, where that shows; streaks of grain and rows of numerals seldom do.
    """
    way = -1.0 if downward else 1.0
    across = from_mm + way * np.arange(0.0, WIDEST_MM, CUT_MM)
    places = np.linspace(span_mm[0], span_mm[1], 240)
    rises = _rises(gray, camera, plane, places, across, along_first=True)
    for cut in _standing_out(rises):
        y = float(across[cut])
        left, right = px_of(plane, camera, np.array([(span_mm[0], y), (span_mm[1], y)]))
        found = _fitted(gray, camera, plane, (right, left) if downward else (left, right), axis=1, reach_px=5.0)
        if found is not None and (beside is None or abs(found.skew - beside.skew) < MOST_UNPARALLEL):
            return found
    return None


def find_end(
    gray: np.ndarray, camera: Camera, plane: RulePlane, heights_mm: tuple[float, float], from_mm: float, rightward: bool
) -> Edge | None:
    """The rule's end beyond its last mark at ``from_mm``, seen between ``heights_mm`` (upper, lower)."""
    way = 1.0 if rightward else -1.0
    out = from_mm + way * np.arange(-0.8, LONGEST_MARGIN_MM, CUT_MM)
    places = np.linspace(heights_mm[0], heights_mm[1], 60)[5:-5]
    rises = _rises(gray, camera, plane, places, out, along_first=False)
    for cut in _standing_out(rises):
        x = float(out[cut])
        upper, lower = px_of(plane, camera, np.array([(x, heights_mm[0]), (x, heights_mm[1])]))
        found = _fitted(gray, camera, plane, (upper, lower) if rightward else (lower, upper), axis=0, reach_px=4.0)
        if found is not None:
            return found
    return None


def _rises(
    gray: np.ndarray, camera: Camera, plane: RulePlane, along: np.ndarray, across: np.ndarray, *, along_first: bool
) -> np.ndarray:
    """How much the light changes from cut to cut (len(across),), where alike along most of the line; else 0."""
    first, second = np.meshgrid(along, across)
    points = np.stack([first, second] if along_first else [second, first], axis=2)
    places = px_of(plane, camera, points.reshape(-1, 2)).reshape(points.shape)
    inside = ((places > 3.0) & (places < np.array([gray.shape[1], gray.shape[0]]) - 4.0)).all(axis=2)
    light = cv2.GaussianBlur(sample_bilinear(gray, places), (0, 0), sigmaX=0.01, sigmaY=0.8)
    change = np.gradient(light, axis=0)
    middle = np.median(change, axis=1)
    alike = (change * np.sign(middle)[:, None] > 0).mean(axis=1)
    return np.asarray(np.where((alike > 0.8) & (inside.mean(axis=1) > 0.7), np.abs(middle), 0.0))


def _standing_out(rises: np.ndarray) -> np.ndarray:
    """Cuts at which the change peaks and stands out, the nearest first."""
    peak = (rises >= np.roll(rises, 1)) & (rises >= np.roll(rises, -1)) & (rises > 0.3)
    peak[[0, -1]] = False
    return np.flatnonzero(peak & (rises >= STANDS_OUT * rises.max()))


def _fitted(
    gray: np.ndarray,
    camera: Camera,
    plane: RulePlane,
    ends: tuple[np.ndarray, np.ndarray],
    *,
    axis: int,
    reach_px: float,
) -> Edge | None:
    try:
        side = fit_side(gray, *ends, reach_px=reach_px, keep=(0.04, 0.96), undistort=camera.undistort, shadows=False)
    except Refused:
        return None
    on_rule = plane.on_rule(camera.undistort(side.places_px))
    skew = np.polyfit(on_rule[:, 1 - axis], on_rule[:, axis], 1)[0]
    if side.kept < LEAST_KEPT * side.of or side.rms_px > MOST_RMS_PX or abs(skew) > MOST_SKEW:
        return None
    return Edge(float(np.median(on_rule[:, axis])), side, float(skew))
