"""How a gap is written: its size, the stretches of one state, the units and places that the settings ask for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.contract.gap_measurement import NEIGHBOURS_MM, GapMeasurement, GapSample
from fitcheck.report.edge.wording import Wording


@dataclass(frozen=True)
class GapRun:
    """A stretch of one state, from place to place in mm, with its widest sample (None where covered)."""

    state: str
    from_mm: float
    to_mm: float
    widest: GapSample | None


def gap_length(mm: float, units: str) -> str:
    """A gap as a feeler gauge names it: thousandths of an inch, or hundredths of a millimetre.

    >>> gap_length(0.5, "in"), gap_length(0.5, "mm")
    ('0.020 in', '0.50 mm')
    """
    return f"{mm:.2f} mm" if units == "mm" else f"{mm / 25.4:.3f} in"


def gap_runs(samples: Sequence[GapSample]) -> list[GapRun]:
    """Neighbouring samples of one state gathered into runs, in order of place; none reaches over what is unseen."""
    ordered = sorted(samples, key=lambda one: one.place_mm())
    groups: list[list[GapSample]] = []
    for sample in ordered:
        last = groups[-1][-1] if groups else None
        if last and last.state == sample.state and sample.place_mm() - last.place_mm() <= NEIGHBOURS_MM:
            groups[-1].append(sample)
        else:
            groups.append([sample])
    return [_run(group) for group in groups]


def _run(group: Sequence[GapSample]) -> GapRun:
    known = [one for one in group if one.gap_mm is not None]
    widest = max(known, key=lambda one: one.gap_mm or 0.0, default=None)
    return GapRun(group[0].state, group[0].place_mm(), group[-1].place_mm(), widest)


def joint_word(measurement: GapMeasurement) -> str:
    """ "lap", or "seam" where a seam was seen face-on."""
    return "seam" if (measurement.reference or {}).get("seam") else "lap"


def gap_wording(measurement: GapMeasurement) -> Wording:
    """Units and places as the measurement's settings ask for."""
    settings = measurement.settings
    return Wording(
        units=str(settings.get("units") or "in"),
        fraction=int(settings.get("fraction") or 32),
        on_plank=joint_word(measurement) == "seam" or any(one.plank_mm is not None for one in measurement.samples),
        keel="up" if settings.get("keel") == "up" else "down",
        tape=str(settings.get("tape") or ""),
        at_mm=settings.get("at_mm"),
        along_sign=int(settings.get("along_sign") or 1),
    )
