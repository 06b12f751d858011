"""One rule read whole: its marks, what they divide, its plane in mm, its edges and ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.reference.rule.rule_edges import Edge, find_edge, find_end, find_far_edge
from fitcheck.reference.rule.rule_pattern import LEAST_LEAD, Division, Reading, read_division
from fitcheck.reference.rule.rule_pose import OnLine, RulePlane, solve_plane
from fitcheck.reference.rule.rule_ticks import Marks, cut_strip, px_of, read_marks
from fitcheck.reference.rule.rule_trace import Trace

#: How far beyond the counted marks and how far across the rule to look, in divisions.
BEYOND, ACROSS = 24, 26.0
MOST_ACROSS_PX = 140.0
LEAST_MARKS = 15
LEAST_SCORE = 8.0
LINE_ROUNDS = 8
LEAST_MARK_U_PX = 0.03
#: A reading explains the lengths of its marks: by this much a mark (natural log of their scatter before and after) it
#: may be believed, by that much there is none better. Over made photographs true readings gave 0.1 to 1.4, false 0.08.
CLEAR, SURE = 0.2, 0.6
#: Marks finer than the picture can show leave few that can be fitted, or fit badly; such a plane is not to be believed.
LEAST_KEPT, MOST_LEFT_PX, MOST_LEAN = 0.7, 0.4, 0.01


@dataclass(frozen=True)
class Rule:
    """A rule in the photograph, all lengths in mm on its plane, x counted from one of its whole centimetres or inches.

    ``readings`` are the ways of dividing it that its marks allow, likeliest first. ``x`` (K,), ``ends`` (K, 2, 2) the
    marks' true places and their two ends as seen, ``u_px`` (K, 2) the latter's uncertainty. ``below`` tells whether
    the marks hang down from the graduated edge at ``edge_y``; ``far_y`` is the other edge, ``end_x`` the two ends,
    where seen. ``sharp`` tells whether the marks stand out well enough to measure by.
    """

    plane: RulePlane
    readings: list[Reading]
    x: np.ndarray
    ends: np.ndarray
    u_px: np.ndarray
    below: bool
    edge_y: float
    far_y: float | None
    end_x: tuple[float | None, float | None]
    sharp: bool

    @property
    def division(self) -> Division:
        """The likeliest way of dividing."""
        return self.readings[0].division

    @property
    def explained(self) -> float:
        """By how much a mark the likeliest division explains the marks' lengths."""
        return self.readings[0].score / len(self.x)

    @property
    def lead(self) -> float:
        """How much likelier it is than the likeliest division of another pitch."""
        best = self.readings[0]
        rivals = [other.score for other in self.readings if other.division.pitch_mm != best.division.pitch_mm]
        return best.score - max(rivals, default=-np.inf)

    @property
    def clear(self) -> bool:
        """Whether what the marks divide may be believed."""
        return self.explained >= CLEAR and self.lead >= LEAST_LEAD

    @property
    def sure(self) -> bool:
        """Whether no other reading of these marks would say more."""
        return self.explained >= SURE and self.lead >= LEAST_LEAD


def read_rule(gray: np.ndarray, camera: Camera, trace: Trace) -> Rule | None:
    """The rule along a trace; None where its marks show no pattern of lengths."""
    marks = _marks(gray, camera, trace)
    if marks is None:
        return None
    # Traced in a few rows, the marks' direction is good to half a degree: their tips drift off over the rule's length.
    plane, marks = trace.plane, _marks(gray, camera, trace, marks.slant())
    if marks is None or marks.shown.sum() < LEAST_MARKS:
        return None
    up, down = marks.lengths(upward=True), marks.lengths(upward=False)
    # The row they are measured from may cross the marks aslant; the other ends, on the rule's straight edge, tell how.
    read_up = read_division(marks.number, up + _straight(marks.number, down))
    read_down = read_division(marks.number, down + _straight(marks.number, up))
    best_up, best_down = (readings[0].score if readings else 0.0 for readings in (read_up, read_down))
    if max(best_up, best_down) < LEAST_SCORE:
        return None
    below, readings = (best_down > best_up), (read_down if best_down > best_up else read_up)
    kept, ends, spread = marks.segments(up, down)
    if len(kept) < LEAST_MARKS:
        return None
    pitch, origin = readings[0].division.pitch_mm, readings[0].longest
    x = (marks.number[kept] - origin) * pitch
    ends = (ends - (origin, 0.0)) * pitch
    plane = plane.moved(float(origin), 0.0, pitch)
    root = float(np.nanmedian(up if below else -down)) + float(np.median(marks.middles()[kept]))
    shown = int(marks.shown.sum())
    return _sharpened(gray, camera, plane, readings, x, ends, spread, below, root * pitch, shown)


def _straight(number: np.ndarray, lengths: np.ndarray) -> np.ndarray:
    """The straight line (T,) through most of the lengths (T,) over the marks' numbers; NaN is unseen."""
    seen = np.isfinite(lengths)
    if seen.sum() < LEAST_MARKS:
        return np.zeros(len(lengths))
    basis = np.column_stack([np.ones(len(number)), (number - number[seen].mean()) / max(1.0, np.ptp(number[seen]))])
    weight = np.ones(int(seen.sum()))
    for _ in range(LINE_ROUNDS):
        line = np.linalg.lstsq(basis[seen] * weight[:, None], lengths[seen] * weight, rcond=None)[0]
        left = np.abs(lengths[seen] - basis[seen] @ line)
        # Least absolute distances: a mark misread does not turn the line.
        weight = 1.0 / np.sqrt(left + 0.1 * float(np.median(left)) + 1e-6)
    return np.asarray(basis @ line)


