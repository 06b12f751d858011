"""Edge-on looks at every photograph of a plank; those that lost the edge look again along the others' course."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import Candidate, candidate, carried
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.edge_on.edge_on_look import Look, look_edge_on
from fitcheck.lap.edge_on.find_edge import EdgeOn, edge_on_along, find_by_reference
from fitcheck.lap.edge_on.gap_values import GapValues, gap_values
from fitcheck.lap.section import Section
from fitcheck.one_photo.open_lap import never_ending, refuse_if_covered
from fitcheck.picture.focus import exposure_and_focus
from fitcheck.plank.joint.card_views import View, side_by_side
from fitcheck.plank.joint.curved_pose import CurvedPose
from fitcheck.plank.joint.joint_solution import Joint
from fitcheck.plank.joint.lap_curve import LapCurve, fit_curve

#: An edge further than this from where the other photographs have it is another thing.
MOST_OFF_MM = 5.0
#: Refusals after which the edge is looked for again along the course that the other photographs give it.
LOST = ("no-edge", "edge-faint", "edge-elsewhere")
REACH_MM, STEP_MM = 450.0, 4.0


@dataclass(frozen=True, eq=False)
class Seen:
    """One view with what it shows of the lap edge-on, or the reason why that is nothing and what was ``found``."""

    view: View
    look: Look | None = None
    values: GapValues | None = None
    reason: Reason | None = None
    warnings: tuple[Reason, ...] = ()
    found: tuple[Candidate, ...] = ()

    def lap_mm(self) -> np.ndarray:
        """The inner corner as s and w (B, 2) on the laid-out face."""
        assert self.look is not None
        pose = self.look.rough.pose
        assert isinstance(pose, CurvedPose)
        return pose.plank_from_face(pose.face_from_px(self.look.inner_px))


def look_edge_on_at_all(
    views: Sequence[View], joint: Joint, settings: Settings, done: Callable[[], None]
) -> list[Seen]:
    """A look at every view of one joint solution: first each by itself, then those that did not find the edge along the
    course that the others give it. Looks that put the edge elsewhere than the others do are left out."""
    seen = _agreeing(_look_at_each(views, joint, settings, done))
    return _agreeing(_again_along(seen, joint, settings))


def _look_at_each(views: Sequence[View], joint: Joint, settings: Settings, done: Callable[[], None]) -> list[Seen]:
    """A look at every view by itself."""
    section = _section(settings)

    def look(at: int) -> Seen:
        view, pixels = views[at], _pixels(views[at])
        try:
            rough = find_by_reference(pixels, joint.poses[at], _outlines(view), section)
            return _look(view, pixels, rough, section, settings)
        except Refused as refused:
            return Seen(view, reason=refused.reason, found=refused.candidates)
        finally:
            done()

    return side_by_side(look, range(len(views)))


def _again_along(seen: Sequence[Seen], joint: Joint, settings: Settings) -> list[Seen]:
    """The looks, those that did not find the edge made again along the course that the others give it."""
    used = [one for one in seen if one.look is not None]
    lost = [row for row, one in enumerate(seen) if one.reason is not None and one.reason.code in LOST]
    if not used or not lost:
        return list(seen)
    section, curve = _section(settings), lap_curve(used)

    def look(row: int) -> Seen:
        view, pixels = seen[row].view, _pixels(seen[row].view)
        try:
            rough = _rough_along(joint.poses[row], curve, section, pixels.shape[1::-1])
            return _look(view, pixels, rough, section, settings)
        except Refused:
            return seen[row]

    again = dict(zip(lost, side_by_side(look, lost), strict=True))
    return [again.get(row, one) for row, one in enumerate(seen)]


def _rough_along(pose: CurvedPose, curve: LapCurve, section: Section, size_px: tuple[int, ...]) -> EdgeOn:
    """The lap's course as one view has it, with x along it and the camera on the keel side."""
    s = pose.origin_mm[0] + np.arange(-REACH_MM, REACH_MM + STEP_MM, STEP_MM)
    w = curve.w(s)
    turned = pose.turned(float(np.arctan2(w[-1] - w[0], s[-1] - s[0])))
    if turned.camera_face_mm[1] > float(turned.face_from_plank(np.column_stack([s, w]))[len(s) // 2, 1]):
        turned = turned.turned(0.0, flip=True)
    face = turned.face_from_plank(np.column_stack([s, w]))
    face = face[np.argsort(face[:, 0])]
    off_mm = float(np.interp(0.0, face[:, 0], face[:, 1]))
    return edge_on_along(turned, face[:, 0], face[:, 1], off_mm, section, size_px)


def _look(view: View, pixels: np.ndarray, rough: EdgeOn, section: Section, settings: Settings) -> Seen:
    with carried([candidate("edge", rough.points_px)]):
        look = look_edge_on(pixels, rough, _outlines(view), section, settings.u_thickness_mm)
        refuse_if_covered(look)
    values = gap_values(look, section, settings.u_thickness_mm)
    more = (never_ending(),) if values.feigned else ()
    return Seen(view, look, values, warnings=(*exposure_and_focus(pixels), *rough.warnings, *more))


def _section(settings: Settings) -> Section:
    return Section(settings.thickness_mm, float(np.radians(settings.bevel()[0])), eased_mm=settings.eased_mm)


def _pixels(view: View) -> np.ndarray:
    assert view.photo is not None
    return view.photo.decoded()


def _outlines(view: View) -> tuple[np.ndarray, ...]:
    return tuple(card.outline_px for card in view.cards)


def _agreeing(seen: Sequence[Seen]) -> list[Seen]:
    """The looks, those left out that put the edge elsewhere on the strake than the others do."""
    result = list(seen)
    while True:
        used = [row for row, one in enumerate(result) if one.look is not None]
        if len(used) < 2:
            return result
        curve = lap_curve([result[row] for row in used])
        off = {row: _off_mm(result[row], curve) for row in used}
        worst = max(used, key=lambda row: off[row])
        if off[worst] <= MOST_OFF_MM:
            return result
        for row in [worst] if len(used) > 2 else used:
            result[row] = Seen(result[row].view, reason=_elsewhere(result[row].view), found=_edge_of(result[row]))


def _edge_of(one: Seen) -> tuple[Candidate, ...]:
    return () if one.look is None else (candidate("edge", one.look.inner_px),)


def _off_mm(one: Seen, curve: LapCurve) -> float:
    lap = one.lap_mm()
    return float(np.median(np.abs(lap[:, 1] - curve.w(lap[:, 0]))))


def lap_curve(used: Sequence[Seen]) -> LapCurve:
    """The fair curve of the lap through all looks."""
    every = np.concatenate([one.lap_mm() for one in used])
    return fit_curve(every[:, 0], every[:, 1])


def _elsewhere(view: View) -> Reason:
    return Reason(
        "edge-elsewhere",
        f"{view.name} shows the plank's edge in another place on the strake than the other photographs do: what was "
        "found may be a streak of grain, or the plank was moved. Photograph that stretch again.",
    )
