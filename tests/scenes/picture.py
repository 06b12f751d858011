"""A scene photographed: sight lines, shading, things in front, then the sensor."""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.scenes.arrays import Array, Mask, Pixels
from tests.scenes.cameras import Camera
from tests.scenes.lap import BEVEL, EDGE, FACE, PLANK, Lap
from tests.scenes.light import irradiance
from tests.scenes.marks import Marks
from tests.scenes.photographed import photographed
from tests.scenes.scene import Scene
from tests.scenes.sensor import develop, file_of, pixels_of
from tests.scenes.stands_out import line_stands_out
from tests.scenes.surroundings import background
from tests.scenes.thing_light import lay_things, open_sky, shadowed
from tests.scenes.things import Thing, things_of
from tests.scenes.trace import BACKGROUND, Hits, Samples, Sights, pick, sights_of
from tests.scenes.truth import truth_of
from tests.scenes.view import View, view_of
from tests.scenes.wood import SPECIES, Board, board, painted

CHUNK = 400_000
# Nine rooks: each sample has a row and a column of its own, so an edge lying along the rows is cut in ninths.
ROOKS = (np.array([[0, 4], [1, 8], [2, 1], [3, 5], [4, 0], [5, 7], [6, 3], [7, 6], [8, 2]], np.float32) - 4.0) / 9.0


@dataclass(frozen=True)
class Made:
    """A made photograph: BGR pixels as read back from its JPEG `file`, its truth, its camera and scene."""

    scene: Scene
    camera: Camera
    pixels: Pixels
    truth: dict[str, Any]
    file: bytes


def render(scene: Scene) -> Made:
    """Photograph a scene.

    >>> from tests.scenes.cameras import WREN
    >>> made = render(Scene(seed=3, camera=WREN, board_mm=(-300.0, 300.0)))
    >>> made.pixels.shape
    (600, 800, 3)
    >>> sorted(made.truth["samples"][0])[:3]
    ['along_mm', 'edge_px', 'gap_mm']
    """
    pixels = develop(scene, *light_of(scene))
    lap = Lap(scene)
    file = file_of(pixels, scene.camera, scene.jpeg_quality)
    truth, seen = truth_of(lap, view_of(scene, lap.hull)), pixels_of(file)
    if len(truth["samples"]) > 1:
        truth["line_stands_out"] = round(line_stands_out(seen, truth), 2)
    return Made(scene, scene.camera, seen, truth, file)


def light_of(scene: Scene) -> tuple[Array, Array]:
    """The light (height, width, 3) that reaches the lens of each pixel, linear BGR, and how far off it starts (mm)."""
    lap = Lap(scene)
    view = view_of(scene, lap.hull)
    painter = Painter(lap, view, sights_of(lap, view))
    width, height = scene.camera.size_px
    light = background(scene)
    fine = painter.needs_care()
    for near, steps in ((False, np.zeros((1, 2), np.float32)), (True, ROOKS)):
        rows, columns = np.nonzero(fine == near)
        each = CHUNK // len(steps)
        for k in range(0, len(rows), each):
            row, column = rows[k : k + each], columns[k : k + each]
            light[row, column] = painter.paint(row, column, steps, near, light[row, column])
    return light, painter.distance().reshape(height, width)


def _board(scene: Scene, number: int, wood: str, drift_deg: float, height_mm: tuple[float, float]) -> Board:
    """The board of a made or a photographed wood."""
    if wood in SPECIES:
        return board(scene.seed + number, wood, drift_deg, scene.grain, scene.board_mm, height_mm)
    return photographed(scene.seed + number, wood, drift_deg, scene.board_mm, height_mm)


