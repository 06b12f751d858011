"""Which facet each pixel sees, and where on it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.scenes.arrays import Array, Mask
from tests.scenes.hull import Hull
from tests.scenes.lap import BEVEL, CHAMFER, EASED, EDGE, FACE, PLANK, Facet, Lap
from tests.scenes.view import Mesh, View

BACKGROUND = 9
FAR_MM = 4000.0
#: Nearer than this the places of two steps are one: float32, in which they are kept, is far coarser.
AGREED_MM = 1e-8


def meet(hull: Hull, facet: Facet, stand: Array, rays: Array) -> tuple[Array, Array]:
    """Places x and w (N,) where sight lines from `stand` (3,) along `rays` (N, 3) meet a facet; ± FAR_MM for never.

    In the section at x the facet is a plane to first order; where the ray meets it moves x, until both agree.
    """
    x = np.zeros(len(rays))
    w = np.zeros(len(rays))
    ahead = np.ones(len(rays), bool)
    run_y, run_z = facet.run
    for _ in range(12):
        origin, along, toward_sheer, outward = hull.axes(x)
        frame = np.stack([along, toward_sheer, outward], -2)
        eye = np.einsum("nij,nj->ni", frame, stand - origin)
        ray = np.einsum("nij,nj->ni", frame, rays)
        start = facet.start(x)
        slope = (facet.start(x + 0.5) - facet.start(x - 0.5)) / 1.0
        normal = np.stack(
            [slope[:, 0] * run_z - slope[:, 1] * run_y, np.full(len(x), -run_z), np.full(len(x), run_y)], -1
        )
        base = np.concatenate([np.zeros((len(x), 1)), start], 1)
        rate = np.einsum("ni,ni->n", normal, ray)
        reach = np.einsum("ni,ni->n", normal, base - eye) / np.where(np.abs(rate) < 1e-9, 1e-9, rate)
        ahead = reach > 0.0
        hit = eye + np.clip(reach, -FAR_MM, FAR_MM)[:, None] * ray
        w = (hit[:, 1] - start[:, 0]) * run_y + (hit[:, 2] - start[:, 1]) * run_z
        before, x = x, np.clip(x + hit[:, 0], -FAR_MM, FAR_MM)
        if np.abs(x - before).max(initial=0.0) < AGREED_MM:
            break
    return x, np.where(ahead, np.clip(w, -FAR_MM, FAR_MM), FAR_MM)


@dataclass(frozen=True)
class Sights:
    """For every pixel: the sight line (x, y at z = 1), and x and w on each facet, all (height, width)."""

    lines: tuple[Array, Array]
    places: dict[int, tuple[Array, Array]]


def sights_of(lap: Lap, view: View) -> Sights:
    """Trace the picture's sight lines to all facets."""
    mesh = Mesh(view.camera.size_px)
    flat = view.camera.sight(mesh.knots())
    rays = np.concatenate([flat, np.ones((len(flat), 1))], 1) @ view.turn
    places = {}
    for name, facet in lap.facets.items():
        x, w = meet(lap.hull, facet, view.stand, rays)
        places[name] = (mesh.spread(x), mesh.spread(w))
    return Sights((mesh.spread(flat[:, 0]), mesh.spread(flat[:, 1])), places)


@dataclass(frozen=True)
class Samples:
    """Sight lines, a few to a pixel: pixel (rows, columns), the step off its centre in px."""

    row: NDArray[np.intp]
    column: NDArray[np.intp]
    step_u: Array
    step_v: Array

    def some(self, which: Mask | NDArray[np.intp]) -> "Samples":
        """Only some of them."""
        return Samples(self.row[which], self.column[which], self.step_u[which], self.step_v[which])

    def of(self, values: Array) -> Array:
        """A map's values at the samples, to first order about each pixel's centre."""
        height, width = values.shape
        at = values[self.row, self.column]
        if not self.step_u.any() and not self.step_v.any():
            return at
        rise_u = (
            values[self.row, np.minimum(self.column + 1, width - 1)] - values[self.row, np.maximum(self.column - 1, 0)]
        )
        rise_v = (
            values[np.minimum(self.row + 1, height - 1), self.column] - values[np.maximum(self.row - 1, 0), self.column]
        )
        return np.asarray(at + 0.5 * (rise_u * self.step_u + rise_v * self.step_v), np.float32)


@dataclass(frozen=True)
class Hits:
    """What the samples see: facet names (N,), places x and w (N,) on them, the same as y and z in the section."""

    facet: NDArray[np.int8]
    x: Array
    w: Array
    y: Array
    z: Array

    def of(self, which: Mask) -> "Hits":
        """Only some of them."""
        return Hits(self.facet[which], self.x[which], self.w[which], self.y[which], self.z[which])


def pick(lap: Lap, sights: Sights, samples: Samples, near_edge: bool) -> Hits:
    """The facet in front, for each sample: the plank's own before the strake's, which lies behind them all.

    Far from the lap (`near_edge` false) only the two faces are asked.
    """
    scene = lap.scene
    x, w = (samples.of(m) for m in sights.places[FACE])
    facet = np.where((w > -scene.strake_width_mm) & (w < scene.lap_mm), np.int8(FACE), np.int8(BACKGROUND))
    facet[np.abs(x) >= 0.9 * FAR_MM] = BACKGROUND

    def lay(name: int, low: float | Array, high: float | Array) -> None:
        at, over = (samples.of(m) for m in sights.places[name])
        on = (over >= low) & (over <= high)
        facet[on], x[on], w[on] = name, at[on], over[on]

    cut: float | Array = scene.chamfer_mm
    if near_edge:
        proud: float | Array = scene.thickness_mm
        if scene.gain_mm is not None:
            proud = lap.proud(samples.of(sights.places[EDGE][0])).astype(np.float32)
            cut = np.minimum(cut, 0.5 * proud)
        lay(BEVEL, 0.0, scene.lap_mm)
        if scene.eased_mm:
            lay(EASED, 0.0, scene.eased_mm * np.sqrt(2.0))
        lay(EDGE, scene.eased_mm, proud - cut)
        lay(CHAMFER, 0.0, cut * np.sqrt(2.0))
    lay(PLANK, cut, scene.plank_width_mm)
    return placed(lap, facet, x, w)


def placed(lap: Lap, facet: NDArray[np.int8], x: Array, w: Array) -> Hits:
    """Add where in the section each of the hits lies."""
    y, z = np.zeros_like(x), np.zeros_like(x)
    for name, facet_run in lap.facets.items():
        on = facet == name
        if on.any():
            at = facet_run.at(x[on], w[on])
            y[on], z[on] = at[:, 0], at[:, 1]
    return Hits(facet, x, w, y, z)
