"""What is said where an eased inner corner looks like a slit: the places where a feeler decides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fitcheck.contract.gap_measurement import GapMeasurement, GapSample
from fitcheck.report.gap.gap_wording import gap_length, gap_runs, gap_wording

EASED = "corner-eased"


def eased_lines(measurement: GapMeasurement) -> list[str]:
    """Where a feeler decides, in one line, and by how much the lap may be open there; nothing where none is needed."""
    eased = [one for one in measurement.samples if EASED in one.flags]
    if not eased:
        return []
    wording = gap_wording(measurement)
    # Closed and unsure places beside each other are one stretch for the feeler.
    runs = gap_runs([replace(one, state="eased" if EASED in one.flags else one.state) for one in measurement.samples])
    where = ", ".join(wording.span(run.from_mm, run.to_mm) for run in runs if run.state == "eased")
    most = gap_length(max(_most_mm(one) for one in eased), wording.units)
    return [
        f"a feeler decides here: {where}. The plank's inner corner is, or may be, eased, which looks like a slit: the "
        f"lap may be open there by up to {most}"
    ]


def without_eased(samples: Sequence[GapSample]) -> list[GapSample]:
    """The samples without those unsure places that :func:`eased_lines` names."""
    return [one for one in samples if not (one.state == "unsure" and EASED in one.flags)]


def _most_mm(sample: GapSample) -> float:
    return (sample.gap_mm or 0.0) + (sample.gap_u95_mm or 0.0)
