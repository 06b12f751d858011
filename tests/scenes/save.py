"""A made photograph to a folder: the JPEG, its truth beside it, its camera in cameras/."""

import json
import os
from pathlib import Path
from typing import Any

import numpy as np

from tests.scenes.cameras import Camera
from tests.scenes.picture import Made


def save(made: Made, folder: Path | str, name: str) -> Path:
    """Write NAME.jpg, NAME.json and cameras/CAMERA.json; returns the photograph's path.

    The first letter of `name` is what a scorer sorts by: d for a lap, e for an edge-on view.
    """
    folder = Path(folder)
    (folder / "cameras").mkdir(parents=True, exist_ok=True)
    _write(folder / f"{name}.jpg", made.file)
    _write(folder / f"{name}.json", _text({"name": name, **made.truth}))
    _write(folder / "cameras" / f"{made.camera.name}.json", _text(camera_file(made.camera)))
    return folder / f"{name}.jpg"


def camera_file(camera: Camera) -> dict[str, Any]:
    """The camera's file: the true camera, stated as well known as a good calibration knows one."""
    deviations = np.array([0.4, 0.4, 0.6, 0.6, 0.001, 0.003, 0.0001, 0.0001, 0.003])
    return {
        "schema": 1,
        "camera_matrix": camera.matrix.tolist(),
        "distortion": list(camera.distortion),
        "size_px": list(camera.size_px),
        "covariance": np.diag(deviations**2).tolist(),
        "identity": {
            "make": camera.make,
            "model": camera.model,
            "focal_mm": camera.focal_mm,
            "focal_35mm_mm": float(camera.focal_35mm),
        },
        "inputs": [],
        "quality": {},
    }


def _text(content: dict[str, Any]) -> bytes:
    return json.dumps(content, indent=1).encode()


def _write(path: Path, content: bytes) -> None:
    part = path.with_suffix(path.suffix + ".part")
    part.write_bytes(content)
    os.replace(part, path)
