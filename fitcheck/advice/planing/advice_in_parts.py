"""The advice for a plank in parts: each part by itself, and what photographs that could not be used keep open."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from fitcheck.contract.measurement import Measurement, Part, Sample
from fitcheck.ground.refusal import Reason

#: What a photograph shows on either side of its only card, at the least.
BESIDE_CARD_MM = 100.0
#: A longer stretch that nobody saw keeps a plank from being good.
MOST_UNSEEN_MM = 100.0
#: Samples lie every 5 mm; with more than this between two, something lies between that no photograph showed.
APART_MM = 12.5
#: Warnings of the advice that speak of one part alone.
OF_PART = ("move-first", "slide-tried", "see-the-rest", "lap-left", "under-clamps", "doubt-beyond-limit")
STRETCHES = ("cuts", "might_plane", "short", "short_now", "unseen", "unsure")
#: Which verdict speaks for the whole plank: the first that a part has. Nothing in parts is good as a whole.
SPEAKS_FIRST = ("plane", "recut", "look again")
#: Asked with a part's samples, and how long a lap in parts is at the least, gives its advice; None for a whole lap.
Advise = Callable[[Sequence[Sample], float | None], dict[str, Any]]


def with_advice(measurement: Measurement, advise: Advise) -> Measurement:
    """The measurement with the advice of ``advise`` for each of its parts, and one verdict for the whole.

    A cut, or a short stretch, tells the card that its places count from wherever that may not be card 0. A photograph
    that could not be used, and whose stretch no other shows, keeps the plank from being good. Where one part asks for a
    slide first, nothing is planed in the others either: it is one plank.
    """
    parts = tuple(_advised(one, advise, _length_mm(measurement)) for one in measurement.each_part())
    if not measurement.parts:
        return parts[0]
    if any((one.planing or {})["first"] == "slide" for one in parts):
        parts = tuple(_waiting(one) for one in parts)
    return replace(measurement, planing=_joined([one.planing or {} for one in parts]), parts=parts)


def _joined(every: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """One advice for a plank in parts: every stretch of theirs, and what comes first in any of them."""
    verdicts, firsts = ({str(planing[key]) for planing in every} for key in ("verdict", "first"))
    slides = [float(planing["slide_mm"]) for planing in every]
    return {
        "slide_mm": max(slides, key=abs),
        "swing_mm_per_m": 0.0,
        "about_mm": None,
        "first": next((first for first in ("slide", "short") if first in firsts), None),
        **{key: [stretch for planing in every for stretch in planing[key]] for key in STRETCHES},
        "share_seen": min(float(planing["share_seen"]) for planing in every),
        "verdict": next((verdict for verdict in SPEAKS_FIRST if verdict in verdicts), "look again"),
        "warnings": _each_once(warning for planing in every for warning in planing["warnings"]),
        **{key: every[0][key] for key in ("limit_mm", "prefer", "edge_takes_line")},
    }


def _waiting(one: Measurement) -> Measurement:
    """A part whose cuts wait until the plank was moved."""
    planing = dict(one.planing or {})
    if planing["cuts"]:
        planing |= {"cuts": [], "might_plane": planing["cuts"], "verdict": "look again"}
        planing["warnings"] = _each_once([*planing["warnings"], _moved_first().as_json()])
    return replace(one, planing=planing)


def _moved_first() -> Reason:
    text = "Another part of the plank asks for a slide first: plane nothing before it was moved and photographed again."
    return Reason("other-part-first", text)


def _length_mm(measurement: Measurement) -> float | None:
    """How long a lap in parts is at the least; None where it hangs together, as then nothing is known beyond it."""
    if not measurement.parts:
        return None
    return sum(part.samples[-1].place_mm() - part.samples[0].place_mm() for part in measurement.parts)


def unused(measurement: Measurement) -> list[Mapping[str, Any]]:
    """The photographs that could not be used; one given twice is no loss."""
    return [
        photo
        for photo in measurement.photos
        if photo.get("state") == "refused" and "photo-repeated" not in [one["code"] for one in photo["reasons"]]
    ]


def _advised(one: Measurement, advise: Advise, length_mm: float | None) -> Measurement:
    planing = advise(one.samples, length_mm)
    part = one.part
    if part is None:
        return replace(one, planing=planing)
    lost = [str(photo["name"]) for photo in unused(one) if not _shown_by_others(photo, one)]
    warnings = list(planing["warnings"])
    if planing["verdict"] == "good" and (lost or _ends_unseen(one, part)):
        planing = {**planing, "verdict": "look again"}
        warnings.append((_not_judged(lost) if lost else _end_not_judged()).as_json())
    if part.of > 1 or part.tied_by is None:
        told = {"part": part.number, "from_card": part.from_card}
        planing |= {key: [{**stretch, **told} for stretch in planing[key]] for key in STRETCHES}
    if part.of > 1:
        # Of two parts that ask for different slides each must say whose it is.
        whose = f"{part.words[0].upper()}{part.words[1:]}"
        warnings = [{**w, "text": f"{whose}: {w['text']}"} if w["code"] in OF_PART else w for w in warnings]
    if part.of > 1 and _cut_to_the_end(planing["cuts"], one.samples, part):
        warnings.append(_stops(part).as_json())
    return replace(one, planing={**planing, "warnings": _each_once(warnings)})


def _ends_unseen(one: Measurement, part: Part) -> bool:
    """Whether an end of the plank, where it is told, lies far beyond what was seen."""
    ends = one.settings.get("ends_mm")
    if not ends or part.of > 1 or part.tied_by is None:
        return False
    places = [sample.place_mm() for sample in one.samples]
    return bool(min(places) - min(ends) > MOST_UNSEEN_MM or max(ends) - max(places) > MOST_UNSEEN_MM)


def _end_not_judged() -> Reason:
    text = "An end of the plank is in no photograph, so it was not judged: photograph the whole plank."
    return Reason("not-all-judged", text)


def _shown_by_others(photo: Mapping[str, Any], one: Measurement) -> bool:
    """Whether the stretch of a photograph, as its cards tell it, holds samples throughout."""
    if photo.get("part") is None or one.part is None:
        return False
    if photo["part"] != one.part.number:
        return True  # it is held against its own part
    at = [float(s["plank_mm"]) for s in one.stations if s["number"] in photo["cards"]]
    if not at:
        return False
    low, high = (at[0] - BESIDE_CARD_MM, at[0] + BESIDE_CARD_MM) if len(at) == 1 else (min(at), max(at))
    places = sorted(sample.place_mm() for sample in one.samples)
    inside = [low, *(place for place in places if low < place < high), high]
    return all(after - before <= APART_MM for before, after in pairwise(inside))


def _cut_to_the_end(cuts: Sequence[Mapping[str, Any]], samples: Sequence[Sample], part: Part) -> bool:
    """Whether a cut reaches an end of the part beyond which another part lies."""
    places = [sample.place_mm() for sample in samples if sample.past_line_mm is not None]
    low = part.number > 1 and any(cut["from_mm"] <= min(places) + APART_MM for cut in cuts)
    return bool(low or (part.number < part.of and any(cut["to_mm"] >= max(places) - APART_MM for cut in cuts)))


def _not_judged(names: Sequence[str]) -> Reason:
    one = len(names) == 1
    text = (
        f"{', '.join(names)} could not be used, so what {'it shows' if one else 'they show'} was not judged. "
        f"Photograph that stretch again; leave {'it' if one else 'them'} out where it is no photograph of this plank."
    )
    return Reason("not-all-judged", text)


def _stops(part: Part) -> Reason:
    text = (
        f"A cut runs to the end of what was seen of {part.words}. Do not carry it on: photograph what lies beyond, and "
        "measure again."
    )
    return Reason("cut-stops-unseen", text)


def _each_once(warnings: Any) -> list[dict[str, Any]]:
    return list({warning["text"]: warning for warning in warnings}.values())
