"""The whole plank from many photographs with station cards: one measurement, in the plank's own frame."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.calibration.camera import Camera, load_camera
from fitcheck.contract.measurement import Measurement, Part
from fitcheck.contract.settings import Settings
from fitcheck.ground.candidates import Candidate
from fitcheck.ground.refusal import Reason, WrongCall
from fitcheck.ground.small_lengths import told_in
from fitcheck.lap.shown import ambiguous_shown
from fitcheck.one_photo.edge import warnings_of
from fitcheck.picture.photo import Photo
from fitcheck.plank.combine import combine
from fitcheck.plank.connected_parts import Earlier, Known, apart_warnings, frames, part_of, with_earlier
from fitcheck.plank.joint.card_views import View, read_views
from fitcheck.plank.photo_candidates import of_photo, of_refused
from fitcheck.plank.photo_groups import Run, solve_runs
from fitcheck.plank.plank_band import Band
from fitcheck.plank.square_looks import Looked
from fitcheck.reference.kinds import STATION

#: Told the share of the work done, 0 to 1: each photograph counts once for its cards and once for its lap.
Progress = Callable[[float], None]


@dataclass(frozen=True, eq=False)
class Plank:
    """The measurement of a plank, and for each part of it the straightened strips of its photographs, to be drawn."""

    measurement: Measurement
    bands: tuple[tuple[Band, ...], ...] = ()
    photos: tuple[Photo, ...] = ()


def measure_plank(
    photos: Sequence[str | Path | Photo],
    camera: Camera | str | Path,
    settings: Settings,
    *,
    stations: Mapping[int, float] | None = None,
    earlier: Sequence[Earlier] = (),
    progress: Progress | None = None,
) -> Measurement:
    """Measure a plank from photographs with station cards, given as paths or loaded, in any order.

    ``stations`` are known places in mm by card number (:func:`fitcheck.plank.stations_file.read_stations`), weighed in
    and checked; ``earlier`` are sets of photographs of the same plank that tie what nothing else does, if no card was
    moved since; ``progress`` is called with the share of the work done. The answer has one sample each 5 mm of
    plank; its ``photos`` tell of each photograph, in the order given, whether it was used or why not. It is false, with
    the reasons, where no photograph could be used.

    Photographs that share no card, directly or through others, and whose cards no place ties, are parts of the plank:
    each is answered by itself, its places from its own lowest card (:attr:`Measurement.parts`).

    Raises :class:`WrongCall` for a missing photograph, an unusable camera file, or settings whose hints point
    into one photograph.
    """
    return look_along_plank(photos, camera, settings, stations=stations, earlier=earlier, progress=progress).measurement


def look_along_plank(
    photos: Sequence[str | Path | Photo],
    camera: Camera | str | Path,
    settings: Settings,
    *,
    stations: Mapping[int, float] | None = None,
    earlier: Sequence[Earlier] = (),
    progress: Progress | None = None,
) -> Plank:
    """As :func:`measure_plank`, with the strips for :func:`fitcheck.report.edge.plank_picture.plank_picture`."""
    if settings.hints.pointed:
        raise WrongCall(
            "--line-at, --edge-at and --reference-at point into one photograph: measure that one by itself with them"
        )
    camera = camera if isinstance(camera, Camera) else load_camera(camera)
    done = _Counter(2 * len(photos), progress)
    views = read_views(photos, camera, done.one)
    return measure_views(views, camera, settings, stations or {}, earlier=earlier, done=done.one)


def measure_views(
    views: Sequence[View],
    camera: Camera,
    settings: Settings,
    known_mm: Mapping[int, float],
    *,
    earlier: Sequence[Earlier] = (),
    done: Callable[[], None] = lambda: None,
) -> Plank:
    """As :func:`look_along_plank`, from photographs whose cards were read; ``done`` is called after each look."""
    views, runs = solve_runs(views, settings, known_mm, done, earlier=earlier)
    known = with_earlier([run.joint for run in runs], known_mm, earlier)
    framed = [
        [runs[at] for at in group if runs[at].strands] for group in frames([run.joint.numbers for run in runs], known)
    ]
    framed = [group for group in framed if any(np.isfinite(s.past_mm).any() for run in group for s in run.strands)]
    if not framed:
        return Plank(_refused(views, runs, settings, camera))
    told = [_part(number, len(framed), group, known) for number, group in enumerate(framed, start=1)]
    common = Measurement(
        "measured",
        settings.as_json(),
        warnings=(*apart_warnings(told, known), *_warnings(views), *warnings_of(settings)),
        camera=camera.as_json(),
        photos=_photos_json(views, runs, told, settings.units),
        candidates=_candidates(views, runs),
    )
    parts = tuple(_measured(common, group, part, settings) for group, part in zip(framed, told, strict=True))
    bands = tuple(tuple(band for run in group for band in run.bands) for group in framed)
    photographs = tuple(view.photo for view in views if view.photo is not None)
    return Plank(parts[0] if len(parts) == 1 else _together(parts), bands, photographs)


def _part(number: int, of: int, group: Sequence[Run], known: Known) -> Part:
    cards = [card for run in group for card in run.joint.numbers]
    names = [one.view.name for run in group for one in run.looked]
    return part_of(number, of, cards, sorted(names), known)


def _measured(common: Measurement, group: Sequence[Run], part: Part, settings: Settings) -> Measurement:
    """The answer for one part of the plank, in its own frame."""
    combined = combine([strand for run in group for strand in run.strands], settings)
    stations = [one for run in group if run.places for one in run.places.as_json()]
    own = [one for run in group if run.places for one in (*run.places.warnings, *run.warnings)]
    return replace(
        common,
        settings={**common.settings, "keel": _keel(group, settings)},
        warnings=(*common.warnings, *own, *combined.warnings),
        reference={**_reference_json(group), "from_card": part.from_card},
        samples=tuple(replace(one, part=part.number, from_card=part.from_card) for one in combined.samples),
        stations=tuple(sorted(stations, key=lambda one: int(one["number"]))),
        budget_mm=combined.budget_mm,
        part=part,
    )


def _together(parts: tuple[Measurement, ...]) -> Measurement:
    """One answer for a plank in parts."""
    stations = [
        {**one, "part": part.part.number, "from_card": part.part.from_card}
        for part in parts
        if part.part is not None
        for one in part.stations
    ]
    count = sum(int((part.reference or {})["count"]) for part in parts)
    return replace(
        parts[0],
        warnings=tuple(dict.fromkeys(warning for part in parts for warning in part.warnings)),
        reference={**(parts[0].reference or {}), "count": count, "from_card": None},
        samples=tuple(sample for part in parts for sample in part.samples),
        stations=tuple(stations),
        part=None,
        parts=parts,
    )


class _Counter:
    """Tells the share of the work done."""

    def __init__(self, whole: int, progress: Progress | None) -> None:
        self.whole, self.count, self.progress = max(whole, 1), 0, progress

    def one(self) -> None:
        self.count += 1
        if self.progress is not None:
            self.progress(min(1.0, self.count / self.whole))


def _refused(views: Sequence[View], runs: Sequence[Run], settings: Settings, camera: Camera) -> Measurement:
    """The answer where nothing could be measured, with every photograph's reason once."""
    photos = _photos_json(views, runs, (), settings.units)
    reasons = {one["code"]: Reason(one["code"], one["text"]) for photo in photos for one in photo["reasons"]}
    return Measurement(
        "refused",
        settings.as_json(),
        reasons=tuple(reasons.values()),
        warnings=_warnings(views),
        camera=camera.as_json(),
        photos=photos,
        candidates=_candidates(views, runs),
    )


