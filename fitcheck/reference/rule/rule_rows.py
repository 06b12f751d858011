"""Every row of marks in a photograph, each as it was read best."""

from __future__ import annotations

import cv2
import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.reference.rule.rule_find import graduated_lines
from fitcheck.reference.rule.rule_read import Rule, read_rule
from fitcheck.reference.rule.rule_trace import trace_marks

#: Pieces of lines looked at, and rows of marks read in full.
MOST_TRIES, MOST_READ = 24, 10
#: Fewer marks than this in a row may be grain.
LEAST_SEEN = 25


def rows_of_marks(pixels_bgr: np.ndarray, camera: Camera, unit: str | None) -> tuple[list[Rule], bool]:
    """Rows of marks read in the photograph, the surest first, and whether anything graduated was in sight at all.

    ``pixels_bgr`` (H, W, 3) 8-bit; the search ends at the first row that surely divides ``unit``, ``mm`` or ``in``;
    None takes either. Glare, a clamp or grain under the first piece tried may spoil the reading; of several readings
    of one row the one that explains its lengths best stands.
    """
    gray = cv2.cvtColor(pixels_bgr, cv2.COLOR_BGR2GRAY)
    rules: list[Rule] = []
    read, graduated = 0, False
    for seed in graduated_lines(pixels_bgr)[:MOST_TRIES]:
        if read == MOST_READ:
            break
        if any(rule.sharp and rule.sure and _on(rule, camera, (seed.a_px + seed.b_px) / 2.0) for rule in rules):
            continue
        trace = trace_marks(gray, camera, seed)
        if trace is None:
            continue
        read, graduated = read + 1, graduated or trace.last - trace.first > LEAST_SEEN
        rule = read_rule(gray, camera, trace)
        if rule is None:
            continue
        rules = _better(rules, rule)
        if rule.sharp and rule.sure and unit in (None, rule.division.unit):
            break
    return sorted(rules, key=_worth, reverse=True), graduated


def _worth(rule: Rule) -> tuple[bool, float]:
    return rule.sharp, rule.readings[0].score


def _better(rules: list[Rule], new: Rule) -> list[Rule]:
    """The rules with ``new`` among them, each row of marks once, as it was read best."""
    same = [rule for rule in rules if _one_row(rule, new)]
    if any(_worth(rule) >= _worth(new) for rule in same):
        return rules
    return [rule for rule in rules if not any(rule is other for other in same)] + [new]


def _one_row(one: Rule, other: Rule) -> bool:
    """Whether two readings are of the same row of marks, whatever each takes a division for."""
    middles = other.plane.seen(other.ends.mean(axis=1))
    low, high = one.ends[..., 1].min(), one.ends[..., 1].max()
    y = float(np.median(one.plane.on_rule(middles)[:, 1]))
    return bool(low - (high - low) / 2.0 < y < high + (high - low) / 2.0)


def _on(rule: Rule, camera: Camera, place_px: np.ndarray) -> bool:
    """Whether a place lies on this rule's row of marks already read."""
    x, y = rule.plane.on_rule(camera.undistort(place_px[None]))[0]
    depth = (rule.edge_y - y) if rule.below else (y - rule.edge_y)
    return bool(rule.x.min() < x < rule.x.max() and -3.0 < depth < 8.0)
