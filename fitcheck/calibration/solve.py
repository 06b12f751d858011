"""Choose how much to ask of the photographs: the lens model and the board's shape, by views held out of the fit.

The residual of a fit only ever falls as terms are added; the residual of views that the fit did not see does not. Each
view is held out in turn with its fold, its pose alone is solved again, and what is left is the figure that chooses and
that is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.calibration.adjust import Adjustment, View, adjust, first_solution, pose_of
from fitcheck.calibration.target import Board
from fitcheck.ground.refusal import Refused

FOLDS = 5
#: A richer model must lower the held-out figure by this share: less is chance.
K3_GAIN, SHAPE_GAIN = 0.02, 0.10
#: A view this many times worse than the middle one, and this bad, does not show the same board through the same lens.
ODD_TIMES, ODD_PX = 4.0, 0.7


@dataclass(frozen=True, eq=False)
class Solution:
    """The chosen adjustment; ``held_out_px`` its figure and ``tried`` that of every model tried.

    Figures are root mean squares of a corner's distance, in pixels. ``odd`` are the places of views that do not agree
    with the rest and were left out; ``views`` are those used.
    """

    adjustment: Adjustment
    views: tuple[View, ...]
    held_out_px: float
    tried: dict[str, float]
    odd: tuple[int, ...] = ()

    @property
    def model(self) -> str:
        """The chosen model in a few letters."""
        return model_name(self.adjustment.with_k3, self.adjustment.shape_released)


def model_name(with_k3: bool, release_shape: bool) -> str:
    """A model in a few letters, as the camera file names it.

    >>> model_name(True, False)
    'k1 k2 p1 p2 k3, flat board'
    """
    return f"k1 k2 p1 p2{' k3' if with_k3 else ''}, {'board as found' if release_shape else 'flat board'}"


def solve(views: Sequence[View], board: Board, size_px: tuple[int, int]) -> Solution:
    """The best model for the views, odd views left out.

    Raises :class:`Refused` ``calibration-failed`` where no lens explains the corners.
    """
    try:
        solution = _choose(tuple(views), board, size_px)
        odd = odd_views(solution.adjustment)
        if odd:
            kept = tuple(view for at, view in enumerate(views) if at not in odd)
            solution = replace(_choose(kept, board, size_px), odd=odd)
    except (cv2.error, np.linalg.LinAlgError) as error:
        text = "No lens explains these corners. Check --corners, and that the board was flat and still."
        raise Refused("calibration-failed", text) from error
    return solution


def odd_views(adjustment: Adjustment) -> tuple[int, ...]:
    """Places of the views whose residuals are far above the others'."""
    sizes = np.array([rms(one) for one in adjustment.residuals_px])
    limit = max(ODD_TIMES * float(np.median(sizes)), ODD_PX)
    return tuple(int(at) for at in np.flatnonzero(sizes > limit))


def rms(residuals_px: np.ndarray) -> float:
    """Root mean square distance of residuals (N, 2), those that are nan passed over."""
    return float(np.sqrt(np.nanmean(np.sum(residuals_px**2, axis=1))))


def _choose(views: tuple[View, ...], board: Board, size_px: tuple[int, int]) -> Solution:
    start = first_solution(views, board.points_mm(), size_px)
    tried: dict[str, float] = {}

    def best_lens(release_shape: bool) -> tuple[float, Adjustment]:
        figures = []
        for with_k3 in (False, True):
            whole = adjust(views, start, with_k3=with_k3, release_shape=release_shape)
            figures.append((held_out_px(views, whole), whole))
            tried[model_name(with_k3, release_shape)] = figures[-1][0]
        plain, richer = figures
        return richer if richer[0] < (1.0 - K3_GAIN) * plain[0] else plain

    figure, best = best_lens(release_shape=False)
    if board.told_apart:
        richer_figure, richer = best_lens(release_shape=True)
        if richer_figure < (1.0 - SHAPE_GAIN) * figure:
            figure, best = richer_figure, richer
    return Solution(best, views, figure, tried)


def held_out_px(views: Sequence[View], whole: Adjustment) -> float:
    """The figure of one model: each fold's views against a fit of the others, begun from ``whole``."""
    left: list[np.ndarray] = []
    folds = min(FOLDS, len(views))
    for fold in range(folds):
        kept = [at for at in range(len(views)) if at % folds != fold]
        part = adjust(
            [views[at] for at in kept],
            replace(whole, poses=whole.poses[kept]),
            with_k3=whole.with_k3,
            release_shape=whole.shape_released,
        )
        for at in range(fold, len(views), folds):
            left.append(pose_of(views[at], part.board_mm, part.lens, whole.scale_px)[1])
    return rms(np.concatenate(left))
