"""Made photographs measured and held against their truth: what was measured, how far off, how sure of itself.

A scene of a class is drawn from (SEED, class, number), so the same scenes come back whatever else is drawn.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.calibration.camera import load_camera
from fitcheck.contract.measurement import Measurement
from fitcheck.contract.settings import Settings
from fitcheck.one_photo.edge import measure_photo
from tests.scenes import Made, draw_scene, render, save

SEED = 95260318
#: How near a clamp's middle the wood is not to be judged: its jaw and what it throws.
CLAMP_MM = 40.0
WRONG_MM, WRONG_U95 = 1.0, 2.0
#: A bevel gauge and a pair of callipers, as the settings believe them.
U_BEVEL_DEG, U_THICKNESS_MM = 1.0, 0.2


@dataclass(frozen=True)
class Scored:
    """One photograph: ``error_mm``, ``u95_mm`` and ``along_mm`` (N,) at the places with a value, clear of clamps.

    ``line_mm`` (N,) is the part of the error that the line makes, from its place in the picture; ``in_sight`` counts
    the places whose line is in sight, ``found`` those of them that have a value. ``code`` is why it was refused.
    """

    name: str
    kind: str
    code: str = ""
    along_mm: np.ndarray = field(default_factory=lambda: np.zeros(0))
    error_mm: np.ndarray = field(default_factory=lambda: np.zeros(0))
    u95_mm: np.ndarray = field(default_factory=lambda: np.zeros(0))
    line_mm: np.ndarray = field(default_factory=lambda: np.zeros(0))
    in_sight: int = 0
    found: int = 0

    @property
    def inside(self) -> float:
        """Share of the places whose error is inside u95."""
        return float(np.mean(np.abs(self.error_mm) <= self.u95_mm))

    @property
    def wrong(self) -> np.ndarray:
        """Places (N,) that are confidently wrong."""
        return np.asarray(np.abs(self.error_mm) > np.maximum(WRONG_MM, WRONG_U95 * self.u95_mm))


def made_scene(kind: str, number: int, **fixed: Any) -> Made:
    """The photograph of scene ``number`` of a class."""
    rng = np.random.default_rng([SEED, zlib.crc32(kind.encode()), number])
    return render(draw_scene(rng, kind=kind, **fixed))


def told_settings(truth: dict[str, Any], rng: np.random.Generator | None = None) -> Settings:
    """What a builder would tell of the scene: bevel and thickness as his gauges read them.

    Without ``rng`` the thickness is told exactly and the bevel to the degree.
    """
    bevel, thickness = float(round(truth["bevel_deg"])), truth["thickness_mm"]
    if rng is not None:
        bevel = max(0.0, truth["bevel_deg"] + U_BEVEL_DEG * rng.normal())
        thickness += U_THICKNESS_MM * rng.normal()
    return Settings(
        reference=truth["reference"],
        thickness_mm=thickness,
        lap_mm=truth["lap_mm"],
        bevel_deg=bevel,
        witness_mm=truth["witness_mm"] or None,
    )


def measured(made: Made, folder: Path, name: str, settings: Settings) -> Measurement:
    """The made photograph written to a folder and measured from its file with its camera's file."""
    path = save(made, folder, name)
    return measure_photo(path, load_camera(folder / "cameras" / f"{made.camera.name}.json"), settings)


def scored(answer: Measurement, truth: dict[str, Any], name: str = "") -> Scored:
    """The answer held against the truth, place by place along the lap."""
    places = [s for s in truth["samples"] if _clear(s["along_mm"], truth)]
    need = np.array([s["along_mm"] for s in places if s["line_seen"]])
    if not answer:
        return Scored(name, truth["kind"], answer.reasons[0].code, in_sight=len(need))
    at = np.array([s["along_mm"] for s in places])
    valued = [s for s in answer.samples if s.past_line_mm is not None and _clear(s.along_mm, truth)]
    got = [s for s in valued if at[0] <= s.along_mm <= at[-1]]
    along = np.array([s.along_mm for s in got])
    past = np.interp(along, at, [s["past_line_mm"] for s in places])
    return Scored(
        name,
        truth["kind"],
        along_mm=along,
        error_mm=np.array([s.past_line_mm for s in got]) - past,
        u95_mm=np.array([s.u95_mm for s in got]),
        line_mm=_line_error(got, places, along),
        in_sight=len(need),
        found=int((np.abs(need[:, None] - along[None, :]).min(axis=1) < 12.0).sum()) if len(along) and len(need) else 0,
    )


def _clear(along_mm: float, truth: dict[str, Any]) -> bool:
    return all(abs(along_mm - clamp) > CLAMP_MM for clamp in truth["clamps_mm"])


def _line_error(got: list[Any], places: list[dict[str, Any]], along: np.ndarray) -> np.ndarray:
    """What the line's place in the picture puts into the error, in mm, about; with a witness line it says nothing."""
    if len(along) < 2:
        return np.zeros(len(along))
    at = [s["along_mm"] for s in places]
    true = np.column_stack([np.interp(along, at, [s["line_px"][axis] for s in places]) for axis in (0, 1)])
    seen = np.array([s.line_px for s in got])
    run = np.gradient(true, along, axis=0)
    size_px = np.linalg.norm(run, axis=1)
    toward_keel = np.column_stack([-run[:, 1], run[:, 0]]) / size_px[:, None]
    return np.asarray(-((seen - true) * toward_keel).sum(axis=1) / size_px)
