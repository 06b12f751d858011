"""From looks at one lap, laid along its course by the trained score, to the answer: values, samples, refusals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fitcheck.calibration.camera import Camera
from fitcheck.contract.hints import Hints
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import carried, lettered
from fitcheck.ground.refusal import Reason
from fitcheck.lap.course.find_course import edge_ambiguous
from fitcheck.lap.evidence.marks import Marks
from fitcheck.lap.past_values import Values
from fitcheck.lap.section import Section
from fitcheck.lap.square_on.plank_plane import Seen, bevel_between_looks
from fitcheck.lap.square_on.scored_look import Cut, ScoredLook, marks_of, pointed_away, seen_again
from fitcheck.lap.square_on.scored_shown import ambiguous_scored, scored_shown
from fitcheck.lap.square_on.with_cards import with_measured_bevel
from fitcheck.one_photo.edge import line_ambiguous, line_hidden, reference_json, too_little, warnings_of
from fitcheck.one_photo.edge_samples import Traced, places_in_sight, samples_at, values_of
from fitcheck.one_photo.laid_looks import LaidLooks, looks_differ

#: Where the line is more likely absent than this it is said to be hidden; else it cannot be told.
ABSENT = 0.8
#: Where less than this share of the lap in sight shows a sure edge, it is the edge that cannot be told.
LEAST_SURE_EDGE = 0.4
#: By itself a look tells its corners worse by so much: a shadow as dark as the edge's face passes for more of it.
U_ALONE = 1.4
#: Where the lines of two looks, each sure by itself, lie further apart than this along most of the lap, and further
#: than their uncertainties allow, the reference was moved or they show different laps.
APART_MM = 1.0
#: The plank's face is laid out from its edge, which must be as sure as this along half of the lap.
SURE_EDGE = 0.9
#: No lap is planed to a bevel outside of this; where the grain seems to show one, it is not the same grain.
LEAST_BEVEL_DEG, MOST_BEVEL_DEG = -8.0, 35.0


@dataclass(frozen=True, eq=False)
class Together:
    """All looks at a lap with the edge and line that they show together, in the order given.

    ``settings`` have the bevel as measured and the places pointed at in the first look; ``told`` is what is to be said.
    """

    looks: tuple[ScoredLook, ...]
    settings: Settings
    told: tuple[Reason, ...]


def look_together(laid: LaidLooks) -> Together:
    """Edge and line by all looks. Raises :class:`Refused` ``looks-differ`` where the looks do not agree."""
    # Places pointed at are those of the first look.
    settings = replace(laid.settings, hints=laid.looks[0].ready.settings.hints)
    cuts = [one.cut for one in laid.looks]
    marks = marks_of(cuts, settings)
    told: tuple[Reason, ...] = ()
    if len(cuts) > 1:
        settings, told = _bevel_seen(laid, marks, settings)
        if told:
            cuts = [seen_again(cut, settings) for cut in cuts]
            marks = marks_of(cuts, settings)
        _need_agreement(cuts, settings)
    warnings = [*(reason for one in laid.looks for reason in one.ready.warnings), *laid.told, *told]
    said = (*_once(warnings), *pointed_away(marks, cuts[0], settings))
    return Together(tuple(cut.look(marks) for cut in cuts), settings, said)


def answer_by_score(
    together: Together, laid: LaidLooks, camera: Camera, photos: tuple[Mapping[str, Any], ...]
) -> Measurement:
    """The answer of all looks together; places and pixels are those of the first.

    ``photos`` are told as they are. Raises :class:`Refused` where too little has a value.
    """
    looks, settings = together.looks, together.settings
    values = _together([values_of(traced_by_score(look, looks=len(looks)), settings) for look in looks])
    first = replace(looks[0], sight=np.max([look.sight for look in looks], axis=0))
    traced = traced_by_score(first)
    samples = tuple(samples_at(traced, values, settings, places_in_sight(traced, values)))
    if len(looks) > 1:
        samples = tuple(replace(one, photos=(laid.looks[0].ready.photo.name,)) for one in samples)
    with carried(scored_shown(first)):
        refuse_if_too_little(samples, first, settings)
    return Measurement(
        "measured",
        {**settings.as_json(), "keel": first.keel},
        warnings=(*together.told, *warnings_of(settings)),
        camera=camera.as_json(),
        photos=photos,
        reference=reference_json(laid.looks[0].used, first.pose),
        samples=samples,
        budget_mm={name: round(float(np.median(part)), 4) for name, part in values.parts.items()},
        candidates=lettered(ambiguous_scored(first)),
    )


def traced_by_score(look: ScoredLook, *, looks: int = 1) -> Traced:
    """What a look traced, alone or beside others, as samples are made of it."""
    lost = np.where(look.measured, "", "ambiguous").astype(object)
    lost[look.edge_sure & (look.marks.line.absent > ABSENT)] = "hidden"
    return Traced(
        pose=look.pose,
        strip=look.strip,
        along_mm=look.along_mm,
        edge_down_mm=look.edge_down_mm,
        u_edge_mm=look.marks.edge.u_mm,
        line_down_mm=look.marks.line.down_mm,
        u_line_mm=look.marks.line.u_mm,
        u_corner_mm=look.u_corner_mm if looks > 1 else U_ALONE * look.u_corner_mm,
        hidden=look.hidden,
        in_sight=look.sight > 0.5,
        covered=look.covered,
        lost=lost,
    )


def refuse_if_too_little(samples: tuple[Sample, ...], look: ScoredLook, settings: Settings) -> None:
    """Raise :class:`Refused` with the reason where too little of the lap has a value."""
    if not too_little(samples):
        return
    sight = ~look.covered
    if look.edge_sure[sight].mean() < LEAST_SURE_EDGE:
        raise edge_ambiguous()
    if np.median(look.marks.line.absent[sight]) < ABSENT or settings.witness_mm or not look.hidden:
        raise line_ambiguous(settings)
    raise line_hidden()


def _bevel_seen(laid: LaidLooks, marks: Marks, settings: Settings) -> tuple[Settings, tuple[Reason, ...]]:
    """The settings with the bevel that the plank's grain shows between the looks, and what is to be said of it."""
    first = laid.looks[0].cut.strip
    if np.median(marks.edge.chance) < SURE_EDGE:
        return settings, ()
    looks = [
        Seen(
            one.ready.photo.pixels,
            one.cut.pose,
            one.ready.outlines_px,
            one.cut.strip.base_y_mm - first.base_y_mm,
        )
        for one in laid.looks
    ]
    inner_y = first.base_y_mm - np.interp(first.along_mm, marks.along_mm, marks.edge.down_mm)
    section = Section(settings.thickness_mm, float(np.radians(settings.bevel()[0])), gains=settings.gains)
    measured = bevel_between_looks(looks, first.along_mm, inner_y, section)
    if measured is None:
        return settings, ()
    if not LEAST_BEVEL_DEG < measured[0] < MOST_BEVEL_DEG:
        raise looks_differ("the grain of the planks does not fit together")
    settings, reason = with_measured_bevel(settings, *measured, "The grain of the plank, seen from both heights, shows")
    return settings, (reason,)


