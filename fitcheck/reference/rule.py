"""Steel rules: found by their graduations anywhere in the photograph, either way up, whole or in part."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.reference.rule_find import graduated_lines
from fitcheck.reference.rule_pattern import LEAST_LEAD
from fitcheck.reference.rule_read import Rule, read_rule
from fitcheck.reference.rule_scale import most_error_mm, scale_middle
from fitcheck.reference.rule_ticks import px_of
from fitcheck.reference.rule_trace import trace_marks
from fitcheck.reference.sighting import Sighting
from fitcheck.refusal import Refused, WrongCall

UNITS = {"rule-mm": "mm", "rule-in": "in"}
THICKNESS_MM, U_THICKNESS_MM = 1.0, 0.3
USUAL_WIDTH_MM = 25.0
MOST_TRIES = 8
UNIT_WORDS = {"mm": "millimetres", "in": "inches"}


def find_rule(pixels_bgr: np.ndarray, camera: Camera, kind: str) -> Sighting:
    """The rule in a photograph, its marks as points: both ends of each.

    ``pixels_bgr`` (H, W, 3) 8-bit, as a person sees it; ``camera`` the one it was taken with, turned alike; ``kind``
    ``rule-mm`` or ``rule-in``. The frame's origin is the middle of the scale and of the rule's width, x along it to the
    right in the picture, z its thickness of 1 mm. Flags: ``origin-from-what-is-seen`` where the middle of the scale
    cannot be told, ``width-not-seen`` where the far edge does not show.

    Raises :class:`WrongCall` for another kind; :class:`Refused` ``no-reference`` where nothing is graduated,
    ``reference-unclear`` where marks do not tell what they divide, ``reference-unit`` where they divide the other unit.
    """
    if kind not in UNITS:
        raise WrongCall(f"--reference {kind!r} is not a rule: give one of {', '.join(UNITS)}")
    rules = _rules(pixels_bgr, camera, UNITS[kind])
    if not rules:
        raise Refused(
            "no-reference",
            "No rule is in sight: nothing with even graduations was found. Lay a rule flat on the strake below the "
            "lap, its marks sharp and out of glare, five centimetres or two inches of them or more in the picture.",
        )
    rule = next((rule for rule in rules if rule.division.unit == UNITS[kind]), rules[0])
    _check_sharp(rule)
    _check_unit(rule, UNITS[kind])
    return _sighting(rule, camera, kind)


def unit_of(pixels_bgr: np.ndarray, camera: Camera) -> str | None:
    """The kind, ``rule-mm`` or ``rule-in``, of the rule that shows best; None where no rule does."""
    rules = _rules(pixels_bgr, camera, None)
    return next((kind for kind, unit in UNITS.items() if rules and rules[0].division.unit == unit), None)


def _rules(pixels_bgr: np.ndarray, camera: Camera, unit: str | None) -> list[Rule]:
    """Rules read in the photograph, up to the first that divides ``unit``."""
    gray = cv2.cvtColor(pixels_bgr, cv2.COLOR_BGR2GRAY)
    rules: list[Rule] = []
    tried = 0
    for seed in graduated_lines(pixels_bgr):
        if any(rule.sharp and _on(rule, camera, (seed.a_px + seed.b_px) / 2.0) for rule in rules):
            continue
        tried += 1
        if tried > MOST_TRIES:
            break
        trace = trace_marks(gray, camera, seed)
        rule = read_rule(gray, camera, trace) if trace else None
        if rule is None:
            continue
        rules.append(rule)
        if rule.sharp and unit in (None, rule.division.unit):
            break
    return sorted(rules, key=lambda rule: not rule.sharp)


def _on(rule: Rule, camera: Camera, place_px: np.ndarray) -> bool:
    """Whether a place lies on this rule's row of marks already read."""
    x, y = rule.plane.on_rule(camera.undistort(place_px[None]))[0]
    depth = (rule.edge_y - y) if rule.below else (y - rule.edge_y)
    return bool(rule.x.min() < x < rule.x.max() and -3.0 < depth < 8.0)


def _check_sharp(rule: Rule) -> None:
    if not rule.sharp:
        raise Refused(
            "reference-unclear",
            "A rule is in sight, but its marks are too fine or too blurred here to measure by. Photograph it from "
            "nearer and in focus, or lay a rule with coarser marks.",
        )


