"""A photograph as a phone shows it: two sizes of it in the job's folder, and what is drawn over it in its pixels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.ground.candidates import Candidate
from fitcheck.ground.files import write_bytes
from fitcheck.report.drawing.canvas import runs_of
from fitcheck.report.drawing.found import found_words

#: What a phone shows at first; the whole picture follows once it is magnified.
SMALL_PX = 1400
SMALL_QUALITY, FULL_QUALITY = 80, 90
#: A path is drawn through at most so many points.
MOST_POINTS = 200


def photo_files(pixels: np.ndarray, folder: Path, name: str) -> dict[str, Any]:
    """Write the picture, (H, W, 3) uint8 BGR upright, into ``folder`` in two sizes; its files and its size in px."""
    high, wide = pixels.shape[:2]
    scale = min(1.0, SMALL_PX / max(high, wide))
    small = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    files = {"small": f"small-{name}.jpg", "full": f"full-{name}.jpg"}
    for size, (picture, quality) in {"small": (small, SMALL_QUALITY), "full": (pixels, FULL_QUALITY)}.items():
        coded = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
        write_bytes(folder / files[size], coded.tobytes())
    return {**files, "wide_px": wide, "high_px": high}


def paths(points: np.ndarray) -> list[list[list[float]]]:
    """The stretches of (N, 2) points that are there, each thinned to what is worth drawing, px to a tenth."""
    return [_thinned(run) for run in runs_of(np.asarray(points, float).reshape(-1, 2))]


def ribbon(path: np.ndarray, away: np.ndarray, unit_px: float, inner: float, outer: float) -> list[list[float]]:
    """The outline of a ribbon beside a path (N, 2), from ``inner`` to ``outer`` units off in the direction ``away``."""
    near, far = path + away * inner * unit_px, path + away * outer * unit_px
    return [*_thinned(near), *reversed(_thinned(far))]


def words_beside(path: np.ndarray, away: np.ndarray, unit_px: float, outer: float) -> dict[str, Any]:
    """Where the words of a ribbon stand: ``at_px`` on the edge itself, ``words_px`` beyond the ribbon, on its far side.

    ``below`` tells that they hang down from there, since the ribbon lies below the edge.
    """
    at, beyond = path[len(path) // 2], path[len(path) // 2] + away * (outer + 10) * unit_px
    ((at_px, words_px),) = (_rounded([at, beyond]),)
    return {"at_px": list(at_px), "words_px": list(words_px), "below": bool(away[1] > 0)}


def candidates_shown(candidates: Sequence[Candidate], line_words: str) -> list[dict[str, Any]]:
    """What could be the edge or the line, one for each letter, with its words and its paths, and the cards found."""
    words = found_words(candidates, line_words)
    by_letter: dict[tuple[str, str], list[Candidate]] = {}
    for one in candidates:
        by_letter.setdefault((one.kind, one.letter), []).append(one)
    return [
        {
            "kind": kind,
            "letter": letter,
            "words": words.get(letter, ""),
            "paths": [[list(point) for point in _rounded(one.points_px)] for one in parts],
            "at": _middle(parts),
        }
        for (kind, letter), parts in by_letter.items()
    ]


def _middle(parts: Sequence[Candidate]) -> list[float]:
    """A place on the longest part of a candidate, which points at it."""
    longest = max(parts, key=lambda one: len(one.points_px))
    u, v = longest.points_px[len(longest.points_px) // 2] if longest.points_px else (0.0, 0.0)
    return [round(u, 1), round(v, 1)]


def _thinned(run: np.ndarray) -> list[list[float]]:
    if len(run) > MOST_POINTS:
        run = run[np.unique(np.linspace(0, len(run) - 1, MOST_POINTS).round().astype(int))]
    return [list(point) for point in _rounded(run)]


def _rounded(points: Iterable[Sequence[float]]) -> list[tuple[float, float]]:
    return [(round(float(u), 1), round(float(v), 1)) for u, v in points]
