"""An edge-on look as if it had been taken, and a picture of a lap drawn flat: three faces of wood, streaked along."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fitcheck.lap.edge_on.edge_corners import OuterCorner
from fitcheck.lap.edge_on.edge_on_look import Look
from fitcheck.lap.edge_on.find_edge import EdgeOn
from fitcheck.lap.edge_on.scale import Scale
from fitcheck.lap.edge_on_band import edge_line
from fitcheck.lap.section import Section
from fitcheck.lap.slit.slit_fit import Slits
from tests.lap.made_pose import standing

PX_PER_MM, THICKNESS_MM, COUNT = 5.0, 12.7, 60
SECTION = Section(THICKNESS_MM, np.radians(6.0), eased_mm=0.0)


def made_look(gap_mm: float | np.ndarray = 0.0, *, scaled: bool = True, **changed: object) -> Look:
    """A lap open by ``gap_mm`` as it was read: a clear slit in even light. ``changed`` are fields of look or slits."""
    each = np.ones(COUNT)
    width = PX_PER_MM * gap_mm * each
    # The edge face is seen up to where the outer corner's easing begins: 0.33 mm short of the thickness.
    height = PX_PER_MM * (THICKNESS_MM - 0.33) * each
    inner = np.column_stack([8.0 * np.arange(COUNT), np.full(COUNT, 300.0)])
    pose = standing((0.0, -300.0, 200.0), (0.0, 30.0, 0.0)) if scaled else None
    rough = EdgeOn(inner, np.array([0.0, 1.0]), "down", float(height[0]), pose)
    slits = Slits(
        width, 0.1 * each, 0.0 * each, 0.1 * each, 0.0 * each, 0.1 * each, 0.1 * each, 0.6 * each, 1.5 * each,
        0.02 * each, 0.0, 0.9, 0.0 * each, 0.0, 0.0,
    )  # fmt: skip
    outer = OuterCorner(height, 0.5 * each, np.zeros(COUNT, bool), 4.0 * each)
    scale = Scale(PX_PER_MM * each, 0.0 * each, 0.005, 2.5 * np.arange(COUNT), 65.0)
    of_slits = {name: value for name, value in changed.items() if name in Slits.__dataclass_fields__}
    of_look = {name: value for name, value in changed.items() if name in Look.__dataclass_fields__}
    assert len(of_slits) + len(of_look) == len(changed)
    look = Look(
        rough, edge_line(inner, np.array([0.0, 1.0])), inner, inner, replace(slits, **of_slits), outer, scale,
        0.05 * each, 0.6, 1.0, np.zeros(COUNT, bool),
    )  # fmt: skip
    return replace(look, **of_look)


def flat_lap(
    *, upper_px: float = 200.0, inner_px: float = 260.0, levels: tuple[float, float, float] = (150.0, 95.0, 170.0),
    slit_px: float = 0.0, grain: float = 5.0, size_px: tuple[int, int] = (900, 480), seed: int = 2,
) -> np.ndarray:  # fmt: skip
    """A picture (H, W, 3) of plank, edge face and strake, one under the other, with streaks of grain along them and a
    dark slit under the inner corner."""
    width, height = size_px
    rows = np.arange(height) + 0.0
    light = np.select([rows < upper_px, rows < inner_px], levels[:2], levels[2])
    light = np.where((rows >= inner_px) & (rows < inner_px + slit_px), 20.0, light)
    soft = np.convolve(np.pad(light, 3, mode="edge"), np.exp(-0.5 * np.arange(-3, 4.0) ** 2) / 2.5, mode="valid")
    rng = np.random.default_rng(seed)
    streaks = np.repeat(rng.normal(0.0, grain, (height, width // 60)), 60, axis=1)
    noise = rng.normal(0.0, 1.5, (height, width))
    grey = soft[:, None] + streaks + noise
    tint = np.array([0.75, 0.95, 1.1])
    return np.clip(grey[..., None] * tint, 0, 255).astype(np.uint8)
