"""What hand and tool leave on the strake: pencil lines, station ticks, saw marks, rivet heads."""

from dataclasses import dataclass

import numpy as np

from tests.scenes.arrays import Array
from tests.scenes.lap import Lap
from tests.scenes.wander import steady
from tests.scenes.wood import Board, noise, remap_list

#: Reflectance of what a pencil leaves, linear BGR.
LEADS = {
    "graphite": np.array([0.035, 0.035, 0.035], np.float32),
    "blue": np.array([0.33, 0.10, 0.035], np.float32),
    "red": np.array([0.045, 0.035, 0.36], np.float32),
    "light": np.array([0.70, 0.74, 0.76], np.float32),
}
RIM_MM = 0.06
TOOTH_MM = 0.1


@dataclass(frozen=True)
class Pencil:
    """A pencil stroke along the lap: its pressure and half width along, and the tooth of the wood that breaks it up."""

    contrast: float
    half_mm: float
    pressure: Array
    swell: Array
    tooth: Array
    tooth_strength: float
    from_mm: float

    @classmethod
    def struck(
        cls,
        rng: np.random.Generator,
        scene_span_mm: tuple[float, float],
        *,
        width_mm: float,
        contrast: float,
        skips: float,
        tooth: float,
    ) -> "Pencil":
        """A stroke over a span, with `skips` the share of its length nearly bare."""
        along = np.arange(scene_span_mm[0], scene_span_mm[1], 0.5)
        slow = 1.0 + 0.25 * steady(along, rng, 90.0)
        if skips > 0.0:
            broken = steady(along, rng, 5.0) + 0.7 * steady(along, rng, 25.0)
            bare = np.quantile(broken, skips)
            slow *= 0.1 + 0.9 / (1.0 + np.exp(-(broken - bare) / 0.12))
        swell = np.clip(1.0 + 0.12 * steady(along, rng, 30.0), 0.6, 1.5)
        grit = noise(rng, (64, len(along) * 5), 2.5, 1.5)
        return cls(
            contrast,
            0.5 * width_mm,
            np.maximum(slow, 0.0).astype(np.float32),
            swell.astype(np.float32),
            grit,
            tooth,
            float(along[0]),
        )

    def cover(self, plank_mm: Array, off_mm: Array) -> Array:
        """Share of graphite (N,) at places along and off the stroke's middle."""
        at = np.clip((plank_mm - self.from_mm) / 0.5, 0, len(self.pressure) - 1.001)
        k = at.astype(np.intp)
        half = self.half_mm * self.swell[k]
        body = 0.5 * (np.tanh((off_mm + half) / RIM_MM) - np.tanh((off_mm - half) / RIM_MM))
        share = self.contrast * self.pressure[k] * body
        on = body > 1e-3
        grit = remap_list(
            self.tooth,
            ((plank_mm[on] - self.from_mm) / TOOTH_MM).astype(np.float32),
            (off_mm[on] / TOOTH_MM + 32).astype(np.float32),
        )
        share[on] *= np.clip(1.0 + self.tooth_strength * grit[:, 0], 0.0, 2.2)
        return np.asarray(np.clip(share, 0.0, 0.92), np.float32)


def drawn(shade: Array, share: Array, lead: str = "graphite") -> Array:
    """Reflectance (N, 3) with a share (N,) of a lead over it."""
    return np.asarray(shade + share[:, None] * (LEADS[lead] - shade), np.float32)


