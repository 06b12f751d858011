"""What the page shows of an answer on the edge: the report's own words, and the photographs with their drawing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fitcheck.advice.cut_depth import deepest_between
from fitcheck.advice.states import Stretch, summary
from fitcheck.contract.flags import describe, told
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.page.shown_photo import candidates_shown, paths, photo_files, ribbon, words_beside
from fitcheck.report.drawing.palette import LOOKS
from fitcheck.report.edge.answer import limit_line, rows, summary_lines, title, verdict_words, warning_lines
from fitcheck.report.edge.gist import gist
from fitcheck.report.edge.marked import Marked, marked, run_words
from fitcheck.report.edge.one_of_many import caption, of_photo
from fitcheck.report.edge.overlay import LONGEST_SIDE_PX
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.edge.wording import Wording

if TYPE_CHECKING:
    from fitcheck.answering.edge_answers import EdgeAnswer
    from fitcheck.picture.photo import Photo

#: What a second photograph from another height helps against: refusals, and warnings of an answer that was given.
SECOND_LOOK = frozenset(
    {"keel-unclear", "edge-ambiguous", "no-edge", "line-hidden", "no-line", "line-ambiguous"}
    | {"by-score", "doubt-beyond-limit"}
)
#: The ribbon lies so far from the edge, in the units of the drawn picture.
INNER, OUTER = 40, 76


def edge_shown(answer: EdgeAnswer, folder: Path, number: int) -> dict[str, Any]:
    """One answer as JSON for its page; its pictures are written into ``folder``, named by the answer's ``number``."""
    found = answer.measurement
    wording = Wording.of(found)
    headline, asks = verdict_words(found.planing) if found else ("NOT MEASURED", "")
    first, after = gist(found, wording) if found else ([], [])
    return {
        "kind": "edge",
        "measured": bool(found),
        "headline": headline,
        "asks": asks,
        "look": headline.lower().replace(" ", "-") if found else "refused",
        "title": title(found),
        "frame": frame_line(found.part),
        "first": first,
        "after": after,
        "worst": _worst(found, wording),
        "cuts": _cuts(found, wording),
        "reasons": [reason.as_json() for reason in found.reasons],
        "parts": [_part(part) for part in found.each_part()] if found else [],
        "warnings": warning_lines(found),
        "flags": [describe(flag) for flag in told(flag for sample in found.samples for flag in sample.flags)],
        "keel": str(found.settings.get("keel") or ""),
        "second_look": any(one.code in SECOND_LOOK for one in (*found.reasons, *found.warnings)),
        "by_hand": bool(found.settings.get("edge_at_px") or found.settings.get("line_at_px")),
        "whole": _whole(answer, folder, number),
        "photos": _photos(answer, folder, number),
    }


def _part(part: Measurement) -> dict[str, Any]:
    wording = Wording.of(part)
    several = part.part is not None and part.part.of > 1
    return {
        "heading": frame_line(part.part) if several else "",
        "rows": [[row.place, row.edge, row.means, row.state] for row in rows(part, wording)],
        "origin": wording.origin(part.reference),
        "limit": limit_line(part, wording),
        "summary": summary_lines(part, wording) if part.samples else [],
    }


def _worst(found: Measurement, wording: Wording) -> dict[str, Any] | None:
    """The place furthest from the line, in words and in the pixels of its photograph; None where none has a number."""
    if not found or found.parts:
        return None
    fit = summary(found.samples)
    ends = [one for one in (fit.longest_past, fit.longest_short) if one is not None]
    if not ends:
        return None
    worst = max(ends, key=lambda one: abs(one.past_line_mm))
    sample = min(found.samples, key=lambda one: abs(one.place_mm() - worst.at_mm))
    return {
        "edge": wording.past(worst.past_line_mm, worst.u95_mm),
        "place": f"at the worst, {wording.place(worst.at_mm)}",
        "photo": _photo_of(found, sample),
        "at_px": None if sample.edge_px is None else [round(float(part), 1) for part in sample.edge_px],
    }


def _cuts(found: Measurement, wording: Wording) -> list[dict[str, str]]:
    """Every cut that is asked for, the deepest first."""
    cuts = sorted((found.planing or {}).get("cuts", ()), key=lambda cut: -float(cut["deepest_mm"]))
    return [
        {"depth": wording.depth(cut["deepest_mm"]), "where": wording.span(cut["from_mm"], cut["to_mm"])}
        for cut in cuts
        if cut.get("from_card") is None
    ]


def _photo_of(found: Measurement, sample: Sample) -> str:
    return sample.photos[0] if sample.photos else str(found.photos[0].get("name", "")) if found.photos else ""


def _whole(answer: EdgeAnswer, folder: Path, number: int) -> dict[str, Any] | None:
    if not answer.bands:
        return None
    from fitcheck.report.edge.plank_picture import plank_pictures

    return photo_files(plank_pictures(answer.measurement, answer.bands), folder, f"{number}-whole")


def _photos(answer: EdgeAnswer, folder: Path, number: int) -> list[dict[str, Any]]:
    found = answer.measurement
    by_digest = {photo.digest: photo for photo in answer.read}
    shown = []
    for index, one in enumerate(found.photos):
        photo = by_digest.get(str(one.get("sha256")))
        if photo is not None and (pixels := photo.decoded()).size:
            shown.append(_photo(photo, pixels, found, index, folder, f"{number}-{index + 1}"))
    return shown


def _photo(photo: Photo, pixels: np.ndarray, found: Measurement, index: int, folder: Path, name: str) -> dict[str, Any]:
    own, at = of_photo(found, index)
    mark = marked(own, at)
    wording = Wording.of(own)
    return {
        "name": photo.name,
        "caption": caption(found, index),
        **photo_files(pixels, folder, name),
        "used": bool(own),
        "reasons": [reason.as_json() for reason in own.reasons],
        "edge": paths(mark.traced_px),
        "line": paths(mark.line_px),
        "line_words": mark.line_words,
        "outlines": [paths(np.vstack([outline, outline[:1]])) for outline in mark.outlines_px],
        "stretches": _stretches(mark, wording, max(pixels.shape[:2]) / LONGEST_SIDE_PX),
        "candidates": candidates_shown(mark.candidates, mark.line_words),
    }


def _stretches(mark: Marked, wording: Wording, unit_px: float) -> list[dict[str, Any]]:
    """The ribbons beside the edge, one look a run; those to be planed or surely short carry their words."""
    places, edge = mark.places_mm, mark.edge_px
    known = np.isfinite(edge).all(axis=1) if len(edge) else np.zeros(0, bool)
    if known.sum() < 2:
        return []
    return [_stretch(run, places[known], edge[known], mark, wording, unit_px) for run in mark.runs]


def _stretch(
    run: Stretch, places: np.ndarray, edge: np.ndarray, mark: Marked, wording: Wording, unit_px: float
) -> dict[str, Any]:
    at = np.unique(np.concatenate([[run.from_mm], places[(places > run.from_mm) & (places < run.to_mm)], [run.to_mm]]))
    path = np.column_stack([np.interp(at, places, edge[:, axis]) for axis in (0, 1)])
    away = np.array([0.0, float(mark.toward_sheer)])
    return {
        "look": run.label,
        "state": LOOKS[run.label].words,
        "words": run_words(run, mark, wording),
        "weight": deepest_between(mark.cuts, run.from_mm, run.to_mm)[1],
        "where": wording.span(run.from_mm, run.to_mm),
        "outline": ribbon(path, away, unit_px, INNER, OUTER),
        **words_beside(path, away, unit_px, OUTER),
    }
