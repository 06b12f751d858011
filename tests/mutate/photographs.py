"""How harmed photographs are taken: ``python -m tests.mutate.photographs --count 900 --seed 1 [--kind heic]``.

Photographs of single laps with the truth beside them are harmed by a fixed seed and measured. Told are how many were
refused, measured with a warning, measured without a word, and of these how many are sure and wrong: a place whose
error is over a millimetre and over its stated doubt. FITCHECK_PHOTOS names the folder.
"""

from __future__ import annotations

import argparse
import io
import os
import random
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image

from fitcheck.ground.refusal import Refused
from fitcheck.one_photo.edge import measure_loaded
from fitcheck.picture.photo import load_photo
from tests.mutate.kinds import KINDS

NAMES = ("t01", "t02", "t03", "t06", "t08", "t09")
WRONG_MM = 1.0
#: A pixel is wrong when it is off by more levels than this; fewer wrong pixels than this share are a speck.
WRONG_LEVELS, SPECK_SHARE = 6, 0.001


def main() -> None:
    """Harm, measure and tell the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=900)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=("jpeg", "png", "heic"), default="jpeg")
    parser.add_argument("--specks", action="store_true", help="measure those too in which hardly a pixel is wrong")
    told = parser.parse_args()
    figures = run(told.count, told.seed, told.kind, specks=told.specks)
    for outcome, count in sorted(figures.items()):
        print(f"{count:6d}  {outcome}")


def run(count: int, seed: int, kind: str, *, specks: bool) -> Counter[str]:
    """The figures of ``count`` harmed photographs; the same seed gives the same harm.

    Without ``specks`` those are not measured that load with under a thousandth of their pixels wrong.
    """
    draw, figures = random.Random(seed), Counter[str]()
    sound = {name: recoded(_folder() / f"{name}.jpg", kind) for name in NAMES}
    usual: dict[str, Any] = {}
    pixels: dict[str, np.ndarray] = {}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"harmed.{kind}"
        for number in range(count):
            name, harm = NAMES[number % len(NAMES)], draw.choice(list(KINDS))
            path.write_bytes(KINDS[harm](sound[name], draw))
            try:
                photo = load_photo(path)
            except Refused as refused:
                figures[f"refused at loading: {refused.reason.code}"] += 1
                figures[f"  {harm}: refused at loading"] += 1
                continue
            figures[f"  {harm}: loaded"] += 1
            if name not in pixels:
                path.write_bytes(sound[name])
                pixels[name] = load_photo(path).pixels
            if not specks and _wrong_share(photo.pixels, pixels[name]) < SPECK_SHARE:
                figures["loaded with a speck wrong or none, not measured"] += 1
                continue
            if name not in usual:
                usual[name] = _measured(_folder() / f"{name}.jpg", name)
            outcome = _outcome(measure_loaded(photo, *_told(name)), usual[name], name)
            figures[outcome] += 1
            print(f"number {number}: {name}, {harm}: {outcome}", flush=True)
    return figures


def recoded(path: Path, kind: str) -> bytes:
    """The photograph's bytes, in another kind of file where that is asked for, its EXIF block kept."""
    if kind == "jpeg":
        return path.read_bytes()
    buffer = io.BytesIO()
    with Image.open(path) as picture:
        if kind == "png":
            picture.save(buffer, "PNG", exif=picture.getexif(), compress_level=1)
        else:
            import pillow_heif

            pillow_heif.from_pillow(picture).save(buffer, quality=92, exif=picture.getexif().tobytes())
    return buffer.getvalue()


def _wrong_share(pixels: np.ndarray, sound: np.ndarray) -> float:
    if pixels.shape != sound.shape:
        return 1.0
    return float((cv2.absdiff(pixels, sound).max(axis=2) > WRONG_LEVELS).mean())


def _folder() -> Path:
    return Path(os.environ["FITCHECK_PHOTOS"]) / "laps"


def _told(name: str):
    from fitcheck.calibration.camera import load_camera
    from tests.one_photo.test_edge_photographs import CALIB, settings_of, truth_of

    truth = truth_of(name)
    return load_camera(CALIB / f"{truth['camera']}.json"), settings_of(truth)


def _measured(path: Path, name: str):
    return measure_loaded(load_photo(path), *_told(name))


def _outcome(measurement, usual, name: str) -> str:
    from tests.one_photo.test_edge_photographs import errors, truth_of

    if not measurement:
        return f"refused in measuring: {measurement.reasons[0].code}"
    error, u95, _ = errors(measurement, truth_of(name))
    wrong = any(abs(e) > max(WRONG_MM, u) for e, u in zip(error, u95, strict=True))
    known = {warning.code for warning in usual.warnings}
    told = {warning.code for warning in measurement.warnings} - known
    how = f"with a warning ({', '.join(sorted(told))})" if told else "without a word"
    return f"measured {how}" + (": SURE AND WRONG" if wrong else "")


if __name__ == "__main__":
    main()