def _marks(gray: np.ndarray, camera: Camera, trace: Trace, middle: tuple[float, float] | None = None) -> Marks | None:
    """The marks in a strip wide enough for the longest of them and a little longer than their run.

    ``middle`` is the line along their middle, height at 0 and slope, where known better than from the trace.
    """
    high, low = trace.rows
    if middle is not None:
        high, low = (high - low) / 2.0, (low - high) / 2.0
    plane = trace.plane
    px_per_division = _px_of_unit(plane, camera, np.array([(trace.first + trace.last) / 2.0, 0.0]))
    across = min(ACROSS, MOST_ACROSS_PX / px_per_division)
    heights = high + across, low - across
    span = int(np.ceil(trace.first)) - BEYOND, int(np.floor(trace.last)) + BEYOND
    strip = cut_strip(gray, camera, plane, span, heights, 1.0 / px_per_division, middle or (0.0, 0.0))
    rows = tuple(int(np.searchsorted(-strip.heights, -height)) for height in (high, low))
    number = strip.first + np.arange(strip.windows().shape[1])
    inner = 0.25 * (trace.last - trace.first)
    sure = (number > trace.first + inner) & (number < trace.last - inner)
    return read_marks(strip, (rows[0], rows[1] + 1), sure)


def _px_of_unit(plane: RulePlane, camera: Camera, at: np.ndarray) -> float:
    ends = px_of(plane, camera, at + np.array([(-0.5, 0.0), (0.5, 0.0)]))
    return float(np.linalg.norm(ends[1] - ends[0]))


def _sharpened(
    gray: np.ndarray,
    camera: Camera,
    plane: RulePlane,
    readings: list[Reading],
    x: np.ndarray,
    ends: np.ndarray,
    spread: np.ndarray,
    below: bool,
    root_mm: float,
    shown: int,
) -> Rule:
    """The plane solved again from every mark's two ends and the edges that show."""
    per_mm = _px_of_unit(plane, camera, np.array([float(np.median(x)), root_mm]))
    seen = plane.seen(ends.reshape(-1, 2))
    u_px = np.maximum(spread * readings[0].division.pitch_mm * per_mm, LEAST_MARK_U_PX)
    unit_px = float(camera.matrix[0, 0])
    samples = [OnLine(seen, 0, np.repeat(x, 2), u_px.ravel() / unit_px)]
    plane = solve_plane([plane], samples)
    span = float(x.min()), float(x.max())
    tips = float(ends[..., 1].min() if below else ends[..., 1].max())
    edge = find_edge(gray, camera, plane, span, root_mm, below)
    far = find_far_edge(gray, camera, plane, span, tips + (-1.5 if below else 1.5), below, edge)
    # The ends are seldom cut as square as the edges are parallel, so they place the scale but do not turn the plane.
    samples += [found.samples(camera, 1, line) for line, found in enumerate((edge, far)) if found]
    plane = solve_plane([plane], samples)
    edge_y, far_y = _place(plane, camera, edge, 1), _place(plane, camera, far, 1)
    edge_y = root_mm if edge_y is None else edge_y
    heights = (edge_y, tips if far_y is None else far_y)
    stops = [
        find_end(gray, camera, plane, heights if below else heights[::-1], span[side], bool(side)) for side in (0, 1)
    ]
    end_x = _place(plane, camera, stops[0], 0), _place(plane, camera, stops[1], 0)
    again = plane.on_rule(seen).reshape(-1, 2, 2)
    kept = _trusted(x, again, end_x, readings[0].division.pitch_mm)
    sharp = kept.sum() > max(LEAST_MARKS - 1, LEAST_KEPT * shown) and _stand_true(x[kept], again[kept], per_mm)
    return Rule(
        plane=plane,
        readings=readings,
        x=x[kept],
        ends=again[kept],
        u_px=u_px[kept],
        below=below,
        edge_y=edge_y,
        far_y=far_y,
        end_x=end_x,
        sharp=bool(sharp),
    )


def _stand_true(x: np.ndarray, ends: np.ndarray, px_of_mm: float) -> bool:
    """Whether the marks stand where the plane has them, and square to the edges."""
    off = ends[..., 0] - x[:, None]
    lean = float(np.median(off[:, 0] - off[:, 1])) / float(np.median(ends[:, 0, 1] - ends[:, 1, 1]))
    return float(np.sqrt(np.mean(off**2))) * px_of_mm < MOST_LEFT_PX and abs(lean) < MOST_LEAN


def _trusted(x: np.ndarray, ends: np.ndarray, end_x: tuple[float | None, float | None], pitch_mm: float) -> np.ndarray:
    """Which marks (K,) to keep: not the rule's own end taken for a mark, nor any that dirt or a numeral has moved."""
    off = np.abs(ends[..., 0] - x[:, None]).max(axis=1)
    kept = off < max(6.0 * float(np.median(off)), 0.02 * pitch_mm)
    for end in end_x:
        if end is not None:
            kept &= np.abs(x - end) > 0.4 * pitch_mm
    return np.asarray(kept)


def _place(plane: RulePlane, camera: Camera, edge: Edge | None, axis: int) -> float | None:
    return None if edge is None else float(np.median(plane.on_rule(camera.undistort(edge.side.places_px))[:, axis]))
