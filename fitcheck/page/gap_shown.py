"""What the page shows of an answer on the open lap: the report's own words, and the photographs with their drawing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fitcheck.contract.flags import describe, told
from fitcheck.contract.gap_measurement import GapMeasurement
from fitcheck.page.shown_photo import candidates_shown, paths, photo_files, ribbon, words_beside
from fitcheck.report.edge.overlay import LONGEST_SIDE_PX
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.gap.gap_advice import advice_lines
from fitcheck.report.gap.gap_rows import traced
from fitcheck.report.gap.gap_stretch_style import GAP_LOOKS
from fitcheck.report.gap.gap_wording import GapRun, gap_runs, gap_wording
from fitcheck.report.gap.gap_words import (
    doubt_lines,
    gap_cell,
    gap_title,
    gap_verdict,
    open_lines,
    origin,
    summary_lines,
    table_rows,
)

if TYPE_CHECKING:
    from fitcheck.answering.gap_answers import GapAnswer
    from fitcheck.picture.photo import Photo

#: The ribbon lies so far from the edge, in the units of the drawn picture.
INNER, OUTER = 90, 126


def gap_shown(answer: GapAnswer, folder: Path, number: int) -> dict[str, Any]:
    """One answer as JSON for its page; its pictures are written into ``folder``, named by the answer's ``number``."""
    found = answer.measurement
    headline, means = gap_verdict(found)
    seen = bool(found.samples)
    wording = gap_wording(found)
    return {
        "kind": "gap",
        "measured": bool(found),
        "headline": headline,
        "asks": _asks(found, means) if found else "",
        "look": {"OPEN": "plane", "CLOSED": "good"}.get(headline, "look-again") if found else "refused",
        "title": gap_title(found),
        "frame": frame_line(found.part),
        "first": [*open_lines(found), *advice_lines(found), *doubt_lines(found)] if seen else [],
        "after": [],
        "worst": _worst(found),
        "cuts": [],
        "reasons": [reason.as_json() for reason in found.reasons],
        "parts": [
            {
                "heading": "",
                "rows": [[*row, ""] for row in table_rows(found, wording)],
                "origin": origin(found, wording),
                "limit": "",
                "summary": summary_lines(found),
            }
        ]
        if seen
        else [],
        "warnings": [warning.text for warning in found.warnings],
        "flags": [describe(flag) for flag in told(flag for sample in found.samples for flag in sample.flags)],
        "keel": str(found.settings.get("keel") or ""),
        "second_look": False,
        "by_hand": bool(found.settings.get("edge_at_px")),
        "whole": None,
        "photos": [
            _photo(photo, part, folder, f"{number}-{index + 1}") for index, (photo, part) in enumerate(answer.photos)
        ],
    }


def _asks(found: GapMeasurement, means: str) -> str:
    """What was seen, and what to do next, in a sentence each."""
    if (found.bevel or {}).get("runs"):
        return f"{means} Plane more bevel on the strake below there; the edge waits."
    unsure = any(sample.state == "unsure" for sample in found.samples)
    return f"{means} Try a feeler where it is unsure." if unsure else means


def _worst(found: GapMeasurement) -> dict[str, Any] | None:
    """The widest place, in words and in the pixels of its photograph; None where none has a number."""
    seen = [sample for sample in found.samples if sample.gap_mm is not None and sample.state == "open"]
    if not seen:
        return None
    widest = max(seen, key=lambda sample: sample.gap_mm or 0.0)
    wording = gap_wording(found)
    photo = widest.photos[0] if widest.photos else str(found.photos[0].get("name", "")) if found.photos else ""
    at_px = None if widest.edge_px is None else [round(float(part), 1) for part in widest.edge_px]
    return {
        "edge": gap_cell(widest, wording.units).removeprefix("open "),
        "place": f"at the widest, {wording.place(widest.place_mm())}",
        "photo": photo,
        "at_px": at_px,
    }


def _photo(photo: Photo, found: GapMeasurement, folder: Path, name: str) -> dict[str, Any]:
    pixels = photo.decoded()
    outline = np.array((found.reference or {}).get("corners_px", []), float).reshape(-1, 2)
    drawn = len(found.samples) > 1
    _, corner, slit = traced(found) if drawn else (None, np.empty((0, 2)), np.empty((0, 2)))
    return {
        "name": photo.name,
        "caption": f"Photograph {photo.name}, marked" if found else f"Photograph {photo.name}, not used",
        **photo_files(pixels, folder, name),
        "used": bool(found),
        "reasons": [reason.as_json() for reason in found.reasons],
        "edge": paths(corner),
        "line": paths(slit),
        "line_words": "other side of the slit",
        "outlines": [paths(np.vstack([outline, outline[:1]]))] if len(outline) else [],
        "stretches": _stretches(found, max(pixels.shape[:2]) / LONGEST_SIDE_PX) if drawn else [],
        "candidates": candidates_shown(found.candidates, "lap line"),
    }


def _stretches(found: GapMeasurement, unit_px: float) -> list[dict[str, Any]]:
    ordered = sorted(found.samples, key=lambda sample: sample.place_mm())
    places = np.array([sample.place_mm() for sample in ordered])
    edge = np.array([sample.edge_px for sample in ordered], float).reshape(-1, 2)
    up = 1.0 if found.settings.get("keel") == "up" else -1.0
    along = edge[-1] - edge[0]
    normal = np.array([-along[1], along[0]]) / max(float(np.linalg.norm(along)), 1e-9)
    away = normal * (np.sign(normal[1]) or 1.0) * up
    return [_stretch(run, places, edge, away, found, unit_px) for run in gap_runs(found.samples)]


def _stretch(
    run: GapRun, places: np.ndarray, edge: np.ndarray, away: np.ndarray, found: GapMeasurement, unit_px: float
) -> dict[str, Any]:
    wording = gap_wording(found)
    at = np.unique(np.clip(np.linspace(run.from_mm, run.to_mm, 40), places[0], places[-1]))
    path = np.column_stack([np.interp(at, places, edge[:, axis]) for axis in (0, 1)])
    if len(path) < 2:
        path = np.vstack([path - np.array([2.0, 0.0]), path + np.array([2.0, 0.0])])
    words = gap_cell(run.widest, wording.units) if run.state == "open" and run.widest is not None else ""
    return {
        "look": {"open": "plane", "closed": "on"}.get(run.state, run.state),
        "state": GAP_LOOKS[run.state].words,
        "words": words,
        "weight": run.widest.gap_mm if run.widest is not None and run.widest.gap_mm is not None else 0.0,
        "where": wording.span(run.from_mm, run.to_mm),
        "outline": ribbon(path, away, unit_px, INNER, OUTER),
        **words_beside(path, away, unit_px, OUTER),
    }