class Painter:
    """Colours samples of one view."""

    def __init__(self, lap: Lap, view: View, sights: Sights) -> None:
        self.lap, self.view, self.sights = lap, view, sights
        self.things: list[Thing] = things_of(lap)
        self.outlines = [self._outline(thing) for thing in self.things]
        scene = lap.scene
        span = scene.board_mm
        self.strake = _board(scene, 0, scene.strake_wood, scene.strake_drift_deg, (-200.0, 40.0))
        self.plank = _board(scene, 1, scene.plank_wood, scene.plank_drift_deg, (-30.0, 200.0))
        self.paint_on: Board | None = None
        if scene.strake_paint:
            self.paint_on = painted(scene.seed, scene.strake_paint, span, (-200.0, 40.0))
        self.marks = Marks(lap, self.paint_on or self.strake)

    def needs_care(self) -> Mask:
        """Pixels (height, width) that hold an edge or a mark, where one sample is not enough."""
        scene = self.lap.scene
        x, w = self.sights.places[FACE]
        on_plank = self.sights.places[PLANK][1]
        lean = max(0.0, np.tan(np.radians(scene.elevation_deg + 10.0)))
        low = max(0.0, scene.past_mm + scene.past_wander_mm) + scene.thickness_mm * lean + 4.0
        care = (w > -low) & (on_plank < 2.0)
        if scene.witness_mm:
            care |= np.abs(w + scene.witness_mm) < 2.0
        if scene.old_line_mm is not None:
            care |= np.abs(w + scene.old_line_mm - np.tan(np.radians(scene.old_line_slope_deg)) * x) < 2.0
        for tick in scene.ticks_mm:
            care |= (np.abs(x - tick) < 2.5) & (np.abs(w) < 32.0)
        for outline in self.outlines:
            care |= outline
        return care

    def _outline(self, thing: Thing) -> Mask:
        corner = thing.corners()
        seen = self.view.project(self.lap.hull.face(corner[:, 0], corner[:, 1], corner[:, 2]))
        mask = np.zeros(self.sights.lines[0].shape, np.uint8)
        cv2.fillConvexPoly(mask, cv2.convexHull(np.clip(seen, -20000, 20000).astype(np.int32)), 1)
        return cv2.dilate(mask, np.ones((9, 9), np.uint8)).astype(bool)

    def paint(self, row: NDArray[np.intp], column: NDArray[np.intp], steps: Array, near: bool, behind: Array) -> Array:
        """Light (N, 3) of pixels (N,), as the mean of samples at `steps` (S, 2) px off their centres."""
        count, kinds = len(row), len(steps)
        samples = Samples(
            np.repeat(row, kinds), np.repeat(column, kinds), np.tile(steps[:, 0], count), np.tile(steps[:, 1], count)
        )
        light = np.repeat(behind, kinds, axis=0)
        bare = np.ones(len(light), bool)
        if near and self.things:
            bare = ~lay_things(self.lap, self.view, self.things, self.outlines, self.sights, samples, light)
            samples = samples.some(bare)
        hits = pick(self.lap, self.sights, samples, near)
        solid = hits.facet != BACKGROUND
        seen = hits.of(solid)
        through = shadowed(self.lap, self.things, seen)
        lit = irradiance(self.lap, seen, through, open_sky(self.lap, self.things, seen))
        light[np.nonzero(bare)[0][solid]] = self.shade(seen) * lit
        return light.reshape(count, kinds, 3).mean(1)

    def shade(self, hits: Hits) -> Array:
        """Reflectance (N, 3): wood or paint, and what is drawn on it."""
        scene = self.lap.scene
        shade = np.zeros((len(hits.x), 3), np.float32)
        plank_mm = (hits.x + scene.plank_at_mm).astype(np.float32)
        low = hits.facet <= BEVEL
        x, off = hits.x[low], hits.w[low]
        y = (off + self.lap.line_y(x)).astype(np.float32)
        wood = self.strake.at(plank_mm[low], y - scene.line_y_mm)
        if self.paint_on is not None:
            coat = self.paint_on.at(plank_mm[low], y - scene.line_y_mm)
            bare = (hits.facet[low] == BEVEL) & scene.bevel_bare
            wood = np.where(bare[:, None], wood, coat)
        shade[low] = self.marks.upon(wood, x, off, y)
        face = hits.facet == PLANK
        shade[face] = self.plank.at(plank_mm[face], hits.w[face])
        edge = ~low & ~face
        inward = np.where(hits.facet[edge] == EDGE, hits.w[edge], 0.0) - 25.0
        shade[edge] = self.plank.at(plank_mm[edge], inward.astype(np.float32))
        return shade

    def distance(self) -> Array:
        """How far (mm) along the axis each pixel's sight line runs to the face, flat everywhere."""
        u, v = self.sights.lines
        out = self.view.turn[:, 2]
        return np.asarray(-self.view.stand[2] / np.minimum(out[0] * u + out[1] * v + out[2], -0.05), np.float32)
