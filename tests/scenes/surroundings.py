"""What lies beyond the planks: a floor out of focus, or a wall."""

import cv2
import numpy as np

from tests.scenes.arrays import Array
from tests.scenes.scene import Scene


def background(scene: Scene) -> Array:
    """Light (height, width, 3) of the surroundings, linear BGR."""
    rng = np.random.default_rng([scene.seed, 71])
    width, height = scene.camera.size_px
    grey = np.exp(rng.uniform(np.log(0.03), np.log(0.4)))
    tint = np.exp(rng.normal(0.0, 0.06, 3))
    if scene.elevation_deg < -40.0 and rng.random() < 0.6:
        return np.broadcast_to((0.4 + 0.3 * rng.random()) * tint, (height, width, 3)).astype(np.float32)
    mottle = np.zeros((height, width), np.float32)
    for cell, weight in ((160, 0.3), (50, 0.25), (14, 0.2)):
        coarse = rng.standard_normal((height // cell + 3, width // cell + 3), dtype=np.float32)
        mottle += np.float32(weight) * cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    for _ in range(int(rng.integers(0, 9))):
        lean = rng.normal(0.0, 120.0)
        at = rng.uniform(-0.1, 1.1) * width
        ends = ((round(at), 0), (round(at + lean), height))
        seam = np.zeros((height, width), np.uint8)
        cv2.line(seam, *ends, 255, 3)
        mottle -= cv2.GaussianBlur(seam, (0, 0), 2.5).astype(np.float32) / 255.0
    return np.asarray((grey * np.exp(0.6 * mottle))[..., None] * tint, np.float32)
