"""How good a calibration is: figures that tell, and a plain verdict.

The residual of the fit is not among the figures that decide: a set of few, square-on or central views has the smallest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np

from fitcheck.calibration.adjust import Adjustment, View, adjust
from fitcheck.calibration.frame import difference_px, spread_px
from fitcheck.calibration.solve import Solution, rms
from fitcheck.calibration.verdict import reasons_against, warnings_about
from fitcheck.ground.refusal import Reason

#: The frame is covered where each cell of this grid has a corner in it.
CELLS = (6, 4)
WORKING_MM = 500.0
#: Half the views calibrate by themselves from here on.
FEWEST_FOR_HALVES = 10


@dataclass(frozen=True, eq=False)
class Quality:
    """The figures of a calibration, and ``verdict``: "good", "usable" or "refuse".

    ``held_out_px`` is the root mean square distance of corners in views the fit did not see; ``fit_px`` the same in
    those it saw. ``covered`` (rows, columns) counts corners in each cell of the frame. ``tilts_deg`` (V,) is how far
    each board leans off square. ``halves_mm`` is how far apart two calibrations, each from half the views, put things
    at 500 mm: mean and worst over the frame, None where the views are too few. ``finders_px`` is the same in pixels for
    two corner finders. ``spread_px`` (mean, worst) is the standard deviation, over the frame, of the stated covariance.
    """

    verdict: str
    views: int
    held_out_px: float
    fit_px: float
    model: str
    tried_px: dict[str, float]
    covered: np.ndarray
    tilts_deg: np.ndarray
    halves_mm: tuple[float, float] | None
    finders_px: tuple[float, float]
    spread_px: tuple[float, float]
    board: dict[str, float]
    reasons: tuple[Reason, ...]
    warnings: tuple[Reason, ...]

    @property
    def covered_share(self) -> float:
        """Share of the frame's cells in which a corner was seen."""
        return float(np.mean(self.covered > 0))

    def as_json(self) -> dict[str, Any]:
        """The figures as the camera file keeps them."""
        return {
            "verdict": self.verdict,
            "views": self.views,
            "held_out_px": round(self.held_out_px, 4),
            "fit_px": round(self.fit_px, 4),
            "model": self.model,
            "held_out_px_of": {name: round(value, 4) for name, value in self.tried_px.items()},
            "covered_share": round(self.covered_share, 3),
            "covered": self.covered.tolist(),
            "tilts_deg": [round(float(tilt), 1) for tilt in self.tilts_deg],
            "halves_mm_at_500": None if self.halves_mm is None else [round(value, 4) for value in self.halves_mm],
            "finders_px": [round(value, 4) for value in self.finders_px],
            "spread_px": [round(value, 4) for value in self.spread_px],
            "board": {name: round(value, 4) for name, value in self.board.items()},
            "warnings": [one.as_json() for one in self.warnings],
        }


def judge(solution: Solution, second: Sequence[View], size_px: tuple[int, int]) -> tuple[Quality, np.ndarray]:
    """The quality of a solution, and the covariance (9, 9) to state; ``second`` are its views by another finder.

    The covariance is the corners' noise, raised where held-out views fit worse than seen ones, plus the difference that
    the second finder makes, in full and in its own direction.
    """
    found = solution.adjustment
    fit_px = rms(np.concatenate(found.residuals_px))
    raised = max(1.0, solution.held_out_px / fit_px) ** 2
    other = _again(second, found, range(len(second)))
    step = other.lens - found.lens
    covariance = found.covariance * raised + np.outer(step, step)
    finders = difference_px(found.lens, other.lens, size_px)
    spread = spread_px(found.lens, covariance, size_px)
    quality = Quality(
        verdict="good",
        views=len(solution.views),
        held_out_px=solution.held_out_px,
        fit_px=fit_px,
        model=solution.model,
        tried_px=solution.tried,
        covered=coverage(solution.views, size_px),
        tilts_deg=tilts_deg(found.poses),
        halves_mm=_halves_mm(solution, size_px),
        finders_px=(float(finders.mean()), float(finders.max())),
        spread_px=(float(spread.mean()), float(spread.max())),
        board=_board_as_found(found),
        reasons=(),
        warnings=(),
    )
    reasons, warnings = reasons_against(quality), warnings_about(quality)
    verdict = "refuse" if reasons else "usable" if warnings else "good"
    return replace(quality, verdict=verdict, reasons=reasons, warnings=warnings), covariance


def coverage(views: Sequence[View], size_px: tuple[int, int]) -> np.ndarray:
    """Corners seen in each cell of the frame, (4, 6): rows down, columns across."""
    counts = np.zeros(CELLS[::-1], int)
    for view in views:
        cells = (view.points_px[view.used] / size_px * CELLS).astype(int)
        cells = np.clip(cells, 0, np.array(CELLS) - 1)
        np.add.at(counts, (cells[:, 1], cells[:, 0]), 1)
    return counts


def tilts_deg(poses: np.ndarray) -> np.ndarray:
    """How far off square each board (V,) leans, from poses (V, 6)."""
    faces = [abs(cv2.Rodrigues(pose[:3])[0][2, 2]) for pose in poses]
    return np.degrees(np.arccos(np.clip(faces, 0.0, 1.0)))


def _again(views: Sequence[View], found: Adjustment, places: Sequence[int]) -> Adjustment:
    start = replace(found, poses=found.poses[list(places)])
    part = [views[at] for at in places]
    return adjust(part, start, with_k3=found.with_k3, release_shape=found.shape_released)


def _halves_mm(solution: Solution, size_px: tuple[int, int]) -> tuple[float, float] | None:
    count = len(solution.views)
    if count < FEWEST_FOR_HALVES:
        return None
    one, other = (_again(solution.views, solution.adjustment, range(first, count, 2)) for first in (0, 1))
    apart_mm = difference_px(one.lens, other.lens, size_px) / float(np.mean(one.lens[:2])) * WORKING_MM
    return float(apart_mm.mean()), float(apart_mm.max())


def _board_as_found(found: Adjustment) -> dict[str, float]:
    """How the print differs from what was told: unequal pitches in percent, its bow in mm; empty where held flat."""
    if not found.shape_released:
        return {}
    flat, bent = found.nominal_mm, found.board_mm
    aside = np.column_stack([flat[:, :2], np.ones(len(flat))])
    linear = np.linalg.lstsq(aside, bent[:, :2], rcond=None)[0]
    plane = aside @ np.linalg.lstsq(aside, bent[:, 2], rcond=None)[0]
    return {
        "across_longer_percent": 100.0 * float(linear[0, 0] / linear[1, 1] - 1.0),
        "out_of_flat_mm": float(np.ptp(bent[:, 2] - plane)),
    }
