"""Measurements made up for the tests of the record, in the shape of the JSON contract. All invented."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from fitcheck.advice.states import state_of
from fitcheck.hull.settings_file import Hull, load_hull

LIMIT_MM = 25.4 / 32
HULL = """
name = "Invented dinghy"
lap = "1in"
thickness = "1/2in"

[[strakes]]
number = 3
from = "0mm"
to = "1000mm"
species = "white oak"
width = "150mm"

[[strakes]]
number = 4
from = "0mm"
to = "1000mm"

[[strakes]]
number = 5
from = "0mm"
to = "2000mm"
parts = [{ name = "fore", from = "0mm", to = "1100mm" }, { name = "aft", from = "900mm", to = "2000mm" }]
"""


def made_hull(folder: Path, text: str = HULL) -> Hull:
    """The invented hull, its settings written into ``folder``."""
    path = folder / "fitcheck.toml"
    path.write_text(text, encoding="utf-8")
    return load_hull(path)


def measured(
    past_mm: Callable[[float], float | None] | float = 0.0,
    *,
    places_mm: Iterable[float] = range(0, 1001, 5),
    u95_mm: float = 0.3,
    covered: Iterable[tuple[float, float]] = (),
    planing: dict[str, Any] | None = None,
    frame: str = "plank_mm",
    limit_mm: float = LIMIT_MM,
    camera: str = "invented camera",
) -> dict[str, Any]:
    """``measure --json`` of a plank whose edge lies ``past_mm`` (a number, or of the place; None where hidden)."""
    covered = list(covered)
    samples = []
    for place in map(float, places_mm):
        value = past_mm(place) if callable(past_mm) else past_mm
        state = "hidden" if value is None else state_of(value, u95_mm, limit_mm)
        if any(start <= place <= end for start, end in covered):
            value, state = None, "covered"
        samples.append(
            {
                "along_mm": None,
                "plank_mm": None,
                "past_line_mm": value,
                "u95_mm": None if value is None else u95_mm,
                "state": state,
                "edge_px": [place * 2, 700.25],
                "line_px": [place * 2, 705.5],
                "flags": ["witness"],
                "photos": ["p01.jpg"],
                frame: place,
            }
        )
    return {
        "schema": 1,
        "state": "measured",
        "reasons": [],
        "warnings": [],
        "camera": {"name": camera, "digest": "0" * 64},
        "photos": [{"name": "p01.jpg"}],
        "reference": {"kind": "station"},
        "settings": {"reference": "station", "thickness_mm": 12.7, "lap_mm": 25.4, "limit_mm": limit_mm},
        "samples": samples,
        "stations": [],
        "planing": planing,
        "budget_mm": {"edge": 0.1},
    }


def seen_edge_on(
    gap_mm: Callable[[float], float | None] | float = 0.0,
    *,
    places_mm: Iterable[float] = range(0, 1001, 5),
    u95_mm: float = 0.08,
) -> dict[str, Any]:
    """``gap --json`` of a lap that stands ``gap_mm`` open (None where covered)."""
    samples = []
    for place in map(float, places_mm):
        gap = gap_mm(place) if callable(gap_mm) else gap_mm
        state = "covered" if gap is None else "open" if gap > 1.5 * u95_mm else "closed"
        value = gap if state != "closed" else 0.0
        samples.append(
            {
                "along_mm": None,
                "plank_mm": place,
                "gap_mm": value,
                "gap_u95_mm": None if gap is None else u95_mm,
                "proud_mm": 12.7,
                "proud_u95_mm": 0.3,
                "edge_px": [place, 500.0],
                "state": state,
                "flags": [],
            }
        )
    return measured() | {"samples": samples, "planing": None}


def cut(from_mm: float, to_mm: float, deepest_mm: float) -> dict[str, Any]:
    """One cut of the planing advice, of even depth but for its ends."""
    places = [from_mm + (to_mm - from_mm) * i / 20 for i in range(21)]
    return {
        "from_mm": from_mm,
        "to_mm": to_mm,
        "deepest_mm": deepest_mm,
        "profile": [[place, 0.0 if place in (from_mm, to_mm) else deepest_mm] for place in places],
    }


def photographs(folder: Path, *names: str, seed: int = 0) -> list[Path]:
    """Files that stand for photographs: the record only knows their bytes."""
    source = random.Random(seed)
    paths = [folder / name for name in names]
    for path in paths:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(source.randbytes(2000))
    return paths