class Marks:
    """All marks on the strake of a scene."""

    def __init__(self, lap: Lap, strake: Board) -> None:
        scene = lap.scene
        self.lap = lap
        # Hard grain is darker than the board's middle shade.
        grey = strake.shade[::8, ::8].mean(axis=2)
        self.middle, self.spread = float(np.median(grey)), float(grey.std()) + 1e-6
        self.rng = np.random.default_rng([scene.seed, 41])

        def strike(contrast: float) -> Pencil:
            return Pencil.struck(
                self.rng,
                scene.board_mm,
                width_mm=scene.line_width_mm,
                contrast=contrast,
                skips=scene.line_skips,
                tooth=scene.line_tooth,
            )

        self.line, self.witness, self.old = (
            strike(scene.line_contrast),
            strike(scene.line_contrast),
            strike(0.75 * scene.line_contrast),
        )
        self.tick = strike(min(0.6, 1.2 * scene.line_contrast))
        along = np.arange(scene.board_mm[0], scene.board_mm[1], 0.5)
        again = steady(along, self.rng, 120.0)
        self.twice = again > np.quantile(again, 1.0 - scene.line_double) if scene.line_double else None
        self.beside_mm = 0.7 * steady(along, self.rng, 200.0)

    def upon(self, shade: Array, x: Array, off: Array, y: Array) -> Array:
        """Draw on samples (N,) at x, `off` from the lap line along the surface, height y on the face."""
        scene, plank = self.lap.scene, (x + self.lap.scene.plank_at_mm).astype(np.float32)
        if scene.line_drawn:
            shade = self._stroke(shade, self.line, plank, off)
        if scene.witness_mm:
            struck = self.lap.witness_y(x) - self.lap.line_y(x)
            shade = self._stroke(shade, self.witness, plank, (off - struck).astype(np.float32))
        if scene.old_line_mm is not None:
            slant = np.tan(np.radians(scene.old_line_slope_deg)) * x
            shade = self._stroke(shade, self.old, plank, (off + scene.old_line_mm - slant).astype(np.float32))
        for tick in scene.ticks_mm:
            near = np.abs(x - tick) < 3.0
            if near.any():
                aslant = (x[near] - tick + 0.03 * off[near]).astype(np.float32)
                ends = (off[near] > -28.0) & (off[near] < 8.0)
                shade[near] = drawn(
                    shade[near], self.tick.cover((off[near] * 3.0 + tick).astype(np.float32), aslant) * ends
                )
        if scene.saw_marks:
            shade = shade * (1.0 - scene.saw_marks * self._kerf(x, y))[:, None].astype(np.float32)
        for rivet in scene.rivets_mm:
            shade = self._rivet(shade, x - rivet, off + 0.5 * scene.lap_mm + 20.0)
        return shade

    def _stroke(self, shade: Array, pencil: Pencil, plank: Array, off: Array) -> Array:
        near = np.abs(off) < 4.0
        if near.any():
            share = self._share(pencil, plank[near], off[near])
            shade[near] = drawn(shade[near], share * self._taken(shade[near]), self.lap.scene.line_colour)
        return shade

    def _share(self, pencil: Pencil, plank: Array, off: Array) -> Array:
        """Share of lead (N,): the stroke, in places a second one beside it, and what a sleeve rubbed off."""
        scene, share = self.lap.scene, pencil.cover(plank, off)
        if self.twice is not None:
            at = np.clip((plank - scene.board_mm[0]) / 0.5, 0, len(self.twice) - 1).astype(np.intp)
            again = pencil.cover(plank, (off - self.beside_mm[at]).astype(np.float32))
            share = np.maximum(share, self.twice[at] * again)
        rubbed = scene.line_smear * pencil.contrast * np.exp(-np.abs(off + 0.4) / 1.2)
        return np.asarray(np.clip(share + rubbed, 0.0, 0.92), np.float32)

    def _taken(self, shade: Array) -> Array:
        """Share of the lead (N,) that the wood takes: hard dark grain takes less."""
        if not self.lap.scene.line_hard:
            return np.ones(len(shade), np.float32)
        hard = np.clip((self.middle - shade.mean(axis=1)) / (1.5 * self.spread), 0.0, 1.0)
        return np.asarray(1.0 - self.lap.scene.line_hard * hard, np.float32)

    @staticmethod
    def _kerf(x: Array, y: Array) -> Array:
        """The arcs of a circular saw, some 4 mm apart."""
        far = np.hypot(x + 0.25 * y, y + 260.0)
        return np.asarray(np.clip(np.sin(2.0 * np.pi * far / 4.2 + np.sin(far / 31.0)), 0.0, 1.0) ** 3, np.float32)

    @staticmethod
    def _rivet(shade: Array, dx: Array, dy: Array) -> Array:
        far = np.hypot(dx, dy)
        head, rim = far < 4.0, (far >= 4.0) & (far < 4.8)
        shade[head] = np.array([0.12, 0.22, 0.42], np.float32) * (0.8 + 0.25 * dy[head] / 4.0)[:, None]
        shade[rim] *= np.float32(0.5)
        return shade
