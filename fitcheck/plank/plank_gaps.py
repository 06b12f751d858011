"""Open laps and steps along a whole plank, from edge-on photographs joined by their station cards."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.calibration.camera import Camera, load_camera
from fitcheck.contract.gap_measurement import GapMeasurement
from fitcheck.contract.measurement import Part
from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import Candidate
from fitcheck.ground.refusal import Reason, WrongCall
from fitcheck.ground.small_lengths import told_in
from fitcheck.lap.edge_on.gap_samples import Placed, placed, sample_of
from fitcheck.lap.edge_on.gap_values import OPEN
from fitcheck.one_photo.open_lap import with_advice
from fitcheck.picture.photo import Photo
from fitcheck.plank.combine_gaps import JoinedGaps, combine_gaps, unseen
from fitcheck.plank.connected_parts import Earlier, Known, apart_warnings, frames, part_of, with_earlier
from fitcheck.plank.edge_on_looks import Seen, lap_curve, look_edge_on_at_all
from fitcheck.plank.joint.card_views import View, read_views
from fitcheck.plank.joint.joint_solution import Joint
from fitcheck.plank.joint.lap_curve import LapCurve
from fitcheck.plank.photo_candidates import of_refused
from fitcheck.plank.photo_groups import solve_joints
from fitcheck.plank.places import Places, place_cards
from fitcheck.reference.kinds import STATION


@dataclass(frozen=True, eq=False)
class GapPlank:
    """The answer for the plank, for each photograph its own to be drawn, and all read.

    On a photograph that was used its own samples are drawn, at the plank's places; on one that was not what was found.
    """

    measurement: GapMeasurement
    parts: tuple[tuple[View, GapMeasurement], ...] = ()
    photos: tuple[Photo, ...] = ()


def measure_gaps_along_plank(
    photos: Sequence[str | Path | Photo],
    camera: Camera | str | Path,
    settings: Settings,
    *,
    stations: Mapping[int, float] | None = None,
    earlier: Sequence[Earlier] = (),
    progress: Callable[[float], None] | None = None,
) -> tuple[GapPlank, ...]:
    """Measure gap and step along a plank from edge-on photographs with station cards, in any order.

    ``stations`` are known places in mm by card number, ``earlier`` sets of photographs of the same plank, as for
    :func:`fitcheck.plank.plank_edge.measure_plank`; ``progress`` is called with the share of the work done. One sample
    each 5 mm of plank; places that no photograph shows are listed as unseen. There is one answer for each connected
    part of the plank, its places from its own lowest card where nothing ties it to card 0; mostly just one. It is false
    where no photograph could be used; its ``photos`` tell of each whether it was, or why not. Raises
    :class:`fitcheck.ground.refusal.WrongCall` for a missing photograph, an unusable camera file, or settings whose
    hints point into one photograph.
    """
    if settings.hints.pointed:
        raise WrongCall(
            "--edge-at and --reference-at point into one photograph: measure that one by itself, with a card"
        )
    camera = camera if isinstance(camera, Camera) else load_camera(camera)
    count = 0

    def one_done() -> None:
        nonlocal count
        count += 1
        if progress is not None:
            progress(min(1.0, count / max(1, 2 * len(photos))))

    views, solved = solve_joints(read_views(photos, camera, one_done))
    known = with_earlier([joint for _, joint in solved], stations or {}, earlier)
    looked = [look_edge_on_at_all(some, joint, settings, one_done) for some, joint in solved]
    seen = [one for looks in looked for one in looks]
    framed = frames([joint.numbers for _, joint in solved], known)
    used = [at for at, looks in enumerate(looked) if any(one.look is not None for one in looks)]
    framed = [kept for group in framed if (kept := [at for at in group if at in used])]
    if not framed:
        refused = _refused(views, seen, settings, camera)
        photographs = tuple(view.photo for view in views if view.photo is not None)
        return (GapPlank(refused, _lost(views, refused), photographs),)
    told = []
    for number, group in enumerate(framed, start=1):
        cards = [card for at in group for card in solved[at][1].numbers]
        names = sorted(one.view.name for at in group for one in looked[at])
        told.append(part_of(number, len(framed), cards, names, known))
    whole = _Whole(views, seen, told, known, settings, camera)
    photographs = tuple(view.photo for view in views if view.photo is not None)
    return tuple(
        replace(_answer(whole, part, [(solved[at][1], looked[at]) for at in group]), photos=photographs)
        for part, group in zip(told, framed, strict=True)
    )


@dataclass(frozen=True, eq=False)
class _Whole:
    """What all parts of a plank share."""

    views: Sequence[View]
    seen: Sequence[Seen]
    parts: Sequence[Part]
    known: Known
    settings: Settings
    camera: Camera


def _strand(one: Seen, curve: LapCurve, places: Places) -> Placed:
    assert one.look is not None
    assert one.values is not None
    at_mm = dict(zip(places.numbers, places.plank_mm, strict=True))
    block_mm = places.tape.plank(curve.place(one.lap_mm()[:, 0]))
    return placed(one.view.name, one.look, one.values, block_mm, [float(at_mm[n]) for n in one.view.numbers])


def _answer(whole: _Whole, part: Part, group: Sequence[tuple[Joint, Sequence[Seen]]]) -> GapPlank:
    """The answer for one part of the plank, in its own frame."""
    settings, found, strands, used = whole.settings, [], [], []
    for joint, looks in group:
        clear = [one for one in looks if one.look is not None]
        curve = lap_curve(clear)
        places = place_cards(joint, curve, whole.known.places_mm, units=settings.units)
        found.append(places)
        used += clear
        strands += [_strand(one, curve, places) for one in clear]
    joined: JoinedGaps = combine_gaps(strands, units=settings.units)
    keels = [one.look.rough.keel for one in used if one.look is not None]
    stations = sorted((one for places in found for one in places.as_json()), key=lambda one: int(one["number"]))
    ends = [float(one["plank_mm"]) for one in stations]
    own = tuple(one for places in found for one in places.warnings)
    measurement = GapMeasurement(
        "measured",
        {**settings.as_json(), "keel": max(sorted(set(keels)), key=keels.count)},
        warnings=(*apart_warnings(whole.parts, whole.known), *_warnings(whole.seen), *own, *joined.warnings),
        camera=whole.camera.as_json(),
        photos=_photos_json(whole.views, whole.seen, whole.parts, settings.units),
        reference={**_reference_json(used, len(stations)), "from_card": part.from_card},
        samples=joined.samples,
        stations=tuple(stations),
        least_gap_mm=float(np.median(OPEN * joined.u_gap_mm)) if len(joined.u_gap_mm) else None,
        budget_mm=_budget(used),
        unseen=unseen(joined.samples, min(ends), max(ends)),
        candidates=_candidates(whole.views, whole.seen),
        part=part,
    )
    measurement = _advised(measurement, settings)
    parts = tuple((one.view, _part(measurement, one, strand)) for one, strand in zip(used, strands, strict=True))
    part_at = {name: one.number for one in whole.parts for name in one.photos}
    of_this = [view for view in whole.views if part_at.get(view.name, 1) == part.number]
    return GapPlank(measurement, (*parts, *_lost(of_this, measurement)))


def _lost(views: Sequence[View], whole: GapMeasurement) -> tuple[tuple[View, GapMeasurement], ...]:
    """The views that could not be used, each with its reasons and what was found in it."""
    told = {photo["name"]: photo for photo in whole.photos if photo["state"] == "refused"}
    lost = [view for view in views if view.name in told and view.photo is not None]
    return tuple((view, _refusal(whole, told[view.name])) for view in lost if not _repeated(told[view.name]))


def _repeated(photo: Mapping[str, Any]) -> bool:
    return "photo-repeated" in [one["code"] for one in photo["reasons"]]


def _refusal(whole: GapMeasurement, photo: Mapping[str, Any]) -> GapMeasurement:
    """One photograph that could not be used, as an answer of its own."""
    reasons = tuple(Reason(one["code"], one["text"]) for one in photo["reasons"])
    found = tuple(one for one in whole.candidates if one.photo == photo["name"])
    return GapMeasurement("refused", whole.settings, reasons=reasons, photos=(photo,), candidates=found)


def _advised(measurement: GapMeasurement, settings: Settings) -> GapMeasurement:
    """With its advice; without that on gains where nobody knows how far they lie from these cards."""
    if not settings.gains or measurement.part is None or measurement.part.tied_by is not None:
        return with_advice(measurement, settings)
    text = (
        f"Nothing tells how far {measurement.part.words} lie from station card 0, so the step was not held against the "
        "gains."
    )
    told = replace(measurement, warnings=(*measurement.warnings, Reason("gain-unplaced", text)))
    return with_advice(told, replace(settings, gains=()))


def _part(whole: GapMeasurement, one: Seen, strand: Placed) -> GapMeasurement:
    """One photograph's own samples, at places of the plank."""
    assert one.look is not None
    samples = tuple(sample_of(strand, row, on_plank=True) for row in range(len(strand.place_mm)))
    photo = tuple(photo for photo in whole.photos if photo["name"] == one.view.name)
    settings = {**whole.settings, "keel": one.look.rough.keel}
    return GapMeasurement("measured", settings, photos=photo, reference=whole.reference, samples=samples)


