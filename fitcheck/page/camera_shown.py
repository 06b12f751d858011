"""What the page shows of a calibration: the verdict and what it means, what was covered, each photograph."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.calibration.adjust import View
from fitcheck.calibration.calibration_lines import figure_lines
from fitcheck.calibration.from_photos import Calibration
from fitcheck.calibration.quality import WORKING_MM, coverage
from fitcheck.calibration.solve import rms
from fitcheck.calibration.views import BoardPhoto
from fitcheck.ground.files import write_bytes
from fitcheck.ground.refusal import Refused
from fitcheck.picture.orientation import turned_pixels, turned_size, upright_from_stored
from fitcheck.picture.photo import load_photo

SMALL_PX = 320
MEANS = {
    "good": "Measure with it. ",
    "usable": "It can be measured with, and every ± grows by its part. What keeps it from good stands below. ",
    "refused": "Do not measure with it: no camera file was written, and one that was there is as it was. ",
}


def camera_shown(found: Calibration, folder: Path) -> dict[str, Any]:
    """A calibration as JSON for its page, under "camera"; small pictures are written into ``folder``."""
    quality = found.quality
    return {
        "camera": {
            "state": found.state,
            "means": MEANS[found.state] + (_part_of_doubt(found) if found else ""),
            "identity": "" if found.camera is None else found.camera.identity.described(),
            "reasons": [reason.as_json() for reason in found.reasons],
            "warnings": [] if quality is None else [one.text for one in quality.warnings],
            "next": "" if found.advice is None else found.advice.text,
            "figures": [] if quality is None else list(figure_lines(found, quality)),
            "photos": _photos(found, folder),
            **coverage_shown(found.photos),
        }
    }


def coverage_shown(photos: Sequence[BoardPhoto]) -> dict[str, Any]:
    """Where in the frame the board was seen, as a person sees the picture: cells, and the board's outline a view.

    ``cells`` counts corners (rows, columns); ``boards`` are outlines in px of a frame ``wide_px`` by ``high_px``.
    """
    seen = [photo for photo in photos if photo.corners is not None and photo.size_px is not None]
    if not seen:
        return {"cells": [], "boards": [], "wide_px": 4, "high_px": 3, "covered": 0.0, "used": 0}
    size_px, orientation = Counter((photo.size_px, photo.orientation) for photo in seen).most_common(1)[0][0]
    assert size_px is not None
    alike = [photo for photo in seen if photo.size_px == size_px]
    views = [View(photo.corners.points_px, photo.corners.used) for photo in alike if photo.corners is not None]
    cells = turned_pixels(coverage(views, size_px).astype(np.int32), orientation)
    directions, shift_px = upright_from_stored(orientation, size_px)
    wide, high = turned_size(size_px, orientation)
    hulls = [cv2.convexHull(view.points_px[view.used].astype(np.float32)).reshape(-1, 2) for view in views]
    return {
        "cells": cells.tolist(),
        "boards": [np.round(hull @ directions.T + shift_px, 1).tolist() for hull in hulls],
        "wide_px": wide,
        "high_px": high,
        "covered": round(float(np.mean(cells > 0)), 3),
        "used": len(seen),
    }


def _part_of_doubt(found: Calibration) -> str:
    """What the stated spread of the lens comes to at working distance."""
    assert found.quality is not None
    assert found.camera is not None
    doubt_mm = 2.0 * found.quality.spread_px[0] / float(found.camera.matrix[0, 0]) * WORKING_MM
    return f"At half a metre the lens puts things right within about {max(doubt_mm, 0.01):.2f} mm."


def _photos(found: Calibration, folder: Path) -> list[dict[str, Any]]:
    shown, view = [], 0
    for number, photo in enumerate(found.photos, start=1):
        words = "" if photo.reason is None else photo.reason.text
        if photo.corners is not None:
            words = "used"
            if found.solution is not None and found.quality is not None:
                miss = rms(found.solution.adjustment.residuals_px[view])
                words = f"leans {found.quality.tilts_deg[view]:.0f}°, its corners miss by {miss:.2f} pixels"
            view += 1
        small = _small(folder, photo.name, f"small-0-{number}.jpg")
        used = photo.corners is not None
        shown.append({"name": photo.name, "used": used, "words": words, "small": small})
    return shown


def _small(folder: Path, name: str, small: str) -> str:
    """Write a small picture of a photograph; its name, "" where it cannot be read."""
    path = folder / name
    try:
        pixels = cv2.imread(str(path), cv2.IMREAD_REDUCED_COLOR_4)
        pixels = load_photo(path).pixels if pixels is None else pixels
    except Refused:
        return ""
    scale = min(1.0, SMALL_PX / max(pixels.shape[:2]))
    coded = cv2.imencode(".jpg", cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA))[1]
    write_bytes(folder / small, coded.tobytes())
    return small
