"""Shading by one light and the sky: facets, the plank's shadow, the dark of the corner."""

import numpy as np

from tests.scenes.arrays import Array
from tests.scenes.lap import BEVEL, CHAMFER, EASED, EDGE, FACE, PLANK, Lap
from tests.scenes.trace import Hits

BOUNCE = 0.35
#: An eased corner looks down at the strake, 45 degrees off it: 0.146 of what it sees is sky, (1 - cos 45) / 2; the rest
#: is the strake close by, which lies in the dark of the corner itself.
UNDER_EASED = 0.146 + 0.854 * BOUNCE * 0.4
#: Planks touch at no line: behind a closed corner light goes on for so much.
LEAST_OPENING_MM = 0.02


def light_from(lap: Lap) -> Array:
    """Unit vector (3,) toward the light, in the face frame."""
    slant, turn = np.radians(lap.scene.light_slant_deg), np.radians(lap.scene.light_from_deg)
    return np.array([np.sin(slant) * np.sin(turn), np.sin(slant) * np.cos(turn), np.cos(slant)])


def section_light(lap: Lap, x: Array) -> tuple[Array, Array, Array]:
    """Components of the light along x, y, z (N,) in the sections at x: the hull bends and turns under it."""
    lx, ly, lz = light_from(lap)
    bend = x / lap.scene.radius_mm
    turn = np.radians(lap.scene.twist_deg_per_m) * x / 1000.0
    out = lz + bend * lx
    return lx - bend * lz, ly + turn * out, out - turn * ly


def lit(lap: Lap, hits: Hits) -> Array:
    """Share (N,) of the light that the plank lets through to the strake.

    The shadow is that of the outer corner, half way down its chamfer; its penumbra grows with the height above.
    """
    share = np.ones(len(hits.x), np.float32)
    reach = 1.3 * (lap.scene.thickness_mm + 2.0) * max(1.0, np.tan(np.radians(lap.scene.light_slant_deg + 8.0)))
    low = (hits.facet <= BEVEL) & (hits.y > lap.scene.line_y_mm - 30.0 - reach)
    if not low.any():
        return share
    under = hits.of(low)
    lx, ly, lz = section_light(lap, under.x)
    lz = np.maximum(lz, 0.05)
    corner = lap.outer(under.x)
    toward = under.x + (corner[:, 1] - under.z) * lx / lz
    corner = lap.outer(toward) + 0.29 * lap.cut(toward) * (lap.toward_sheer - lap.outward)
    rise = corner[:, 1] - under.z
    clear = corner[:, 0] - (under.y + rise * ly / lz)
    soft = 0.05 + np.abs(rise) / lz**2 * np.tan(np.radians(lap.scene.penumbra_deg))
    step = np.clip(0.5 + 0.5 * clear / soft, 0.0, 1.0)
    share[low] = step * step * (3.0 - 2.0 * step) * _into_slit(lap, under, ly, lz)
    return share


def _depth(lap: Lap, hits: Hits) -> Array:
    """How far (N,) under the plank: along the lap, in from the inner corner."""
    inner = lap.inner(hits.x)
    off_y, off_z = hits.y - inner[:, 0], hits.z - inner[:, 1]
    return np.asarray(off_y * lap.toward_sheer[0] + off_z * lap.toward_sheer[1])


def _into_slit(lap: Lap, hits: Hits, ly: Array, lz: Array) -> Array:
    """Light from the keel side reaches under the plank as far as the opening lets it."""
    depth = _depth(lap, hits) - lap.scene.eased_mm
    reach = (lap.mouth(hits.x) + lap.scene.eased_mm) * np.maximum(-ly, 0.0) / lz
    return np.asarray(np.where(depth > 0.0, np.clip(0.5 + (reach - depth) / 0.1, 0.0, 1.0), 1.0))


def sky(lap: Lap, hits: Hits) -> Array:
    """Share (N,) of the sky's light, with a little thrown back by the neighbour: form factors of a long step.

    A point at d from a wall of height h loses half of 1 − d / √(d² + h²); a point on the wall sees half a sky.
    """
    share = np.ones(len(hits.x), np.float32)
    low = hits.facet <= BEVEL
    if low.any():
        under = hits.of(low)
        depth = _depth(lap, under)
        far = np.maximum(-depth, 0.0)
        lost = 0.5 * (1.0 - far / np.hypot(far, lap.proud(under.x)))
        share[low] = (1.0 - (1.0 - BOUNCE) * lost) * _under(
            np.maximum(depth, 0.0), lap.mouth(under.x), lap.scene.eased_mm
        )
    wall = (hits.facet == EDGE) | (hits.facet == EASED)
    height = np.maximum(hits.w[wall], 0.0)
    share[wall] = 0.5 + 0.5 * BOUNCE * (0.55 + 0.45 * height / (height + 3.0))
    share[hits.facet == EASED] = UNDER_EASED
    share[hits.facet == CHAMFER] = 0.85
    return share


def _under(depth: Array, opening: Array, eased_mm: float) -> Array:
    """What a place ``depth`` (N,) under the plank sees of the sky, over what it sees at the mouth.

    Over it stand the end of the edge face, ``opening`` and ``eased_mm`` out, and the end of the easing, as far in as it
    is wide; the lower of the two ends what it sees. A strip of sky up to the angle a from the floor counts (1 - cos a).
    """
    lip = depth / np.maximum(opening + eased_mm, LEAST_OPENING_MM)
    inner = np.maximum(depth - eased_mm, 0.0) / np.maximum(opening, LEAST_OPENING_MM)
    flat = np.maximum(lip, inner)
    return np.asarray(1.0 - flat / np.sqrt(1.0 + flat * flat))


def irradiance(lap: Lap, hits: Hits, through: Array, open_sky: Array) -> Array:
    """Light (N, 3) as BGR falling on the samples, 1 on an unshaded face square to the sky; `through` and `open_sky`
    (N,) are what things lying there leave of the light and of the sky."""
    scene = lap.scene
    _, ly, lz = section_light(lap, hits.x)
    slant = np.zeros(len(hits.x), np.float32)
    for name in (FACE, BEVEL, EASED, EDGE, CHAMFER, PLANK):
        on = hits.facet == name
        normal = lap.facets[name].normal
        slant[on] = np.maximum(0.0, normal[0] * ly[on] + normal[1] * lz[on])
    direct = scene.light_share * slant / max(0.2, light_from(lap)[2]) * lit(lap, hits) * through
    ambient = (1.0 - scene.light_share) * sky(lap, hits) * open_sky
    warm = np.array([1.0 - scene.warmth, 1.0, 1.0 + scene.warmth], np.float32)
    return np.asarray(direct[:, None] * warm + ambient[:, None] * warm[::-1], np.float32)
