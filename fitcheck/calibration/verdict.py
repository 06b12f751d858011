"""The plain verdict on a calibration: what speaks against it, what to warn of, and what to do about either."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitcheck.ground.refusal import Reason

if TYPE_CHECKING:
    from fitcheck.calibration.quality import Quality

GOOD_PX, USABLE_PX = 0.3, 1.0
GOOD_HALVES_MM, USABLE_HALVES_MM = 0.10, 1.0
GOOD_COVERED, LEAST_COVERED = 0.8, 0.55
LEANING_DEG, FEWEST_LEANING = 15.0, 3
FEWEST_VIEWS, GOOD_VIEWS = 6, 10


def reasons_against(quality: Quality) -> tuple[Reason, ...]:
    """Why the calibration must not be used; empty where it may."""
    reasons = []
    leaning = int(np.sum(quality.tilts_deg >= LEANING_DEG))
    if leaning < FEWEST_LEANING:
        seen = f"The board leans {LEANING_DEG:.0f} degrees or more in {leaning} of {quality.views} views, "
        needed = f"and in {FEWEST_LEANING} at least it must. "
        what = "Lean it back, forward and to either side by 20 to 45 degrees."
        reasons.append(Reason("head-on", seen + needed + what))
    if quality.covered_share < LEAST_COVERED:
        reasons.append(Reason("not-covered", _covered_text(quality, LEAST_COVERED)))
    if quality.held_out_px >= USABLE_PX:
        seen = f"Views held out of the fit miss by {quality.held_out_px:.1f} pixels, and {USABLE_PX:g} is the most. "
        what = "Tape the board to glass, hold it still, keep one focus, and photograph it again."
        reasons.append(Reason("poor-fit", seen + what))
    if quality.halves_mm is not None and quality.halves_mm[0] >= USABLE_HALVES_MM:
        seen = f"Two halves of the views differ by {quality.halves_mm[0]:.1f} mm at half a metre. "
        what = "Take more photographs, with the board in all parts of the frame."
        reasons.append(Reason("halves-differ", seen + what))
    return tuple(reasons)


def warnings_about(quality: Quality) -> tuple[Reason, ...]:
    """What keeps the calibration from being good."""
    warnings = []
    if quality.views < GOOD_VIEWS:
        text = f"Only {quality.views} views were used; with {GOOD_VIEWS} to 25 a calibration can be checked on itself."
        warnings.append(Reason("few-views", text))
    if quality.covered_share < GOOD_COVERED:
        warnings.append(Reason("not-covered", _covered_text(quality, GOOD_COVERED)))
    if quality.held_out_px >= GOOD_PX:
        seen = f"Views held out of the fit miss by {quality.held_out_px:.2f} pixels; under {GOOD_PX:g} is good. "
        warnings.append(Reason("poor-fit", seen + "A board that is not flat does this: tape it to glass."))
    if quality.halves_mm is not None and quality.halves_mm[0] >= GOOD_HALVES_MM:
        seen = f"Two halves of the views differ by {quality.halves_mm[0]:.2f} mm at half a metre; "
        warnings.append(Reason("halves-differ", f"{seen}under {GOOD_HALVES_MM:g} is good. Take more photographs."))
    return tuple(warnings)


def _covered_text(quality: Quality, wanted: float) -> str:
    seen = f"The board was seen in {quality.covered_share:.0%} of the frame, and {wanted:.0%} was wanted. "
    return seen + "Where it was not held the lens is not known: photograph it in the corners and along the sides too."
