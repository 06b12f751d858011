"""Where edge and line truly run in a made photograph, in the frame of its strake's face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.reference.pose import FacePose, solve_pose
from fitcheck.reference.sighting import Sighting

#: A card's corners are found to about this; the poses of training are as wrong as those of use.
U_CORNER_PX, U_STATED_PX, U_SIZE = 0.1, 0.2, 0.001


@dataclass(frozen=True)
class TrueLap:
    """True marks on the face, each (N, 2) as (x, y) mm by rising x; where the line is seen (N,), clamps' x (M,).

    ``line`` is the witness line where one was struck.
    """

    outer: np.ndarray
    inner: np.ndarray
    line: np.ndarray
    line_seen: np.ndarray
    clamps_x: np.ndarray


def true_lap(truth: dict[str, Any], pose: FacePose) -> TrueLap:
    """The truth beside a photograph, seen from ``pose``."""
    samples = truth["samples"]
    line_key = "witness_px" if truth["witness_mm"] else "line_px"
    marks = {key: _on_face(pose, [one[key] for one in samples]) for key in ("outer_px", "edge_px", line_key)}
    x = marks["edge_px"][:, 0]
    order = np.argsort(x)
    seen = np.array([one["line_seen"] for one in samples])
    along = np.array([one["along_mm"] for one in samples])
    clamps = np.interp(truth["clamps_mm"], along, x)
    return TrueLap(
        *(_sorted(marks[key]) for key in ("outer_px", "edge_px", line_key)), seen[order], np.asarray(clamps, float)
    )


def known_pose(truth: dict[str, Any], camera: Camera, rng: np.random.Generator) -> FacePose:
    """The pose that the card's true corners give, found as well as corners are found."""
    wide, tall = (0.5 * size for size in truth["reference_size_mm"])
    points = np.array([[-wide, tall, 0.0], [wide, tall, 0.0], [wide, -tall, 0.0], [-wide, -tall, 0.0]])
    pixels = card_outline(truth) + rng.normal(0.0, U_CORNER_PX, (4, 2))
    return solve_pose(Sighting(truth["reference"], points, pixels, np.full(4, U_STATED_PX), U_SIZE, pixels), camera)


def card_outline(truth: dict[str, Any]) -> np.ndarray:
    """The card's true corners (4, 2) in pixels."""
    return np.array(truth["reference_px"], float)


def at(mark: np.ndarray, x: np.ndarray) -> np.ndarray:
    """The y of a mark (N, 2) at places x (C,); NaN beyond its ends."""
    return np.interp(x, mark[:, 0], mark[:, 1], left=np.nan, right=np.nan)


def _on_face(pose: FacePose, pixels: list[list[float]]) -> np.ndarray:
    return np.asarray(pose.face_from_px(np.array(pixels, float)))


def _sorted(mark: np.ndarray) -> np.ndarray:
    return np.asarray(mark[np.argsort(mark[:, 0]), :2])
