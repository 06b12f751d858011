"""Put measured fits on record, as the command line was told to."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.hull import Hull
    from fitcheck.lap.gap_measurement import GapMeasurement
    from fitcheck.measurement import Measurement


def record_fits(
    measurements: Sequence[Measurement | GapMeasurement], photos: Sequence[Path], hull: Hull, told: Mapping[str, Any]
) -> None:
    """Record every measurement that succeeded as a fit of the plank told; say which fit it became."""
    from fitcheck.fitlog.recording import record

    one_each = len(measurements) == len(photos)
    same_fit = told["same_fit"] or None
    for measurement, photo in zip(measurements, photos if one_each else [None] * len(measurements), strict=True):
        if not measurement:
            continue
        recorded = record(
            measurement.as_json(),
            db_path=hull.db_path,
            plank=told["plank"],
            photos=photos if photo is None else [photo],
            hull=hull,
            note=told["note"],
            who=told["who"],
            moisture_pct=told["moisture"],
            temperature_c=told["temperature"],
            clamps=told["clamps"],
            at_mm=told["at_mm"],
            same_fit=same_fit,
        )
        print(recorded, file=sys.stderr)
        for warning in recorded.warnings:
            print(f"Note: {getattr(warning, 'text', warning)}", file=sys.stderr)
        # The photographs of one call are of one clamping.
        same_fit = True