def _check_unit(rule: Rule, unit: str) -> None:
    best = rule.readings[0]
    others = [reading for reading in rule.readings if reading.division != best.division]
    rivals = [other for other in others if other.division.pitch_mm != best.division.pitch_mm]
    if rivals and best.score - rivals[0].score < LEAST_LEAD:
        raise Refused(
            "reference-unclear",
            "The rule's marks show, but not which of them are longer, so what they divide cannot be told. "
            "Photograph it from nearer, or with more of it in the picture and out of glare.",
        )
    if best.division.unit != unit:
        seen, told = UNIT_WORDS[best.division.unit], UNIT_WORDS[unit]
        kind = next(kind for kind, of in UNITS.items() if of == best.division.unit)
        raise Refused(
            "reference-unit",
            f"The rule in sight is divided in {seen}, and {told} were told. Give --reference {kind}, or lay the rule "
            f"so that an edge divided in {told} shows.",
        )


def _sighting(rule: Rule, camera: Camera, kind: str) -> Sighting:
    marks = float(rule.x.min()), float(rule.x.max())
    left, right = rule.end_x
    middle, sure = scale_middle(rule.division, marks, (left, right) if left is not None and right is not None else None)
    way = -1.0 if rule.below else 1.0
    far_y = rule.far_y if rule.far_y is not None else rule.edge_y + way * USUAL_WIDTH_MM
    centre = np.array([middle, (rule.edge_y + far_y) / 2.0])
    plane = rule.plane.moved(centre[0], centre[1], 1.0)
    x = rule.x - middle
    heights = rule.ends[..., 1] - centre[1]
    outline_x = (left if left is not None else marks[0]) - middle, (right if right is not None else marks[1]) - middle
    outline_y = sorted((rule.edge_y - centre[1], far_y - centre[1]), reverse=True)
    corners = [(outline_x[i], outline_y[j]) for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))]
    flags = ["origin-from-what-is-seen"] * (not sure) + ["width-not-seen"] * (rule.far_y is None)
    points = np.column_stack([np.repeat(x, 2), heights.ravel()])
    pixels = px_of(rule.plane, camera, rule.ends.reshape(-1, 2))
    seen_mm = marks[1] - marks[0]
    return Sighting(
        kind=kind,
        points_mm=np.column_stack([points, np.full(len(points), THICKNESS_MM)]),
        points_px=pixels,
        u_px=rule.u_px.ravel()
        * _widening(plane.covariance, plane.rotation, plane.translation, points, rule.u_px, camera),
        # The class of the rule, taken as rectangular, and the doubt of its thickness at this distance.
        u_scale=float(np.hypot(most_error_mm(seen_mm) / np.sqrt(3.0) / seen_mm, U_THICKNESS_MM / plane.translation[2])),
        outline_px=px_of(plane, camera, np.array(corners)),
        flags=tuple(flags),
    )


def _widening(
    covariance: np.ndarray,
    rotation: np.ndarray,
    translation: np.ndarray,
    points: np.ndarray,
    u_px: np.ndarray,
    camera: Camera,
) -> float:
    """By how much to widen the points' uncertainty so that a pose from them is no surer of the tilt than the plane is.

    The points' heights across the rule come from the plane, yet a pose takes them as known; unwidened, it would
    believe a tilt that the heights alone seem to tell.
    """
    at = np.column_stack([points, np.zeros(len(points))]) @ rotation.T + translation
    tangents = [np.cross(axis, np.column_stack([points, np.zeros(len(points))])) @ rotation.T for axis in np.eye(3)]
    moves = np.stack([*tangents, *(np.broadcast_to(axis, at.shape) for axis in np.eye(3))], axis=2)
    depth = at[:, 2, None]
    steps = np.stack([moves[:, i] / depth - at[:, i, None] * moves[:, 2] / depth**2 for i in (0, 1)], axis=1) * float(
        camera.matrix[0, 0]
    )
    weighted = (steps / u_px.reshape(-1, 1, 1)).reshape(-1, 6)
    believed = np.linalg.inv(weighted.T @ weighted)
    return float(np.sqrt(max(1.0, covariance[0, 0] / believed[0, 0])))
