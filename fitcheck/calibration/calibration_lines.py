"""A calibration told to the builder: a line a photograph, the figures, the verdict, and what to photograph next."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fitcheck.calibration.from_photos import Calibration
from fitcheck.calibration.model import PARAMETERS
from fitcheck.calibration.quality import Quality
from fitcheck.calibration.solve import rms
from fitcheck.calibration.verdict import GOOD_PX

_VERDICTS = {"good": "good", "usable": "usable", "refused": "refused; do not measure with it"}


def told(calibration: Calibration) -> str:
    """The whole answer as text, lines ended."""
    lines = [*_photo_lines(calibration), ""]
    if calibration.quality is not None:
        lines += [*figure_lines(calibration, calibration.quality), ""]
        lines += [f"Mind: {warning.text}" for warning in calibration.quality.warnings]
    lines += [f"Refused: {reason.text}" for reason in calibration.reasons]
    lines.append(f"Verdict: {_VERDICTS[calibration.state]}.")
    if calibration.advice is not None:
        needed = "To make it better, photograph next" if calibration else "Photograph next"
        lines.append(f"{needed}: {calibration.advice.text}.")
    return "\n".join(lines) + "\n"


def _photo_lines(calibration: Calibration) -> Iterator[str]:
    wide = max((len(photo.name) for photo in calibration.photos), default=0)
    wide = max(wide, len("photograph"))
    yield f"{'photograph':{wide}}  corners  leans  misfit"
    view = 0
    for photo in calibration.photos:
        if photo.corners is None:
            why = "" if photo.reason is None else photo.reason.text
            yield f"{photo.name:{wide}}  left out: {why}"
            continue
        figures = ""
        if calibration.solution is not None and calibration.quality is not None:
            miss = rms(calibration.solution.adjustment.residuals_px[view])
            figures = f"  {calibration.quality.tilts_deg[view]:4.0f}°  {miss:.3f} px"
        yield f"{photo.name:{wide}}  {int(np.sum(photo.corners.used)):7d}{figures}"
        view += 1


def figure_lines(calibration: Calibration, quality: Quality) -> Iterator[str]:
    """The figures that the verdict goes by, a line each."""
    yield f"Views held out of the fit miss by {quality.held_out_px:.3f} px; under {GOOD_PX:g} is good."
    yield f"The board was seen in {quality.covered_share:.0%} of the frame."
    if quality.halves_mm is not None:
        mean, worst = quality.halves_mm
        yield f"Two halves of the views differ by {mean:.2f} mm at half a metre, {worst:.2f} at worst."
    camera = calibration.camera
    if camera is not None and camera.covariance is not None:
        spread = dict(zip(PARAMETERS, np.sqrt(np.diag(camera.covariance)), strict=True))
        value = dict(zip(PARAMETERS, camera.parameters(), strict=True))
        parts = [f"{value[name]:.1f} ± {2 * spread[name]:.1f}" for name in ("fx", "fy", "cx", "cy")]
        yield f"Focal length {parts[0]} and {parts[1]} px, centre {parts[2]}, {parts[3]} px (95 %)."
    yield f"Lens and board, chosen by the held-out views: {quality.model}."
    if quality.board:
        longer, bow = quality.board["across_longer_percent"], quality.board["out_of_flat_mm"]
        yield (
            f"The print is not quite as told: {abs(longer):.2f} % {'longer' if longer > 0 else 'shorter'} the long way "
            f"and {bow:.2f} mm out of flat. The fit allows for it; tape it to glass all the same."
        )
