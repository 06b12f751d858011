"""What is to be drawn on one photograph: the places it shows, in its pixels, and the runs that share a meaning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.advice.cut_depth import deepest_between, depth_at
from fitcheck.advice.states import Stretch, stretches
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.candidates import Candidate
from fitcheck.report.drawing.palette import LOOKS
from fitcheck.report.edge.wording import Wording


@dataclass(frozen=True)
class Marked:
    """The places one photograph shows, in order along the lap.

    ``edge_px`` and ``line_px`` are (N, 2) with NaN where they are not known, ``outlines_px`` the references' outlines,
    ``toward_sheer`` +1 or -1: the sense of v that leads up the plank, ``line_words`` what the line is. ``candidates``
    are what could be card, edge or line where none was chosen.
    """

    samples: tuple[Sample, ...]
    edge_px: np.ndarray
    line_px: np.ndarray
    outlines_px: tuple[np.ndarray, ...]
    runs: tuple[Stretch, ...]
    toward_sheer: int
    cuts: tuple[Mapping[str, Any], ...]
    line_words: str = "lap line"
    candidates: tuple[Candidate, ...] = ()

    @property
    def traced_px(self) -> np.ndarray:
        """The edge (N, 2) as it was seen: NaN under a clamp, and where it is one of several candidates."""
        several = any(one.kind == "edge" for one in self.candidates)
        untraced = ("covered", "ambiguous") if several else ("covered",)
        seen = np.array([sample.state not in untraced for sample in self.samples], bool)
        return np.where(seen[:, None], self.edge_px, np.nan)

    @property
    def places_mm(self) -> np.ndarray:
        """The places (N,)."""
        return np.array([sample.place_mm() for sample in self.samples])


def marked(measurement: Measurement, photo_index: int = 0) -> Marked:
    """What one photograph of a measurement shows: of a plank, the places whose pixels lie in that photograph."""
    photo = measurement.photos[photo_index] if photo_index < len(measurement.photos) else {}
    name = photo.get("name")
    single = len(measurement.photos) < 2
    samples = [s for s in measurement.samples if single or (s.photos and s.photos[0] == name)]
    samples.sort(key=Sample.place_mm)
    cuts = tuple((measurement.planing or {}).get("cuts", ()))
    labels = ["plane" if depth_at(cuts, sample.place_mm()) > 0 else sample.state for sample in samples]
    return Marked(
        samples=tuple(samples),
        edge_px=_points([sample.edge_px for sample in samples]),
        line_px=_points([sample.line_px for sample in samples]),
        outlines_px=_outlines(photo, measurement.reference if single else None),
        runs=tuple(stretches(samples, labels)),
        toward_sheer=1 if measurement.settings.get("keel") == "up" else -1,
        cuts=cuts,
        line_words="witness line" if measurement.settings.get("witness_mm") else "lap line",
        candidates=tuple(one for one in measurement.candidates if single or one.photo == name),
    )


def _points(pairs: Sequence[tuple[float, float] | None]) -> np.ndarray:
    return np.array([(np.nan, np.nan) if pair is None else pair for pair in pairs], float).reshape(-1, 2)


def _outlines(photo: Mapping[str, Any], reference: Mapping[str, Any] | None) -> tuple[np.ndarray, ...]:
    """Outlines of the references: one (4, 2) quadrilateral, or several, of the photograph or of the measurement."""
    places = (photo, photo.get("reference") or {}, reference or {})
    corners = next((place["corners_px"] for place in places if place.get("corners_px")), None)
    if corners is None:
        return ()
    points = np.array(corners, float)
    return tuple(points) if points.ndim == 3 else (points.reshape(-1, 2),)


def run_words(run: Stretch, mark: Marked, wording: Wording) -> str:
    """What is written at one run: how deep to plane, how short, or why there is no number; nothing where it is good."""
    inside = [s for s in mark.samples if run.from_mm <= s.place_mm() <= run.to_mm]
    if run.label == "plane":
        return f"PLANE {wording.depth(deepest_between(mark.cuts, run.from_mm, run.to_mm)[1])}"
    if run.label == "short":
        worst = min((s.past_line_mm for s in inside if s.past_line_mm is not None), default=0.0)
        return f"SHORT {wording.length(-worst)}"
    return "" if run.label == "on" else LOOKS[run.label].words
