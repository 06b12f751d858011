"""The plane of a rule from its marks: lines whose place along the scale is known, at heights across it that are not.

A mark says where x is; how far across the rule its ends lie no standard fixes. So every sample is a point that lies on
a line x = known, or on a straight edge y = unknown, or on an end x = unknown, and only its distance from that line
counts. With the camera known this gives the whole pose: the fan of the marks gives the tilt across the rule.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np


@dataclass(frozen=True)
class RulePlane:
    """camera_from_rule: ``rotation`` (3, 3), ``translation`` (3,) in mm once the division is known, else in divisions.

    The frame has x along the scale, y to its left seen from above, z toward the camera. ``covariance`` (6, 6) is that
    of a small turn about the rule's own axes and of the translation.
    """

    rotation: np.ndarray
    translation: np.ndarray
    covariance: np.ndarray
    spread: float = 0.0

    def seen(self, points: np.ndarray) -> np.ndarray:
        """Undistorted normalised points (N, 2) of points (N, 2) on the rule."""
        at = points @ self.rotation[:, :2].T + self.translation
        return np.asarray(at[:, :2] / at[:, 2:])

    def on_rule(self, seen: np.ndarray) -> np.ndarray:
        """Points (N, 2) on the rule of undistorted normalised points (N, 2)."""
        rule_from_seen = np.linalg.inv(np.column_stack([self.rotation[:, :2], self.translation]))
        at = np.column_stack([seen, np.ones(len(seen))]) @ rule_from_seen.T
        return np.asarray(at[:, :2] / at[:, 2:])

    def moved(self, x: float, y: float, unit: float) -> RulePlane:
        """The same plane with its origin moved to (x, y) and lengths then multiplied by ``unit``."""
        shift = self.translation + self.rotation[:, :2] @ np.array([x, y])
        grow = np.diag([1.0, 1.0, 1.0, unit, unit, unit])
        return replace(self, translation=shift * unit, covariance=grow @ self.covariance @ grow)


@dataclass(frozen=True)
class OnLine:
    """Samples that lie on lines across or along the rule.

    ``seen`` (N, 2) undistorted normalised points; ``axis`` 0 for lines of equal x, 1 for lines of equal y; ``value``
    (N,) that x or y where known, NaN where not: then all lie on one unknown line, number ``line``; ``u`` (N,) the
    standard uncertainty of the distance from the line, in normalised units.
    """

    seen: np.ndarray
    axis: int
    value: np.ndarray
    u: np.ndarray
    line: int = -1


def start_plane(seen: np.ndarray, x: np.ndarray) -> RulePlane:
    """A plane square before the camera on which points (N, 2) seen have about the places ``x`` (N,) along the scale."""
    centred = seen - seen.mean(axis=0)
    along = np.linalg.lstsq(np.column_stack([centred, np.ones(len(seen))]), x, rcond=None)[0][:2]
    away = float(np.linalg.norm(along))
    axis_x = np.append(along / away, 0.0)
    rotation = np.column_stack([axis_x, (axis_x[1], -axis_x[0], 0.0), (0.0, 0.0, -1.0)])
    middle = np.append(seen.mean(axis=0), 1.0) * away
    return RulePlane(rotation, middle - axis_x * float(np.mean(x)), np.eye(6))


def solve_plane(starts: list[RulePlane], samples: list[OnLine]) -> RulePlane:
    """The plane that all samples fit best, from the best of ``starts``; far-off samples count less (soft L1).

    Where no edge of known y is given, y keeps the middle of the first samples. ``spread`` is the root mean square of
    the distances in their own uncertainties; the covariance is enlarged by it where above one.
    """
    found = [_solve(start, samples) for start in starts]
    return min(found, key=lambda pair: pair[0])[1]


def tilted(plane: RulePlane, about_x_deg: float, about_y_deg: float) -> RulePlane:
    """``plane`` turned about the middle of what is seen, its own x and y axes: another start."""
    turn = _turn(np.radians([about_x_deg, about_y_deg, 0.0]))
    return replace(plane, rotation=plane.rotation @ turn)


def _solve(start: RulePlane, samples: list[OnLine]) -> tuple[float, RulePlane]:
    from scipy.optimize import least_squares

    lines = 1 + max(sample.line for sample in samples)
    away = float(start.translation[2])
    hold_y = all(sample.axis == 0 or sample.line >= 0 for sample in samples)

    def misfit(change: np.ndarray) -> np.ndarray:
        plane = _changed(start, change)
        parts = []
        for sample in samples:
            at = plane.on_rule(sample.seen)[:, sample.axis]
            value = change[6 + sample.line] if sample.line >= 0 else sample.value
            parts.append((at - value) / (sample.u * plane.translation[2]))
        if hold_y:
            parts.append(np.array([plane.on_rule(samples[0].seen)[:, 1].mean() / (1e-3 * away)]))
        return np.concatenate(parts)

    first = np.zeros(6 + lines)
    for sample in samples:
        if sample.line >= 0:
            first[6 + sample.line] = start.on_rule(sample.seen)[:, sample.axis].mean()
    scale = np.array([0.05, 0.05, 0.05, 0.05 * away, 0.05 * away, 0.05 * away] + [0.05 * away] * lines)
    fit = least_squares(misfit, first, x_scale=scale, loss="soft_l1", f_scale=2.0)
    spread = float(np.sqrt(np.mean(np.minimum(misfit(fit.x) ** 2, 25.0))))
    jacobian = np.asarray(fit.jac)
    covariance = np.linalg.pinv(jacobian.T @ jacobian)[:6, :6] * max(1.0, spread) ** 2
    return float(fit.cost), replace(_changed(start, fit.x), covariance=covariance, spread=spread)


def _changed(start: RulePlane, change: np.ndarray) -> RulePlane:
    return replace(start, rotation=start.rotation @ _turn(change[:3]), translation=start.translation + change[3:6])


def _turn(turn_rad: np.ndarray) -> np.ndarray:
    return np.asarray(cv2.Rodrigues(np.asarray(turn_rad, float).reshape(3, 1))[0])
