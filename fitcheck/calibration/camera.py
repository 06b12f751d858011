"""The camera and its file: JSON that a person can read and other programs can use."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, FiniteFloat, ValidationError, field_validator

from fitcheck.calibration.match import check_match, check_measurable
from fitcheck.calibration.model import PARAMETERS, Camera
from fitcheck.ground.files import read_bytes, write_json
from fitcheck.ground.refusal import WrongCall
from fitcheck.picture.identity import CameraIdentity

__all__ = ["PARAMETERS", "Camera", "as_file", "check_match", "check_measurable", "load_camera", "save_camera"]

SCHEMA = 1
#: No term of a lens, and no covariance of one, is larger: far beyond any camera, and small enough to reckon with.
MOST_TERM, MOST_COVARIANCE, MOST_SIDE_PX = 1e6, 1e12, 100_000
_Term = Annotated[FiniteFloat, Field(ge=-MOST_TERM, le=MOST_TERM)]
_Row3 = Annotated[list[_Term], Field(min_length=3, max_length=3)]
_Row9 = Annotated[
    list[Annotated[FiniteFloat, Field(ge=-MOST_COVARIANCE, le=MOST_COVARIANCE)]], Field(min_length=9, max_length=9)
]
_Side = Annotated[int, Field(gt=0, le=MOST_SIDE_PX)]


class _CameraFile(BaseModel):
    """The camera file's form; keys it does not know are passed over, so that later files still read."""

    model_config = ConfigDict(extra="ignore")

    schema_: int = Field(SCHEMA, alias="schema", ge=1, le=SCHEMA)
    camera_matrix: Annotated[list[_Row3], Field(min_length=3, max_length=3)]
    distortion: Annotated[list[_Term], Field(min_length=4, max_length=5)]
    size_px: tuple[_Side, _Side]
    covariance: Annotated[list[_Row9], Field(min_length=9, max_length=9)] | None = None
    identity: dict[str, Any] = Field(default_factory=dict)
    quality: dict[str, Any] = Field(default_factory=dict)
    inputs: list[dict[str, Any]] = Field(default_factory=list)

    @field_validator("camera_matrix")
    @classmethod
    def _is_a_pinhole(cls, rows: list[list[float]]) -> list[list[float]]:
        (fx, skew, _), (zero, fy, _), last = rows
        if min(fx, fy) <= 0 or skew or zero or last != [0, 0, 1]:
            raise ValueError("it must be [[fx, 0, cx], [0, fy, cy], [0, 0, 1]] with fx and fy above zero")
        return rows

    @field_validator("quality")
    @classmethod
    def _is_not_refused(cls, quality: dict[str, Any]) -> dict[str, Any]:
        if quality.get("verdict") == "refuse":
            raise ValueError("the verdict on this calibration is that it must not be used")
        return quality

    @field_validator("covariance")
    @classmethod
    def _is_a_covariance(cls, rows: list[list[float]] | None) -> list[list[float]] | None:
        if rows is None:
            return None
        values = np.array(rows)
        spread = np.sqrt(np.abs(np.diag(values)))
        scale = np.where(spread > 0, spread, 1.0)  # a term that was held has no spread
        scaled = values / np.outer(scale, scale)
        if not np.allclose(scaled, scaled.T, atol=1e-6) or np.linalg.eigvalsh((scaled + scaled.T) / 2).min() < -1e-6:
            raise ValueError("it must be symmetric, with no negative variance")
        return rows


def load_camera(path: str | os.PathLike[str]) -> Camera:
    """The camera kept in the file at ``path``.

    Raises :class:`WrongCall` where there is no such file or it is no camera file; the words say which entry is wrong.
    """
    path = Path(path)
    data = read_bytes(path, "the camera file")
    try:
        read = json.loads(data)
        json.dumps(read, ensure_ascii=False).encode()  # raises for a half of a letter, which nothing can print or keep
        kept = _CameraFile.model_validate(read)
        identity = CameraIdentity.from_json(kept.identity)
        camera = Camera(
            matrix=np.array(kept.camera_matrix, float),
            distortion=np.array([*kept.distortion, 0.0][:5], float),
            size_px=kept.size_px,
            covariance=None if kept.covariance is None else np.array(kept.covariance, float),
            identity=identity,
            quality=kept.quality,
            inputs=tuple(kept.inputs),
            path=path,
            digest=hashlib.sha256(data).hexdigest(),
        )
        _check_centre(camera)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "it"
        raise _unusable(path, f"{where}: {first['msg']}") from error
    except (ValueError, RecursionError) as error:
        raise _unusable(path, str(error)) from error
    return camera


def save_camera(camera: Camera, path: str | os.PathLike[str], **more: Any) -> Path:
    """Write the camera file whole or not at all; ``more`` are further top-level entries.

    Raises :class:`WrongCall` where it cannot be written; see :func:`fitcheck.ground.files.write_bytes`.

    >>> import tempfile
    >>> camera = Camera(np.array([[800.0, 0, 330], [0, 801, 236], [0, 0, 1]]), np.zeros(5), (640, 480))
    >>> load_camera(save_camera(camera, Path(tempfile.mkdtemp()) / "dory.json")).size_px
    (640, 480)
    """
    return write_json(path, {**as_file(camera), **more})


def as_file(camera: Camera) -> Mapping[str, Any]:
    """The camera as its file writes it."""
    covariance = camera.covariance
    deviations = None
    if covariance is not None:
        deviations = dict(zip(PARAMETERS, np.sqrt(np.maximum(np.diag(covariance), 0.0)).tolist(), strict=True))
    return {
        "schema": SCHEMA,
        "camera_matrix": camera.matrix.tolist(),
        "distortion": camera.distortion.tolist(),
        "size_px": list(camera.size_px),
        "standard_deviations": deviations,
        "covariance": None if covariance is None else covariance.tolist(),
        "covariance_of": list(PARAMETERS),
        "identity": camera.identity.as_json(),
        "quality": dict(camera.quality),
        "inputs": [dict(one) for one in camera.inputs],
    }


def _check_centre(camera: Camera) -> None:
    centre, size = camera.matrix[:2, 2], np.array(camera.size_px)
    if np.any(centre < 0.1 * size) or np.any(centre > 0.9 * size):
        raise ValueError("the centre in camera_matrix lies near or outside the rim of a picture of size_px")


def _unusable(path: Path, why: str) -> WrongCall:
    return WrongCall(f"{path.name} is not a usable camera file ({why}); make one with: fitcheck calibrate")
