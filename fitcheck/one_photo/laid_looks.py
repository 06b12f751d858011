"""Several photographs of one lap, laid along one course: each in its own place, or beside the one that tells most.

A photograph whose lap cannot be told by itself is laid beside one whose lap can. Where none can, the courses that the
lap could have are weighed by all looks together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import cards, carried
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.lap.course.find_course import Course
from fitcheck.lap.course.scored_course import scored_courses
from fitcheck.lap.square_on.beside import Lead, cut_beside
from fitcheck.lap.square_on.scored_look import Cut, ScoredLook, cut_along, marks_of
from fitcheck.lap.square_on.scored_strake import scored_strake, surest_of
from fitcheck.lap.square_on.with_cards import OnStrake
from fitcheck.one_photo.edge import Ready
from fitcheck.reference.pose import FacePose
from fitcheck.reference.sighting import Sighting

#: A line tells more than an edge which look to follow: a streak may pass for an edge.
LINE_COUNTS = 3.0
#: Two photographs from directions nearer each other than this show the same streaks in the same places, and count once.
LEAST_APART_DEG = 3.0
#: Refusals after which the looks are asked together: a lap is in sight, and more than one thing could be it.
ASKED_TOGETHER = ("keel-unclear", "edge-ambiguous")


@dataclass(frozen=True, eq=False)
class Laid:
    """A photograph with its strip along the lap, and the references ``used`` for its pose."""

    ready: Ready
    cut: Cut
    used: tuple[Sighting, ...]


@dataclass(frozen=True, eq=False)
class LaidLooks:
    """All looks at one lap in the order given, the course and ``settings`` of the one that tells most.

    ``lost`` are photographs (by digest) that cannot be laid there, and why.
    """

    looks: tuple[Laid, ...]
    settings: Settings
    told: tuple[Reason, ...]
    lost: dict[str, Refused]


@dataclass(frozen=True, eq=False)
class _Alone:
    """A look with the course that it found by itself."""

    strake: OnStrake
    cut: Cut

    @property
    def lead(self) -> Lead:
        return Lead(self.strake.card_pose, self.strake.course, self.cut)

    @property
    def evidence(self) -> float:
        marks = marks_of([self.cut], self.strake.settings)
        return marks.edge_evidence + LINE_COUNTS * marks.line_evidence


def lay(ready: Sequence[Ready]) -> LaidLooks:
    """Lay all looks along one course. Raises :class:`Refused` where no look, nor all together, tell the lap's, and
    ``looks-differ`` where two that tell it each by itself show different wood."""
    alone: dict[int, _Alone] = {}
    lost: dict[int, Refused] = {}
    for number, one in enumerate(ready):
        try:
            alone[number] = _by_itself(one)
        except Refused as refused:
            lost[number] = refused
    if not alone:
        if len(ready) == 1 or lost[0].reason.code not in ASKED_TOGETHER:
            raise lost[0]
        alone[0] = _by_all(ready)
    # With one there is nothing to weigh.
    chief = next(iter(alone)) if len(alone) == 1 else max(alone, key=lambda number: alone[number].evidence)
    lead = alone[chief]
    looks = [Laid(ready[chief], lead.cut, lead.strake.used)]
    unlaid: dict[str, Refused] = {}
    for number, one in enumerate(ready):
        if number == chief:
            continue
        own = alone.get(number)
        cut, fits = _beside(one, lead, own)
        if own is not None and not fits:
            raise looks_differ("the wood below the edge is not the same")
        if own is None and not fits:
            unlaid[one.photo.digest] = lost[number]
        elif any(_apart_deg(cut.pose, other.cut.pose) < LEAST_APART_DEG for other in looks):
            unlaid[one.photo.digest] = _looks_alike()
        else:
            looks.append(Laid(one, cut, one.found.sightings[:1] if own is None else own.strake.used))
    looks.sort(key=lambda one: ready.index(one.ready))
    told = tuple(reason for one in alone.values() for reason in one.strake.told)
    return LaidLooks(tuple(looks), lead.strake.settings, told, unlaid)


def _apart_deg(one: FacePose, other: FacePose) -> float:
    """The angle between the directions from the reference to two cameras."""
    first, second = (pose.camera_face_mm / np.linalg.norm(pose.camera_face_mm) for pose in (one, other))
    return float(np.degrees(np.arccos(np.clip(first @ second, -1.0, 1.0))))


def looks_differ(why: str) -> Refused:
    """The refusal of photographs that are not of one lap with its card left where it was."""
    return Refused(
        "looks-differ",
        f"The photographs do not agree: {why}. The card was moved between them, or they show different laps. "
        "Photograph again without touching the card; measure different laps one by one.",
    )


def _looks_alike() -> Refused:
    return Refused(
        "looks-alike",
        "Taken from the same place as another photograph of this lap: it shows nothing new. Take the second one with "
        "the camera 15 to 20 cm lower or higher.",
    )


def _by_itself(one: Ready) -> _Alone:
    with carried(cards(one.outlines_px)):
        strake = scored_strake(one.photo.pixels, list(one.found.references), one.settings)
        return _Alone(strake, cut_along(one.photo.pixels, strake.course, one.outlines_px, strake.settings))


def _by_all(ready: Sequence[Ready]) -> _Alone:
    """The first look along the course by which edge and line are likeliest in all looks together."""
    one = ready[0]
    sighting, pose = one.found.references[0]

    def along(course: Course) -> _Alone:
        cut = cut_along(one.photo.pixels, course, one.outlines_px, one.settings)
        strake = OnStrake(
            course=course,
            card_pose=pose,
            used=(sighting,),
            settings=one.settings,
            told=(),
        )
        return _Alone(strake, cut)

    def look(course: Course) -> ScoredLook:
        lead = along(course)
        beside = [_beside(other, lead, None)[0] for other in ready[1:]]
        return lead.cut.look(marks_of([lead.cut, *beside], one.settings))

    with carried(cards(one.outlines_px)):
        courses = scored_courses(
            one.photo.pixels, pose, one.outlines_px, one.settings.keel, one.settings.hints.edge_at_px
        )
        return along(surest_of(courses, look))


def _beside(one: Ready, lead: _Alone, own: _Alone | None) -> tuple[Cut, bool]:
    """A look's strip along the leading look's course, and whether the strake's grain shows that it fits there."""
    card_pose: FacePose = one.found.references[0][1] if own is None else own.strake.card_pose
    return cut_beside(one.photo.pixels, card_pose, one.outlines_px, lead.lead, lead.strake.settings)