def _keel(runs: Sequence[Run], settings: Settings) -> str:
    keels = [one.look.keel for run in runs for one in run.looked if one.look is not None]
    return max(sorted(set(keels)), key=keels.count, default=settings.keel)


def _photos_json(
    views: Sequence[View], runs: Sequence[Run], parts: Sequence[Part], units: str
) -> tuple[dict[str, Any], ...]:
    looked = {one.view.name: one for run in runs for one in run.looked}
    part = {name: one.number for one in parts for name in one.photos}
    return tuple(_photo_json(view, looked.get(view.name), part.get(view.name), units) for view in views)


def _photo_json(view: View, looked: Looked | None, part: int | None, units: str) -> dict[str, Any]:
    """What is told of one photograph: what it is, whether it was used, its cards and its part, and why not."""
    reason = view.reason or (looked.reason if looked is not None else None)
    look = None if looked is None else looked.look
    facts = {} if view.photo is None else view.photo.as_json()
    return {
        **facts,
        "name": view.name,
        "state": "measured" if reason is None else "refused",
        "reasons": [] if reason is None else [told_in(reason, units).as_json()],
        "keel": None if look is None else look.keel,
        "tilt_deg": None if look is None else round(look.pose.tilt_deg, 2),
        "residual_px": None if look is None else round(look.pose.residual_px, 3),
        "cards": list(view.numbers),
        "corners_px": [[[round(float(u), 2), round(float(v), 2)] for u, v in card.outline_px] for card in view.cards],
        "part": part,
    }


def _candidates(views: Sequence[View], runs: Sequence[Run]) -> tuple[Candidate, ...]:
    """What was found in every refused photograph, and in the others where they leave a stretch ambiguous."""
    looked = {one.view.name: one for run in runs for one in run.looked}
    found: list[Candidate] = []
    for view in views:
        one = looked.get(view.name)
        if view.reason is not None or one is None or one.reason is not None:
            found += of_refused(view, () if one is None else one.found)
        elif one.look is not None:
            found += of_photo(view.name, ambiguous_shown(one.look))
    return tuple(found)


def _reference_json(runs: Sequence[Run]) -> dict[str, Any]:
    poses = [pose for run in runs for pose in run.joint.poses]
    first = runs[0].joint
    bends, twists = first.shape.bend[1:-1], np.degrees(first.shape.twist[1:-1]) * 1000.0
    return {
        "kind": STATION.name,
        "count": sum(len(run.joint.numbers) for run in runs),
        "tilt_deg": round(float(np.median([pose.tilt_deg for pose in poses])), 2),
        "residual_px": round(float(np.sqrt(np.mean([pose.residual_px**2 for pose in poses]))), 3),
        "bend_per_m": round(float(np.median(bends)) * 1000.0, 4),
        "twist_deg_per_m": round(float(np.median(twists)), 2),
    }


def _warnings(views: Sequence[View]) -> tuple[Reason, ...]:
    """Every warning once; those on some of the photographs name them."""
    whose: dict[Reason, list[str]] = {}
    for view in views:
        for one in view.warnings:
            whose.setdefault(one, []).append(view.name)
    seen = sum(view.reason is None for view in views)
    return tuple(one if len(names) >= seen else _named(one, names) for one, names in whose.items())


def _named(warning: Reason, names: Sequence[str]) -> Reason:
    told = all(name in warning.text for name in names)
    return warning if told else Reason(warning.code, f"{', '.join(names)}: {warning.text}")
