"""Made photographs with a rule in them, and the rule judged alone: its scale and pose against the truth.

What edge and line add is left out: known places on the strake by the lap are put into the picture by the true camera
and measured back by the pose found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.reference.find import find_references
from fitcheck.reference.pose import FacePose
from tests.scenes import draw_scene, render
from tests.scenes.cameras import DUNLIN
from tests.scenes.hull import Hull
from tests.scenes.prints import RULES_MM
from tests.scenes.scene import Scene
from tests.scenes.view import View, view_of

CASES = ("whole", "cut", "clamp", "glare", "unit")
#: Lengths judged: across the lap as far as a witness line is struck, along it as far as two stations lie apart.
ACROSS_MM, ALONG_MM = 20.0, 200.0
PLACES_MM = np.array([-120.0, -60.0, 0.0, 60.0, 120.0])
RIM_PX = 20.0
LOW = replace(DUNLIN, name="low", size_px=(1440, 760), centre_px=(716.3, 377.9))


@dataclass(frozen=True)
class Judged:
    """One photograph's rule: why it was refused, or errors and standard uncertainties (N,) of lengths, mm, and tilt.

    ``across`` and ``along`` are (N, 2), error and standard uncertainty; ``tilt_deg`` (2,) of the turn about the lap.
    """

    number: int
    case: str
    kind: str
    code: str = ""
    across: np.ndarray | None = None
    along: np.ndarray | None = None
    tilt_deg: np.ndarray | None = None
    flags: tuple[str, ...] = ()


def rule_scene(
    seed: int, number: int, *, case: str | None = None, flat: bool = True, near: bool = False
) -> tuple[Scene, str]:
    """A draw with a rule, either way up, of either unit, and what befalls it.

    ``near`` photographs with a long, low picture from where a millimetre is three pixels or more: soon made.
    """
    rng = np.random.default_rng([seed, number])
    case = case or CASES[number % len(CASES)]
    scene = draw_scene(rng, kind="rule")
    if flat:
        scene = replace(scene, radius_mm=float("inf"), twist_deg_per_m=0.0)
    over = 180.0 * float(rng.random() < 0.5)
    if near:
        scene = replace(scene, camera=LOW, distance_mm=float(rng.uniform(330.0, 430.0)))
    scene = replace(scene, clamps_mm=(), reference_turn_deg=scene.reference_turn_deg + over)
    side = float(rng.choice([-1.0, 1.0]))
    if case == "cut":
        scene = replace(scene, aim_mm=(side * float(rng.uniform(110.0, 220.0)), scene.aim_mm[1]))
    if case == "clamp":
        scene = replace(scene, clamps_mm=(side * float(rng.uniform(20.0, 140.0)),))
    return scene, case


def judge(seed: int, number: int, *, case: str | None = None, flat: bool = True, near: bool = False) -> Judged:
    """Draw, photograph, find the rule, and hold its pose against the truth."""
    scene, case = rule_scene(seed, number, case=case, flat=flat, near=near)
    return judged(number, scene, case, photographed(scene, case, number))


def photographed(scene: Scene, case: str, number: int) -> np.ndarray:
    """The picture (H, W, 3) of a draw."""
    pixels = render(scene).pixels
    return _with_glare(pixels, scene, number) if case == "glare" else pixels


def judged(number: int, scene: Scene, case: str, pixels: np.ndarray) -> Judged:
    """The rule found in a picture, held against the truth of its scene."""
    camera = Camera(np.array(scene.camera.matrix), np.array(scene.camera.distortion), scene.camera.size_px)
    other = {"rule-mm": "rule-in", "rule-in": "rule-mm"}
    told = other[scene.reference] if case == "unit" else scene.reference
    try:
        found = find_references(pixels, camera, told)
    except Refused as refused:
        return Judged(number, case, scene.reference, refused.reason.code)
    hull = Hull(scene.radius_mm, scene.twist_deg_per_m, scene.line_y_mm)
    across, along, tilt = _errors(found.pose, scene, hull, view_of(scene, hull))
    return Judged(number, case, scene.reference, "", across, along, tilt, found.sightings[0].flags)


def _with_glare(pixels: np.ndarray, scene: Scene, number: int) -> np.ndarray:
    """The picture with a bright patch of reflected window across a fifth to a third of the rule."""
    rng = np.random.default_rng([7, number])
    hull = Hull(scene.radius_mm, scene.twist_deg_per_m, scene.line_y_mm)
    view = view_of(scene, hull)
    length, width = RULES_MM[scene.reference]
    at, wide = rng.uniform(-0.35, 0.35) * length, rng.uniform(0.1, 0.17) * length
    turn = np.radians(scene.reference_turn_deg)
    height, across = pixels.shape[:2]
    # A reflection is bright on the rule alone: wood is dull.
    outline = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]) * (length, width)
    corners = outline @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    on_rule = np.zeros((height, across), np.uint8)
    cv2.fillPoly(on_rule, [np.round(view.project(np.column_stack([corners, np.ones(4)]))).astype(np.int32)], (1,))
    along = np.array([np.cos(turn), np.sin(turn), 0.0])
    ends = view.project(np.array([[0.0, 0.0, 1.0] + at * along, [0.0, 0.0, 1.0] + (at + wide) * along]))
    reach_px = float(np.linalg.norm(ends[1] - ends[0]))
    v, u = np.mgrid[:height, :across].astype(np.float32)
    near = np.hypot(u - ends[0, 0], v - ends[0, 1]) / reach_px
    light = 235.0 * np.exp(-((near / 0.8) ** 4)) * cv2.GaussianBlur(on_rule.astype(np.float32), (0, 0), 0.8)
    return np.clip(pixels + light[..., None], 0, 255).astype(np.uint8)


def _errors(pose: FacePose, scene: Scene, hull: Hull, view: View) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    low = np.full(len(PLACES_MM), scene.line_y_mm - ACROSS_MM)
    across = [_length(pose, hull, view, (x, y), (x, y + ACROSS_MM)) for x, y in zip(PLACES_MM, low, strict=True)]
    ends = [(x - ALONG_MM / 2.0, scene.line_y_mm) for x in (-30.0, 0.0, 30.0)]
    along = [_length(pose, hull, view, end, (end[0] + ALONG_MM, end[1])) for end in ends]
    seen = lambda rows: np.array([row for row in rows if row is not None]).reshape(-1, 2)  # noqa: E731
    return seen(across), seen(along), _tilt(pose, view)


def _length(
    pose: FacePose, hull: Hull, view: View, a_mm: tuple[float, float], b_mm: tuple[float, float]
) -> tuple[float, float] | None:
    """Error and standard uncertainty of a length on the strake; None where an end is not in the picture."""
    flat = np.array([a_mm, b_mm])
    px = view.project(hull.face(flat[:, 0], flat[:, 1], np.zeros(2)))
    if (px < RIM_PX).any() or (px > np.array(view.camera.size_px) - RIM_PX).any():
        return None
    seen = pose.seen(px)

    def measured(change: np.ndarray) -> float:
        camera, toward = pose.perturbed(change).sight(seen)
        on_face = camera[:2] - toward[:, :2] * (camera[2] / toward[:, 2:])
        return float(np.linalg.norm(on_face[1] - on_face[0]))

    steps = np.sqrt(np.diag(pose.covariance))
    changes = np.diag(steps)
    slopes = np.array([(measured(c) - measured(-c)) / (2.0 * s) for c, s in zip(changes, steps, strict=True)])
    true_mm = float(np.linalg.norm(flat[1] - flat[0]))
    sag, _ = pose.departs(flat[:, 0])
    bent = (sag.max() / pose.camera_face_mm[2] * true_mm) if np.isfinite(hull.radius_mm) else 0.0
    return measured(np.zeros(9)) - true_mm, float(np.sqrt(slopes @ pose.covariance @ slopes + bent**2))


def _tilt(pose: FacePose, view: View) -> np.ndarray:
    """Error and standard uncertainty, degrees, of the face's turn about the rule's length."""
    way = np.sign((view.turn @ [1.0, 0.0, 0.0]) @ pose.rotation[:, 0])
    turn = cv2.Rodrigues(pose.rotation.T @ view.turn @ np.diag([way, way, 1.0]))[0].ravel()
    return np.array([np.degrees(turn[0]), np.degrees(np.sqrt(pose.covariance[0, 0]))])
