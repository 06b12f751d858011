"""Things lying on the lap: cards, rules, station cards, clamps; each a box, seen and shading truly."""

from dataclasses import dataclass

import numpy as np

from tests.scenes import prints
from tests.scenes.arrays import Array, Mask
from tests.scenes.lap import Lap
from tests.scenes.scene import Scene
from tests.scenes.wood import remap_list

CARD_MM = {
    "id1": (85.60, 53.98),
    "card-us": (88.9, 50.8),
    "card-eu": (85.0, 55.0),
    "card-jp": (91.0, 55.0),
    **prints.RULES_MM,
}
CARD_THICK_MM, RULE_THICK_MM, STATION_THICK_MM = 0.76, 1.0, 0.3
ID1_CORNER_MM = 3.18


@dataclass(frozen=True)
class Thing:
    """A box of `size_mm` whose underside's centre is at flat (x, y, z) `place_mm`; `axes` (3, 3) are its rows there.

    `shade` is printed on its top; `rounded_mm` rounds the corners of its outline.
    """

    place_mm: tuple[float, float, float]
    axes: Array
    size_mm: tuple[float, float, float]
    shade: Array
    rounded_mm: float = 0.0

    def corners(self) -> Array:
        """The eight corners (8, 3) in flat coordinates."""
        half = np.array([0.5 * self.size_mm[0], 0.5 * self.size_mm[1]])
        signs = np.array([[i, j, k] for i in (-1, 1) for j in (-1, 1) for k in (0, 1)], float)
        return np.array(self.place_mm) + (signs * np.array([half[0], half[1], self.size_mm[2]])) @ self.axes

    def enters(self, start: Array, rays: Array) -> tuple[Mask, Array, Array]:
        """Do rays (N, 3) from `start` (3,) or (N, 3), both in the box's own axes, enter it; where (N, 3); how far."""
        high = np.array([0.5 * self.size_mm[0], 0.5 * self.size_mm[1], self.size_mm[2]])
        near, far = np.full(len(rays), -np.inf), np.full(len(rays), np.inf)
        for k, low in enumerate((-high[0], -high[1], 0.0)):
            ray = np.where(np.abs(rays[:, k]) < 1e-9, 1e-9, rays[:, k])
            one, two = (low - start[..., k]) / ray, (high[k] - start[..., k]) / ray
            near, far = np.maximum(near, np.minimum(one, two)), np.minimum(far, np.maximum(one, two))
        at = start + near[:, None] * rays
        hit = (near < far) & (far > 0.0)
        if self.rounded_mm:
            over = np.abs(at[:, :2]) - (high[:2] - self.rounded_mm)
            hit &= ~((over > 0).all(-1) & (np.hypot(over[:, 0], over[:, 1]) > self.rounded_mm))
        return hit, at, near

    def print_at(self, at: Array) -> Array:
        """Reflectance (N, 3) at points (N, 3) in the box's own axes: the print on top, its paper's own at the sides."""
        rows, columns = self.shade.shape[:2]
        if rows == 1:
            return np.broadcast_to(self.shade[0, 0], (len(at), 3)).copy()
        u = (at[:, 0] / self.size_mm[0] + 0.5) * columns - 0.5
        v = (0.5 - at[:, 1] / self.size_mm[1]) * rows - 0.5
        shade = remap_list(self.shade, u.astype(np.float32), v.astype(np.float32))
        side = at[:, 2] < self.size_mm[2] - 1e-4
        shade[side] = 0.8 * self.shade[2, 2]
        return shade

    def normals(self, at: Array) -> Array:
        """Outward normals (N, 3), in flat axes, at points (N, 3) of the surface in the box's own axes."""
        half = np.array(self.size_mm) * [0.5, 0.5, 1.0]
        close = np.stack(
            [np.abs(np.abs(at[:, 0]) - half[0]), np.abs(np.abs(at[:, 1]) - half[1]), np.abs(at[:, 2] - half[2])], -1
        )
        which = close.argmin(-1)
        own = np.zeros_like(at)
        own[np.arange(len(at)), which] = np.where(which == 2, 1.0, np.sign(at[np.arange(len(at)), which]))
        return np.asarray(own @ self.axes, np.float32)


def turned(degrees: float) -> Array:
    """Rows: the axes of a thing turned counter-clockwise on the face."""
    angle = np.radians(degrees)
    return np.array([[np.cos(angle), np.sin(angle), 0.0], [-np.sin(angle), np.cos(angle), 0.0], [0.0, 0.0, 1.0]])


