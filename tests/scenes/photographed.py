"""Boards from photographs of real ones: what made grain is too kind to show (tests/scenes/woods)."""

import json
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.ground.light import light_of_levels
from tests.scenes.arrays import Array
from tests.scenes.wood import Board

FOLDER = Path(__file__).with_name("woods")
#: Finer along than made grain: knots and checks run across.
STEP_ALONG_MM, STEP_ACROSS_MM = 0.25, 0.14


@lru_cache(maxsize=1)
def _listed() -> dict[str, dict[str, object]]:
    listed: dict[str, dict[str, object]] = json.loads((FOLDER / "woods.json").read_text(encoding="utf-8"))
    return listed


def photographed_woods(*, left_out: bool | None = None) -> list[str]:
    """Names of the photographed boards; only those left out of training and tuning, or only the others, where given."""
    return [name for name, one in _listed().items() if left_out is None or one["left_out"] is left_out]


def draw_woods_and_line(rng: np.random.Generator, woods: Sequence[str]) -> dict[str, Any]:
    """Two photographed boards, often cut from one, and a line as hands strike it on them; values of a scene.

    One line in five is a blue or red pencil; on boards darker than graphite shows on, three in four are light.
    """
    strake = str(rng.choice(woods))
    colour = str(rng.choice(["graphite", "blue", "red"], p=[0.8, 0.12, 0.08]))
    if lightness(strake) < 0.12 and rng.random() < 0.75:
        colour = "light"
    return {
        "strake_wood": strake,
        "plank_wood": strake if rng.random() < 0.4 else str(rng.choice(woods)),
        "strake_paint": None,
        "line_colour": colour,
        "line_contrast": float(rng.uniform(0.3, 0.8)),
        "line_hard": float(rng.uniform(0.0, 0.6)),
        "line_double": float(rng.uniform(0.05, 0.3)) if rng.random() < 0.15 else 0.0,
        "line_smear": float(rng.uniform(0.05, 0.2)) if rng.random() < 0.15 else 0.0,
    }


@lru_cache(maxsize=64)
def lightness(name: str) -> float:
    """The middle amount of light, 0 to 1, that a photographed board throws back."""
    return float(np.median(light_of_levels(_picture(name)[::4, ::4]).mean(axis=2)))


@lru_cache(maxsize=4)
def _picture(name: str) -> Array:
    return np.asarray(cv2.imread(str(FOLDER / f"{name}.jpg"), cv2.IMREAD_COLOR))


@lru_cache(maxsize=6)
def photographed(
    seed: int, name: str, drift_deg: float, span_mm: tuple[float, float], height_mm: tuple[float, float]
) -> Board:
    """A photographed board laid over `span_mm` along and `height_mm` across.

    Its scale, the part that shows, which way up it lies and how light the picture was taken are drawn; what reaches
    beyond the picture is mirrored. Grain runs `drift_deg` off the lap, besides its own.
    """
    rng = np.random.default_rng([seed, 37])
    picture = _picture(name)
    if rng.random() < 0.5:
        picture = cv2.flip(picture, int(rng.integers(-1, 2)))
    mm_px = float(str(_listed()[name]["mm_px"])) * float(np.exp(rng.uniform(-0.2, 0.2)))
    along = np.arange(int((span_mm[1] - span_mm[0]) / STEP_ALONG_MM), dtype=np.float32) * STEP_ALONG_MM
    across = np.arange(int((height_mm[1] - height_mm[0]) / STEP_ACROSS_MM), dtype=np.float32) * STEP_ACROSS_MM
    lean = np.float32(np.tan(np.radians(drift_deg)))
    off_u, off_v = (float(rng.uniform(0.0, 2.0 * size)) for size in picture.shape[1::-1])
    u = along[None] / mm_px + np.float32(off_u) + 0.0 * across[:, None]
    v = (across[:, None] + lean * (along[None] - along.mean())) / mm_px + np.float32(off_v)
    laid = cv2.remap(
        light_of_levels(picture) * np.float32(np.exp(rng.normal(0.0, 0.15))),
        _mirrored(u, picture.shape[1]),
        _mirrored(v, picture.shape[0]),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return Board(np.clip(laid, 0.004, 0.95), (span_mm[0], height_mm[0]), (STEP_ALONG_MM, STEP_ACROSS_MM))


def _mirrored(at: Array, size: int) -> Array:
    """Places folded into 0 … size − 1, there and back."""
    folded = np.mod(at, 2.0 * (size - 1))
    return np.asarray(np.minimum(folded, 2.0 * (size - 1) - folded), np.float32)
