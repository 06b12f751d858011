"""Where the camera stands, and what each pixel's sight line meets."""

from dataclasses import dataclass

import numpy as np

from tests.scenes.arrays import Array, Mask
from tests.scenes.cameras import Camera
from tests.scenes.hull import Hull
from tests.scenes.scene import Scene


@dataclass(frozen=True)
class View:
    """The camera in the face frame: `turn` (3, 3) is camera_from_face, `stand` (3,) the camera's centre in mm."""

    camera: Camera
    turn: Array
    stand: Array

    def project(self, points: Array) -> Array:
        """Pixels (N, 2) of points (N, 3) in the face frame."""
        return self.camera.project((points - self.stand) @ self.turn.T)

    def in_field(self, points: Array) -> Mask:
        """Which points (N, 3) of the face frame the lens can see."""
        return self.camera.in_field((points - self.stand) @ self.turn.T)


def view_of(scene: Scene, hull: Hull) -> View:
    """The camera of a scene, aimed at its point of the face; keel up is the camera turned by 180°."""
    elevation, azimuth = np.radians(scene.elevation_deg), np.radians(scene.azimuth_deg)
    back = np.array(
        [np.sin(azimuth) * np.cos(elevation), np.sin(elevation), np.cos(azimuth) * np.cos(elevation)],
    )
    aim = hull.face(np.array(scene.aim_mm[0]), np.array(scene.aim_mm[1]), np.array(0.0))
    right = np.cross([0.0, 1.0, 0.0], back)
    right /= np.linalg.norm(right)
    upright = np.stack([right, np.cross(-back, right), -back])
    roll = np.radians(scene.roll_deg + 180.0 * scene.keel_up)
    spin = np.array([[np.cos(roll), np.sin(roll), 0.0], [-np.sin(roll), np.cos(roll), 0.0], [0.0, 0.0, 1.0]])
    return View(scene.camera, spin @ upright, aim + scene.distance_mm * back)


@dataclass(frozen=True)
class Mesh:
    """A coarse net of pixels: values found at its knots are carried to every pixel by 4-point Lagrange polynomials.

    What a smooth facet's sight lines meet is smooth in (u, v), so a net of 16 px is exact to about 1e-4 mm and costs
    one matrix product instead of a ray per pixel.
    """

    size_px: tuple[int, int]
    step_px: int = 16

    def knots(self) -> Array:
        """Pixels (rows * columns, 2) of the net, which overhangs the picture by two steps."""
        u, v = (self._line(n) for n in self.size_px)
        return np.stack(np.meshgrid(u, v), -1).reshape(-1, 2)

    def spread(self, values: Array) -> Array:
        """Values (rows * columns,) at the knots, carried to all pixels (height, width)."""
        columns, rows = (len(self._line(n)) for n in self.size_px)
        across, down = (self._weights(n) for n in self.size_px)
        net = values.reshape(rows, columns).astype(np.float32)
        return np.asarray(down @ net @ across.T, np.float32)

    def _line(self, n: int) -> Array:
        return self.step_px * np.arange(-2.0, n // self.step_px + 4)

    def _weights(self, n: int) -> Array:
        at = np.arange(n) / self.step_px + 2.0
        first = np.floor(at).astype(int) - 1
        weights = np.zeros((n, len(self._line(n))))
        for k in range(4):
            others = [j for j in range(4) if j != k]
            weights[np.arange(n), first + k] = np.prod([(at - first - j) / (k - j) for j in others], axis=0)
        return weights.astype(np.float32)
