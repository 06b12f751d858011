"""The lap in section: strake, bevel, edge and plank as facets, each a straight run in the plane across the lap.

With bevel b the lap's plane falls from the knuckle as (cos b, −sin b) and the plank stands off it along (sin b, cos b).
The inner corner of the edge lies on that plane, short of the line by q = −past, and lifted off it by the gap.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tests.scenes.arrays import Array
from tests.scenes.hull import Hull
from tests.scenes.scene import Scene
from tests.scenes.wander import Wander, wander

FACE, BEVEL, EASED, EDGE, CHAMFER, PLANK = range(6)


@dataclass(frozen=True)
class Facet:
    """Points start(x) + w * run of the sections, (y, z) each; `turned` is the outward normal (y, z)."""

    start: Callable[[Array], Array]
    run: tuple[float, float]

    @property
    def normal(self) -> tuple[float, float]:
        """The outward normal (y, z) of the facet."""
        return -self.run[1], self.run[0]

    def at(self, x: Array, w: Array) -> Array:
        """The points (N, 2) as (y, z)."""
        return self.start(x) + np.asarray(w)[..., None] * np.array(self.run)


class Lap:
    """The lap of a scene as functions of x, the arc length from this view's origin."""

    def __init__(self, scene: Scene) -> None:
        rngs = [np.random.default_rng([scene.seed, 11, k]) for k in range(4)]
        self.scene = scene
        self.hull = Hull(scene.radius_mm, scene.twist_deg_per_m, scene.line_y_mm)
        self._line = wander(rngs[0], scene.line_wander_mm, scene.line_wave_mm)
        self._past = wander(rngs[1], scene.past_wander_mm, scene.past_wave_mm)
        self._gap = wander(rngs[2], scene.gap_wander_mm, scene.gap_wave_mm)
        self._witness: Wander = wander(rngs[3], scene.witness_wander_mm, 150.0)
        bevel = np.radians(scene.bevel_deg)
        self.toward_sheer = np.array([np.cos(bevel), -np.sin(bevel)])
        self.outward = np.array([np.sin(bevel), np.cos(bevel)])

    def plank_mm(self, x: Array) -> Array:
        """The place along the plank."""
        return np.asarray(x, float) + self.scene.plank_at_mm

    def line_y(self, x: Array) -> Array:
        """Height of the lap line, the knuckle of the strake, on the face."""
        slope = np.tan(np.radians(self.scene.line_slope_deg)) * np.asarray(x, float)
        return self.scene.line_y_mm + slope + self._line(self.plank_mm(x))

    def past(self, x: Array) -> Array:
        """How far the inner corner is past the knuckle, in the plane of the lap."""
        return self.scene.past_mm + self._past(self.plank_mm(x))

    def gap(self, x: Array) -> Array:
        """The opening under the inner corner, normal to the plank."""
        if self.scene.gap_mm == 0.0 and self.scene.gap_wander_mm == 0.0:
            return np.zeros_like(np.asarray(x, float))
        return np.maximum(0.0, self.scene.gap_mm + self._gap(self.plank_mm(x)))

    def mouth(self, x: Array) -> Array:
        """The dark opening under the inner corner: the gap, and the wedge under an edge past the line."""
        return self.gap(x) + np.maximum(0.0, self.past(x)) * self.outward[0]

    def proud(self, x: Array) -> Array:
        """The height of the step at the edge: the thickness, less along a gain."""
        x = np.asarray(x, float)
        if self.scene.gain_mm is None:
            return np.full_like(x, self.scene.thickness_mm)
        begins, ends, height = self.scene.gain_mm
        share = np.clip((self.plank_mm(x) - begins) / (ends - begins), 0.0, 1.0)
        eased = share * share * (3.0 - 2.0 * share)
        return self.scene.thickness_mm + (height - self.scene.thickness_mm) * eased

    def witness_y(self, x: Array) -> Array:
        """Height of the witness line, struck by hand at the witness distance below the lap line."""
        return self.line_y(x) - self.scene.witness_mm + self._witness(self.plank_mm(x))

    def told_past(self, x: Array) -> Array:
        """The truth as defined: by the witness line where one is struck, else by the lap line."""
        if not self.scene.witness_mm:
            return self.past(x)
        return self.past(x) + self._witness(self.plank_mm(x))

    def knuckle(self, x: Array) -> Array:
        """The lap line (N, 2) as (y, z)."""
        y = self.line_y(x)
        return np.stack([y, np.zeros_like(y)], -1)

    def inner(self, x: Array) -> Array:
        """The sharp inner corner (N, 2) as (y, z)."""
        short, gap = -self.past(x)[..., None], self.gap(x)[..., None]
        return self.knuckle(x) + short * self.toward_sheer + gap * self.outward

    def outer(self, x: Array) -> Array:
        """The sharp outer corner (N, 2) as (y, z)."""
        return self.inner(x) + self.proud(x)[..., None] * self.outward

    @cached_property
    def facets(self) -> dict[int, Facet]:
        """The facets by name, each running toward the sheer or out of the lap."""
        scene, t, n = self.scene, self.toward_sheer, self.outward
        slant_out, slant_in = (t + n) / np.sqrt(2.0), (n - t) / np.sqrt(2.0)
        return {
            FACE: Facet(self.knuckle, (1.0, 0.0)),
            BEVEL: Facet(self.knuckle, (t[0], t[1])),
            EASED: Facet(lambda x: self.inner(x) + scene.eased_mm * t, (slant_in[0], slant_in[1])),
            EDGE: Facet(self.inner, (n[0], n[1])),
            CHAMFER: Facet(lambda x: self.outer(x) - self.cut(x) * n, (slant_out[0], slant_out[1])),
            PLANK: Facet(self.outer, (t[0], t[1])),
        }

    def cut(self, x: Array) -> Array:
        """The chamfer's leg (N, 1): no more than half of the step."""
        return np.minimum(self.scene.chamfer_mm, 0.5 * self.proud(x))[..., None]