def on_plank(lap: Lap) -> Array:
    """Rows: x, and along and out of the plank's face in the section."""
    return np.array([[1.0, 0.0, 0.0], [0.0, *lap.toward_sheer], [0.0, *lap.outward]])


def reference_size(kind: str) -> tuple[float, float]:
    """Nominal width and height in mm of a reference kind, or of a measured one such as `88.6x50.7mm`."""
    if kind in CARD_MM:
        return CARD_MM[kind]
    width, height = kind.removesuffix("mm").split("x")
    return float(width), float(height)


def things_of(lap: Lap) -> list[Thing]:
    """Everything that lies on the lap of a scene."""
    scene = lap.scene
    found = []
    if scene.reference != "none":
        found.append(_reference(scene))
    if scene.plank_card_mm is not None:
        along, height = scene.plank_card_mm
        y, z = lap.outer(np.array(along)) + height * lap.toward_sheer
        size = CARD_MM["id1"]
        thick = (*size, CARD_THICK_MM)
        found.append(
            Thing((along, y, z), turned(-2.0) @ on_plank(lap), thick, prints.card("grey", size), ID1_CORNER_MM)
        )
    if scene.strake_card_mm is not None:
        size = CARD_MM["id1"]
        lies = (*scene.strake_card_mm, 0.0)
        found.append(Thing(lies, turned(2.5), (*size, CARD_THICK_MM), prints.card("blue", size), ID1_CORNER_MM))
    rng = np.random.default_rng([scene.seed, 53])
    for number, place in scene.stations:
        turn = turned(np.random.default_rng([scene.seed, 54, number]).uniform(-4.0, 4.0))
        x = place - scene.plank_at_mm
        y = float(lap.line_y(np.array(x))) - max(scene.witness_mm, 8.0) - 42.0
        found.append(Thing((x, y, 0.0), turn, (90.0, 60.0, STATION_THICK_MM), prints.station_card(number)))
    for at in scene.clamps_mm:
        found.extend(_clamp(lap, at, rng))
    return found


def _reference(scene: Scene) -> Thing:
    size = reference_size(scene.reference)
    true = (size[0] + scene.reference_off_mm[0], size[1] + scene.reference_off_mm[1])
    if scene.reference in prints.RULES_MM:
        face = prints.rule(scene.reference, scene.reference_style in ("white", "tan"))
        return Thing((0.0, 0.0, 0.0), turned(scene.reference_turn_deg), (*true, RULE_THICK_MM), face)
    rounded = ID1_CORNER_MM if scene.reference == "id1" else 0.0
    face = prints.card(scene.reference_style, size)
    return Thing((0.0, 0.0, 0.0), turned(scene.reference_turn_deg), (*true, CARD_THICK_MM), face, rounded)


def _clamp(lap: Lap, at: float, rng: np.random.Generator) -> list[Thing]:
    """A pad on the plank's face over its edge, a screw, and a bar that hangs down over the strake."""
    frame = on_plank(lap)
    edge = lap.outer(np.array(at))
    colours = [(168, 56, 44), (196, 160, 50), (60, 110, 70), (130, 90, 60)]
    pad_shade = prints.plain(colours[rng.integers(len(colours))])
    grey = int(rng.integers(50, 120))
    steel = prints.plain((grey, grey, grey + 10))
    wide, tall, thick = rng.uniform(22, 32), rng.uniform(26, 36), rng.uniform(8, 14)
    low = rng.uniform(-12.0, -4.0)

    def part(
        dx: float, up: float, out: float, size: tuple[float, float, float], shade: Array, turn: float = 0.0
    ) -> Thing:
        y, z = edge + up * lap.toward_sheer + out * lap.outward
        return Thing((at + dx, float(y), float(z)), turned(turn) @ frame, size, shade)

    bar = rng.uniform(110, 150)
    lean = rng.uniform(-8.0, 8.0)
    return [
        part(0.0, low + 0.5 * tall, 0.0, (wide, tall, thick), pad_shade),
        part(0.0, low + 0.5 * tall, thick, (8.0, 8.0, 25.0), steel),
        part(
            rng.uniform(-4, 4),
            low + 0.5 * tall - 0.35 * bar,
            thick + 25.0,
            (rng.uniform(12, 17), bar, 14.0),
            steel,
            lean,
        ),
    ]
