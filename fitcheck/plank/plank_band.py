"""The lap strip of one photograph, straightened along the plank, for the picture of the whole plank."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.lap.square_on.square_look import Look
from fitcheck.plank.joint.curved_pose import CurvedPose
from fitcheck.plank.joint.lap_curve import LapCurve
from fitcheck.plank.photo_values import PlaceOf, line_on_plank

PIXEL_MM = 0.25
ABOVE_MM, BELOW_MM = 13.0, 10.0


@dataclass(frozen=True, eq=False)
class Band:
    """A strip of one photograph with the lap line straight and the places rising to the right, never mirrored.

    ``values`` (R, C, 3) uint8 BGR, columns each :data:`PIXEL_MM` of plank from ``from_mm``, rows from :data:`ABOVE_MM`
    on the sheer side of the lap line to :data:`BELOW_MM` beyond the line that was seen, ``drop_mm`` below the lap line.
    Where the numbers rise to the left on a hull lying keel down, the sheer side is at the bottom (``toward_keel`` -1,
    else +1: the sense of the rows). ``seen`` (C,) tells which columns lie in the picture.
    """

    name: str
    values: np.ndarray
    seen: np.ndarray
    from_mm: float
    drop_mm: float
    toward_keel: int = 1

    @property
    def line_row(self) -> float:
        """The row of the lap line."""
        rows = ABOVE_MM / PIXEL_MM
        return rows if self.toward_keel > 0 else len(self.values) - 1 - rows

    @property
    def to_mm(self) -> float:
        """The place of the last column."""
        return self.from_mm + (self.values.shape[1] - 1) * PIXEL_MM


def band_of(name: str, look: Look, place_of: PlaceOf, curve: LapCurve) -> Band:
    """The band of one look."""
    assert isinstance(look.pose, CurvedPose)
    along = look.aligned.along_mm
    place = place_of(look, along)
    order = np.argsort(place)
    columns = np.arange(np.ceil(place.min()), np.floor(place.max()), PIXEL_MM)
    at = np.interp(columns, place[order], along[order])
    # The line as this photograph found it, made fair: it bridges clamps here, for looking at only.
    line = look.pose.face_from_plank(_on_curve(look, at, curve, place_of.drop_mm))[:, 1]
    down = np.arange(-ABOVE_MM, BELOW_MM + place_of.drop_mm, PIXEL_MM)
    u = np.broadcast_to((at - look.strip.along_mm[0]) / look.strip.column_mm, (len(down), len(at)))
    v = look.strip.rows(np.interp(at, look.strip.along_mm, look.strip.base_y_mm) - line + down[:, None])
    values = cv2.remap(look.strip.values, u.astype(np.float32), v.astype(np.float32), cv2.INTER_LINEAR)
    near = np.clip(np.round(u[0]).astype(int), 0, look.strip.seen.shape[1] - 1)
    middle = np.clip(np.round(v[len(down) // 3]).astype(int), 0, look.strip.seen.shape[0] - 1)
    toward_keel = 1 if place[-1] > place[0] else -1
    shown = np.clip(values, 0, 255).astype(np.uint8)[::toward_keel]
    seen = look.strip.seen[middle, near]
    return Band(name, shown, seen, float(columns[0]), place_of.drop_mm, toward_keel)


def _on_curve(look: Look, along: np.ndarray, curve: LapCurve, drop_mm: float) -> np.ndarray:
    s = line_on_plank(look, along, drop_mm)[:, 0]
    return np.column_stack([s, curve.w(s)])
