"""A photograph taken with the lap running up and down is shown turned, so that the lap lies level.

The numbers stay where they are: a measurement's pixels are those of the photograph as a person sees it, and only what
is drawn is turned, picture and marks together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

import cv2
import numpy as np

from fitcheck.contract.gap_measurement import GapMeasurement
from fitcheck.contract.measurement import Measurement
from fitcheck.ground.candidates import Candidate

Point = tuple[float, float]
Answer = TypeVar("Answer", Measurement, GapMeasurement)
#: Clockwise quarter turns and what does them to pixels.
_TURNS = {1: cv2.ROTATE_90_CLOCKWISE, 3: cv2.ROTATE_90_COUNTERCLOCKWISE}


def levelled(pixels: np.ndarray, measurement: Answer, photo_index: int = 0) -> tuple[np.ndarray, Answer]:
    """The photograph (H, W, 3) and its measurement for drawing, turned a quarter where the lap runs up and down.

    Turned so that left and right are as the measurement tells them: places rise to the right with the keel down, to
    the left with the keel up. Where only candidates were found, the card comes to lie below the edge.
    """
    quarters = _quarters(measurement, photo_index)
    if not quarters:
        return pixels, measurement
    high, wide = pixels.shape[:2]

    def at(point: Point) -> Point:
        u, v = point
        return (high - 1 - v, u) if quarters == 1 else (v, wide - 1 - u)

    return cv2.rotate(pixels, _TURNS[quarters]), _turned(measurement, at)


def _quarters(measurement: Measurement | GapMeasurement, photo_index: int) -> int:
    """Clockwise quarter turns that lay the lap level: 0, 1 or 3."""
    name = measurement.photos[photo_index].get("name") if photo_index < len(measurement.photos) else None
    single = len(measurement.photos) < 2
    samples: Any = measurement.samples
    ordered = sorted(samples, key=lambda sample: float(sample.place_mm()))
    path = [s.edge_px for s in ordered if s.edge_px and (single or s.photos[:1] == (name,))]
    if len(path) > 1:
        rise = np.subtract(path[-1], path[0])
        rightward = 1.0 if measurement.settings.get("keel") != "up" else -1.0
        # Turned clockwise, what runs up comes to run to the right.
        return 0 if abs(rise[0]) >= abs(rise[1]) else 1 if -rise[1] * rightward > 0 else 3
    shown = [one for one in measurement.candidates if single or one.photo in ("", name)]
    edge = next((np.array(one.points_px) for one in shown if one.kind == "edge"), None)
    if edge is None or np.ptp(edge[:, 0]) >= np.ptp(edge[:, 1]):
        return 0
    card = next((np.array(one.points_px) for one in shown if one.kind == "card"), edge)
    # Turned clockwise, what lies to the right comes to lie below.
    return 1 if card[:, 0].mean() >= edge[:, 0].mean() else 3


def _turned(measurement: Answer, at: Callable[[Point], Point]) -> Answer:
    def moved(point: Point | None) -> Point | None:
        return None if point is None else at(point)

    other = "line_px" if isinstance(measurement, Measurement) else "slit_px"
    samples: Any = tuple(
        replace(sample, **{name: moved(getattr(sample, name)) for name in ("edge_px", other)})  # type: ignore[arg-type]
        for sample in measurement.samples
    )
    reference = None if measurement.reference is None else _corners(measurement.reference, at)
    photos = tuple(_corners(photo, at) for photo in measurement.photos)
    candidates = tuple(_moved(measurement.candidates, at))
    return replace(measurement, samples=samples, reference=reference, photos=photos, candidates=candidates)


def _moved(candidates: Iterable[Candidate], at: Callable[[Point], Point]) -> Iterable[Candidate]:
    return (replace(one, points_px=tuple(at(point) for point in one.points_px)) for one in candidates)


def _corners(named: Mapping[str, Any], at: Callable[[Point], Point]) -> dict[str, Any]:
    """A photograph or a reference with the corners in it turned, at whatever depth they stand."""
    changed = dict(named)
    if named.get("corners_px"):
        points = np.array(named["corners_px"], float)
        turned = np.array([at((u, v)) for u, v in points.reshape(-1, 2)])
        changed["corners_px"] = turned.reshape(points.shape).tolist()
    if isinstance(named.get("reference"), Mapping):
        changed["reference"] = _corners(named["reference"], at)
    return changed