def _budget(used: Sequence[Seen]) -> dict[str, float]:
    parts: dict[str, list[np.ndarray]] = {}
    for one in used:
        assert one.values is not None
        assert one.look is not None
        for name, part in one.values.parts.items():
            parts.setdefault(name, []).append(part[~one.look.covered])
    return {name: round(float(np.median(np.concatenate(every))), 4) for name, every in parts.items()}


def _reference_json(used: Sequence[Seen], count: int) -> dict[str, Any]:
    looks = [one.look for one in used if one.look is not None]
    return {
        "kind": STATION.name,
        "count": count,
        "slant_deg": round(float(np.median([look.scale.slant_deg for look in looks])), 1),
        "px_per_mm": round(float(np.median(np.concatenate([look.scale.px_per_mm for look in looks]))), 2),
    }


def _refused(views: Sequence[View], seen: Sequence[Seen], settings: Settings, camera: Camera) -> GapMeasurement:
    photos = _photos_json(views, seen, (), settings.units)
    reasons = {one["code"]: Reason(one["code"], one["text"]) for photo in photos for one in photo["reasons"]}
    return GapMeasurement(
        "refused",
        settings.as_json(),
        reasons=tuple(reasons.values()),
        warnings=_warnings(seen),
        camera=camera.as_json(),
        photos=photos,
        candidates=_candidates(views, seen),
    )


