"""How high the step of a lap stands, in words: told with its doubt, or unsure where the doubt is as large as it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from fitcheck.contract.gap_measurement import GapSample
from fitcheck.report.edge.wording import Wording

#: The step is told from its least to its most but for these shares at either end, which a stray place may make up.
SPREAD = (0.02, 0.98)


def step_cell(sample: GapSample, wording: Wording, *, doubt: bool = True) -> str:
    """The step at one place for a table, with its ``doubt`` or without.

    >>> step_cell(GapSample(0.0, 0.0, 0.1, 5.4, 6.06, (0.0, 0.0), "closed"), Wording(units="mm"))
    'unsure: at most 11.46 mm'
    >>> step_cell(GapSample(0.0, 0.0, 0.1, 9.5, 0.31, (0.0, 0.0), "closed"), Wording(units="mm"))
    '9.5 mm ± 0.31 mm'
    """
    if sample.proud_mm is None:
        return ""
    height_mm = max(sample.proud_mm, 0.0)
    if "scale-from-thickness" in sample.flags or sample.proud_u95_mm is None:
        return wording.length(height_mm)
    if not _sure(height_mm, sample.proud_u95_mm):
        most = f"at most {wording.doubt(height_mm + sample.proud_u95_mm)}"
        return most if "flush" in sample.flags else f"unsure: {most}"
    said = wording.length(height_mm)
    return f"{said} ± {wording.doubt(sample.proud_u95_mm)}" if doubt else said


def proud_lines(steps: Iterable[tuple[float, float | None]], wording: Wording) -> list[str]:
    """How far the plank stands proud, from heights with their doubts, in a line; nothing where there are none.

    >>> proud_lines([(9.5, 0.3), (5.4, 6.06)], Wording(units="mm"))
    ['The plank stands proud 9.5 mm.']
    """
    known = [(max(height, 0.0), doubt or 0.0) for height, doubt in steps]
    sure = [height for height, doubt in known if _sure(height, doubt)]
    if not known:
        return []
    if not sure:
        return [f"The step is unsure: at most {wording.doubt(max(height + doubt for height, doubt in known))}."]
    low, high = (wording.length(float(value)) for value in np.quantile(sure, SPREAD))
    return [f"The plank stands proud {low}." if low == high else f"The plank stands proud {low} to {high}."]


def _sure(height_mm: float, u95_mm: float) -> bool:
    return height_mm > u95_mm
