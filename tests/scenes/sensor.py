"""From light to the file: blur, vignette, noise, the camera's curve, sharpening, JPEG."""

import io

import cv2
import numpy as np
from PIL import Image

from tests.scenes.arrays import Array, Pixels
from tests.scenes.cameras import Camera
from tests.scenes.scene import Scene


def develop(scene: Scene, light: Array, far_mm: Array) -> Pixels:
    """Pixels (height, width, 3) BGR of the light (height, width, 3) at the lens; `far_mm` is for the focus."""
    rng = np.random.default_rng([scene.seed, 61, round(scene.plank_at_mm)])
    light = cv2.GaussianBlur(light, (0, 0), scene.blur_px)
    if scene.defocus_px_per_100mm:
        light = _defocused(light, far_mm - scene.distance_mm, scene.defocus_px_per_100mm)
    middle = [slice(n // 4, 3 * n // 4, 4) for n in light.shape[:2]]
    light *= (scene.exposure / light[middle[0], middle[1]].mean() * _vignette(scene))[..., None]
    light += _noise(rng, light, scene.noise_dn)
    shown = _srgb(np.clip(light, 0.0, 1.0))
    if scene.sharpen:
        shown = np.clip(shown + scene.sharpen * (shown - cv2.GaussianBlur(shown, (0, 0), 1.4)), 0.0, 1.0)
    return np.asarray(np.round(255.0 * shown), np.uint8)


def _defocused(light: Array, off_mm: Array, px_per_100mm: float) -> Array:
    """Mix a sharp and a soft copy so that the variance of the blur grows as the square of the distance off focus."""
    soft_px = 2.5
    variance = np.minimum((px_per_100mm * off_mm / 100.0) ** 2 / soft_px**2, 1.0)[..., None]
    return np.asarray(light * (1.0 - variance) + variance * cv2.GaussianBlur(light, (0, 0), soft_px), np.float32)


def _vignette(scene: Scene) -> Array:
    width, height = scene.camera.size_px
    u = (np.arange(width, dtype=np.float32) - scene.camera.centre_px[0]) / (0.5 * width)
    v = (np.arange(height, dtype=np.float32) - scene.camera.centre_px[1]) / (0.5 * width)
    return np.asarray(1.0 - scene.vignette * (u[None] ** 2 + v[:, None] ** 2) / 1.56, np.float32)


def _noise(rng: np.random.Generator, light: Array, noise_dn: float) -> Array:
    """Shot and read noise, `noise_dn` steps of the 8-bit file at mid grey, half shared by the colours and spread over
    neighbours as demosaicing leaves it."""
    grey = 0.2
    slope = 255.0 * 1.055 / 2.4 * grey ** (1.0 / 2.4 - 1.0)
    spread = np.float32(noise_dn / slope)
    level = spread * np.sqrt(0.85 * np.clip(light, 0.0, 1.0) / grey + 0.15)
    shared = rng.standard_normal((*light.shape[:2], 1), dtype=np.float32)
    own = rng.standard_normal(light.shape, dtype=np.float32)
    mixed = cv2.GaussianBlur(0.8 * shared + 0.6 * own, (0, 0), 0.65)
    return np.asarray(level * mixed / mixed[::4, ::4].std(), np.float32)


def _srgb(light: Array) -> Array:
    table = np.linspace(0.0, 1.0, 8193)
    curve = np.where(table <= 0.0031308, 12.92 * table, 1.055 * table ** (1 / 2.4) - 0.055).astype(np.float32)
    return np.asarray(curve[(light * 8192.0 + 0.5).astype(np.int32)])


def file_of(pixels: Pixels, camera: Camera, quality: int) -> bytes:
    """A JPEG file as a phone writes it: colour at half resolution, camera named in its EXIF."""
    exif = Image.Exif()
    exif[271], exif[272], exif[274], exif[305] = camera.make, camera.model, 1, "made picture (invented)"
    inside = exif.get_ifd(0x8769)
    inside[36867], inside[37386], inside[41989] = "2026:11:10 17:20:00", camera.focal_mm, camera.focal_35mm
    held = io.BytesIO()
    Image.fromarray(pixels[..., ::-1]).save(held, "JPEG", quality=quality, subsampling=2, exif=exif)
    return held.getvalue()


def pixels_of(file: bytes) -> Pixels:
    """The pixels (height, width, 3) BGR that a reader gets back from the file."""
    return np.asarray(cv2.imdecode(np.frombuffer(file, np.uint8), cv2.IMREAD_COLOR), np.uint8)
