"""Steel rules: found by their graduations anywhere in the photograph, either way up, whole or in part."""

from __future__ import annotations

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Reason, Refused, WrongCall
from fitcheck.reference.pose import solve_pose
from fitcheck.reference.rule.rule_read import Rule
from fitcheck.reference.rule.rule_rows import rows_of_marks
from fitcheck.reference.rule.rule_scale import most_error_mm, scale_middle
from fitcheck.reference.rule.rule_ticks import px_of
from fitcheck.reference.sighting import Found, Sighting

UNITS = {"rule-mm": "mm", "rule-in": "in"}
THICKNESS_MM, U_THICKNESS_MM = 1.0, 0.3
USUAL_WIDTH_MM = 25.0
#: Marks nearer together than this blur into one another in a usual picture.
PX_OF_MM = 3.5
UNIT_WORDS = {"mm": "millimetres", "in": "inches"}
#: What a flag of a rule means to the builder.
TOLD = {
    "origin-from-what-is-seen": "The middle of the rule's scale cannot be told; "
    "places count from the middle of what is seen of it.",
    "width-not-seen": "Only one long edge of the rule is in sight; its tilt is held by its marks alone.",
}


def rule_and_pose(pixels_bgr: np.ndarray, camera: Camera, kind: str) -> Found:
    """The rule in a photograph with the pose of the face under it; otherwise as :func:`find_rule`."""
    sighting = find_rule(pixels_bgr, camera, kind)
    warnings = tuple(Reason(flag, TOLD[flag]) for flag in sighting.flags if flag in TOLD)
    return Found(((sighting, solve_pose(sighting, camera)),), warnings)


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
    rules, graduated = rows_of_marks(pixels_bgr, camera, UNITS[kind])
    if not rules:
        raise _too_fine(camera) if graduated else Refused("no-reference", _nothing(camera))
    told = (rule for rule in rules if rule.division.unit == UNITS[kind] and rule.sharp and rule.clear)
    rule = next(told, rules[0])
    if not rule.sharp:
        raise _too_fine(camera)
    _check_unit(rule, UNITS[kind])
    return _sighting(rule, camera, kind)


def unit_of(pixels_bgr: np.ndarray, camera: Camera) -> str | None:
    """The kind, ``rule-mm`` or ``rule-in``, of the rule that shows best; None where no rule does."""
    rules, _ = rows_of_marks(pixels_bgr, camera, None)
    return next((kind for kind, unit in UNITS.items() if rules and rules[0].division.unit == unit), None)


def _near_mm(camera: Camera) -> float:
    """From how near a millimetre is as many pixels as its marks need, to 10 mm."""
    return float(np.floor(camera.matrix[0, 0] / PX_OF_MM / 10.0) * 10.0)


def _nothing(camera: Camera) -> str:
    return (
        "No rule is in sight: nothing with even graduations was found. Lay a rule flat on the strake below the lap, "
        "its marks sharp and out of glare, five centimetres or two inches of them or more in the picture. For a rule "
        f"in millimetres photograph from {_near_mm(camera):.0f} mm or nearer."
    )


def _too_fine(camera: Camera) -> Refused:
    return Refused(
        "reference-unclear",
        "A rule seems to be in sight, but its marks are too fine, too blurred or too pale here to measure by. "
        "Photograph it in focus, not burnt white by the light, and, for marks a millimetre apart, from "
        f"{_near_mm(camera):.0f} mm or nearer, or lay a rule with coarser marks.",
    )


def _check_unit(rule: Rule, unit: str) -> None:
    best = rule.readings[0]
    if not rule.clear:
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
