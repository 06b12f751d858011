"""A calibration written down: the camera file, and beside it the picture of what was covered."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fitcheck.calibration.from_photos import Calibration


def write_camera(calibration: Calibration, out: Path) -> tuple[Path, Path]:
    """Write the camera file ``out`` and its picture of the same name, and give both paths.

    Raises ValueError for a calibration that solved nothing, :class:`fitcheck.ground.refusal.WrongCall` where a file
    cannot be written.
    """
    from fitcheck import __version__
    from fitcheck.calibration.camera import save_camera
    from fitcheck.calibration.coverage_chart import calibration_png
    from fitcheck.calibration.from_photos import board_json
    from fitcheck.ground.files import write_bytes

    if calibration.camera is None:
        raise ValueError("nothing was solved, so there is no camera")
    advice = None if calibration.advice is None else calibration.advice.text
    more = {"board": board_json(calibration.board), "next_photo": advice, "program": f"fitcheck {__version__}"}
    picture = write_bytes(out.with_suffix(".png"), calibration_png(calibration))
    return save_camera(calibration.camera, out, **more), picture
