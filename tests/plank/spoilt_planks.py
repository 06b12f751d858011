"""The sample plank with each of its eight photographs blurred, left out, or swapped for another plank's.

What was read and looked at once is kept: runs of the same photographs come up again and again.
"""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import cv2
import numpy as np

from fitcheck.advice.planing.advice_in_parts import with_advice
from fitcheck.advice.planing.planing_advice import advise
from fitcheck.calibration.camera import Camera, load_camera
from fitcheck.contract.measurement import Measurement
from fitcheck.contract.settings import Settings
from fitcheck.plank import photo_groups
from fitcheck.plank.joint.card_views import View, read_views
from fitcheck.plank.plank_edge import measure_views
from tests.plank.other_plank import path_of
from tests.samples import ROOT, TEAL, repainted

PLANK = ROOT / "sample_images" / "plank"
TRUTH = Path(os.environ.get("FITCHECK_PHOTOS", "no-such-folder")) / "plank"
SETTINGS = Settings(reference="station", thickness_mm=9.5, lap_mm=25.4, bevel_deg=6.0, witness_mm=20.0)
EIGHT = range(1, 9)
KINDS = ("blurred", "left out", "swapped", "soft")
#: Blurred so much, in pixels, that no card can be read; a soft one still shows its cards.
BLURRED_PX, SOFT_PX = 14.0, 3.0


@dataclass(frozen=True)
class Truth:
    """Places of the whole plank from card 0 (N,), how far its edge truly is past the line there, and its cards."""

    place_mm: np.ndarray
    past_mm: np.ndarray
    cards_mm: dict[int, float]

    def at(self, place_mm: float, from_card: int) -> float:
        """How far the edge is past its line at a place that counts from a card."""
        return float(np.interp(place_mm + self.cards_mm[from_card], self.place_mm, self.past_mm))


@cache
def truth() -> Truth:
    """The truth beside the photographs that FITCHECK_PHOTOS names."""
    past: dict[float, float] = {}
    for file in sorted(TRUTH.glob("p*.json")):
        past |= {one["plank_mm"]: one["past_line_mm"] for one in json.loads(file.read_text())["samples"]}
    cards = json.loads((TRUTH / "stations.json").read_text())["stations_mm"]
    places = np.array(sorted(past))
    return Truth(places, np.array([past[at] for at in places]), {int(number): at for number, at in cards.items()})


@cache
def camera() -> Camera:
    """The camera of the sample plank."""
    return load_camera(TEAL)


def photo(number: int) -> Path:
    """A photograph of the sample plank."""
    return PLANK / f"p{number:02d}.jpg"


@cache
def view(number: int) -> View:
    """The same photograph, its cards read."""
    return read_views([photo(number)], camera())[0]


@cache
def blurred(number: int, by_px: float) -> View:
    """The same photograph, blurred."""
    with TemporaryDirectory() as folder:
        target = Path(folder) / f"blurred{number}.jpg"
        path = repainted(photo(number), target, lambda pixels: cv2.GaussianBlur(pixels, None, by_px))
        return read_views([path], camera())[0]


@cache
def _stranger(apart_mm: float) -> View:
    return read_views([path_of(apart_mm)], camera())[0]


def another_planks(number: int) -> View:
    """A photograph of another plank that has the cards of photograph ``number``, as far apart as on this plank."""
    numbers = sorted(view(number).numbers)
    apart = truth().cards_mm[numbers[-1]] - truth().cards_mm[numbers[0]]
    other = _stranger(apart)
    cards = tuple(replace(card, number=one) for card, one in zip(other.cards, numbers, strict=True))
    return replace(other, cards=cards)


def spoilt(kind: str, number: int) -> list[View]:
    """The eight views with photograph ``number`` spoilt."""
    instead = {
        "blurred": lambda: [blurred(number, BLURRED_PX)],
        "left out": list,
        "swapped": lambda: [another_planks(number)],
        "soft": lambda: [blurred(number, SOFT_PX)],
    }[kind]()
    return [view(k) for k in EIGHT if k != number] + instead


def advised(views: Sequence[View]) -> Measurement:
    """The plank measured, with its advice."""
    found = measure_views(views, camera(), SETTINGS, {}).measurement
    assert found, found.reasons
    told: dict[str, Any] = {"limit_mm": SETTINGS.limit_mm, "lap_mm": SETTINGS.lap_mm, "may_slide_mm": 0.0}
    return with_advice(found, lambda samples, length_mm: advise(samples, plank_length_mm=length_mm, **told))


def excess_mm(answer: Measurement) -> list[float]:
    """How far each cut goes beyond the wood that truly is there, at its worst place; none where there are no cuts."""
    return [
        max(float(depth) - max(0.0, truth().at(at, cut.get("from_card") or 0)) for at, depth in cut["profile"])
        for cut in (answer.planing or {})["cuts"]
    ]


_RUN, _RUNS = photo_groups._run, dict[Any, Any]()


def run_once(views: Any, joint: Any, settings: Any, known: Any, done: Any) -> Any:
    """In place of ``photo_groups._run``: the same photographs look the same in every test."""
    key = (tuple((one.photo.digest, one.numbers) for one in views), repr(known), repr(settings))
    if key not in _RUNS:
        _RUNS[key] = _RUN(views, joint, settings, known, done)
    return _RUNS[key]