def _need_agreement(cuts: Sequence[Cut], settings: Settings) -> None:
    """Raise :class:`Refused` ``looks-differ`` where two looks, each sure of its line, have it in different places."""
    # Places pointed at are in one photograph's pixels: the pictures are asked by themselves.
    unaided = replace(settings, hints=Hints(keel=settings.hints.keel))
    alone = [cut.look(marks_of([cut], unaided)) for cut in cuts]
    for number, one in enumerate(alone):
        for other in alone[number + 1 :]:
            both = one.measured & other.measured
            if both.mean() < 0.3:
                continue
            apart = np.abs(one.marks.line.down_mm - other.marks.line.down_mm)[both]
            allowed = APART_MM + 2.0 * np.hypot(one.marks.line.u_mm, other.marks.line.u_mm)[both]
            if np.median(apart - allowed) > 0.0:
                raise looks_differ(f"the line lies {np.median(apart):.1f} mm apart in them")


def _together(values: Sequence[Values]) -> Values:
    """The values of all looks, each by its uncertainty; what they share is not made smaller by their number."""
    along = values[0].along_mm
    order = np.argsort(along)
    read = [_at(one, along) for one in values]
    weight = np.array([one.u_mm**-2 for one in read])
    weight /= weight.sum(axis=0)
    past = sum(share * one.past_mm for share, one in zip(weight, read, strict=True))
    u = sum(share * one.u_mm for share, one in zip(weight, read, strict=True))
    parts = {
        name: sum(share * one.parts[name] for share, one in zip(weight, read, strict=True)) for name in values[0].parts
    }
    return Values(along[order], np.asarray(past)[order], np.asarray(u)[order], {k: v[order] for k, v in parts.items()})


def _at(one: Values, along_mm: np.ndarray) -> Values:
    order = np.argsort(one.along_mm)
    read = lambda value: np.interp(along_mm, one.along_mm[order], value[order])  # noqa: E731
    return Values(along_mm, read(one.past_mm), read(one.u_mm), {name: read(part) for name, part in one.parts.items()})


def _once(reasons: Sequence[Reason]) -> list[Reason]:
    """The reasons, each code once."""
    return list({reason.code: reason for reason in reversed(reasons)}.values())[::-1]
