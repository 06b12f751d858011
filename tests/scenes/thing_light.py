"""Things in the light: their look, the shadows they throw, the dark at their feet."""

import numpy as np

from tests.scenes.arrays import Array, Mask
from tests.scenes.lap import FACE, Lap
from tests.scenes.light import lit, section_light
from tests.scenes.things import Thing
from tests.scenes.trace import Hits, Samples, Sights
from tests.scenes.view import View

RAYS = np.array([[0.0, 0.0], [0.7, 0.3], [-0.3, 0.7], [-0.7, -0.3], [0.3, -0.7]])


def _near(thing: Thing, x: Array, y: Array, reach_mm: float) -> Mask:
    far = reach_mm + 0.5 * float(np.hypot(thing.size_mm[0], thing.size_mm[1]))
    return (np.abs(x - thing.place_mm[0]) < far) & (np.abs(y - thing.place_mm[1]) < far)


def shadowed(lap: Lap, things: list[Thing], hits: Hits) -> Array:
    """Share (N,) of the light that the things let through, averaged over five points of the lamp."""
    share = np.ones(len(hits.x), np.float32)
    spread = np.tan(np.radians(lap.scene.penumbra_deg))
    for thing in things:
        near = _in_shade(lap, thing, hits, spread)
        if not near.any():
            continue
        under = hits.of(near)
        start = (np.stack([under.x, under.y, under.z], -1) - np.array(thing.place_mm)) @ thing.axes.T
        light = np.stack(section_light(lap, under.x), -1)
        blocked = np.zeros(len(start), np.float32)
        for du, dv in RAYS:
            toward = light + spread * (np.array([du, dv, 0.0]))
            hit, _, reach = thing.enters(start, toward @ thing.axes.T)
            blocked += (hit & (reach > 1e-6)) * np.float32(1.0 / len(RAYS))
        share[near] *= 1.0 - blocked
    return share


def _in_shade(lap: Lap, thing: Thing, hits: Hits, spread: float) -> Mask:
    """Hits in the rectangle of the face that a thing's shadow may reach: a quick sieve."""
    corners = thing.corners()
    lx, ly, lz = (float(c[0]) for c in section_light(lap, np.array([thing.place_mm[0]], np.float32)))
    drop = (corners[:, 2:] + 6.0) / max(lz, 0.05)
    cast = np.concatenate([corners[:, :2], corners[:, :2] - drop * np.array([lx, ly])])
    rim = 1.0 + spread * float(drop.max())
    low, high = cast.min(0) - rim, cast.max(0) + rim
    return (hits.x > low[0]) & (hits.x < high[0]) & (hits.y > low[1]) & (hits.y < high[1])


def open_sky(lap: Lap, things: list[Thing], hits: Hits) -> Array:
    """Share (N,) of light left at the foot of a thing: a long low wall, as at the plank's edge."""
    share = np.ones(len(hits.x), np.float32)
    for thing in things:
        high = thing.size_mm[2]
        near = _near(thing, hits.x, hits.y, 4.0 * high)
        if not near.any():
            continue
        point = np.stack([hits.x[near], hits.y[near], hits.z[near]], -1) - np.array(thing.place_mm)
        own = np.abs(point @ thing.axes.T)
        beyond = np.maximum(own[:, :2] - 0.5 * np.array(thing.size_mm[:2]), 0.0)
        away = np.hypot(np.hypot(beyond[:, 0], beyond[:, 1]), np.maximum(own[:, 2] - high, 0.0))
        share[near] *= 1.0 - 0.3 * (1.0 - away / np.hypot(away, high))
    return share


def lay_things(
    lap: Lap, view: View, things: list[Thing], outlines: list[Mask], sights: Sights, samples: Samples, light: Array
) -> Mask:
    """Paint into `light` (N, 3) what the samples see of the things, the nearest last; returns which (N,) see any.

    `outlines` are pixels (height, width) outside which each thing is not to be seen.
    """
    nearest = np.full(len(light), np.inf, np.float32)
    for thing, outline in zip(things, outlines, strict=True):
        asked = np.nonzero(outline[samples.row, samples.column])[0]
        if not len(asked):
            continue
        some = samples.some(asked)
        x = np.array(thing.place_mm[0])
        origin, along, toward_sheer, outward = lap.hull.axes(x)
        frame = thing.axes @ np.stack([along, toward_sheer, outward])
        middle = origin + thing.place_mm[1] * toward_sheer + thing.place_mm[2] * outward
        turn = (view.turn @ frame.T).astype(np.float32)
        rays = some.of(sights.lines[0])[:, None] * turn[0] + some.of(sights.lines[1])[:, None] * turn[1] + turn[2]
        hit, at, reach = thing.enters(frame @ (view.stand - middle), rays)
        hit &= reach < nearest[asked]
        if hit.any():
            nearest[asked[hit]] = reach[hit]
            light[asked[hit]] = _thing_light(lap, thing, at[hit].astype(np.float32))
    return np.isfinite(nearest)


def _thing_light(lap: Lap, thing: Thing, at: Array) -> Array:
    """Light (N, 3) off points (N, 3) of a thing's surface, in its own axes."""
    scene = lap.scene
    warm = np.array([1.0 - scene.warmth, 1.0, 1.0 + scene.warmth], np.float32)
    place = (np.array(thing.place_mm) + at @ thing.axes).astype(np.float32)
    hits = Hits(np.full(len(at), np.int8(FACE)), place[:, 0], place[:, 1], place[:, 1], place[:, 2])
    lx, ly, lz = section_light(lap, hits.x)
    normal = thing.normals(at)
    slant = np.maximum(0.0, normal[:, 0] * lx + normal[:, 1] * ly + normal[:, 2] * lz) / max(0.2, float(lz.mean()))
    through = lit(lap, hits) if place[:, 2].max() < 3.0 else np.float32(1.0)
    direct = scene.light_share * slant * through
    ambient = (1.0 - scene.light_share) * (0.55 + 0.45 * normal[:, 2])
    return np.asarray(thing.print_at(at) * (direct[:, None] * warm + ambient[:, None] * warm[::-1]), np.float32)