def _photos_json(
    views: Sequence[View], seen: Sequence[Seen], parts: Sequence[Part], units: str
) -> tuple[dict[str, Any], ...]:
    part = {name: one.number for one in parts for name in one.photos}
    reasons = {one.view.name: one.reason for one in seen}
    found = []
    for view in views:
        reason = view.reason or reasons.get(view.name)
        facts = {} if view.photo is None else view.photo.as_json()
        told = [] if reason is None else [told_in(reason, units).as_json()]
        state = "measured" if reason is None else "refused"
        cards = {"cards": list(view.numbers), "part": part.get(view.name)}
        found.append({**facts, "name": view.name, "state": state, "reasons": told, **cards})
    return tuple(found)


def _candidates(views: Sequence[View], seen: Sequence[Seen]) -> tuple[Candidate, ...]:
    """What was found in every refused photograph."""
    looked = {one.view.name: one for one in seen}
    found: list[Candidate] = []
    for view in views:
        one = looked.get(view.name)
        if view.reason is not None or one is None or one.reason is not None:
            found += of_refused(view, () if one is None else one.found)
    return tuple(found)


def _warnings(seen: Sequence[Seen]) -> tuple[Reason, ...]:
    """Every warning once, with the names of the photographs it is about where it is not about all."""
    whose: dict[Reason, list[str]] = {}
    for one in seen:
        for warning in (*one.view.warnings, *one.warnings):
            whose.setdefault(warning, []).append(one.view.name)
    return tuple(
        warning if len(names) == len(seen) else replace(warning, text=f"{', '.join(names)}: {warning.text}")
        for warning, names in whose.items()
    )
