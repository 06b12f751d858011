"""The photographs with exact truth: what is measured is right, and what cannot be measured is refused.

They are made by a picture maker that is not part of this project, and found through FITCHECK_PHOTOS.
"""

import json
import os
from pathlib import Path

import numpy as np
import pytest

from fitcheck.contract.settings import Settings
from fitcheck.one_photo.edge import measure_photo

PHOTOS = os.environ.get("FITCHECK_PHOTOS")
CALIB = Path(__file__).parents[2] / "calib"
pytestmark = pytest.mark.skipif(
    not PHOTOS, reason="FITCHECK_PHOTOS is not set: the photographs with truth are not here"
)

#: The 95 % of errors that each camera must keep within, in mm: 5.5 and 3.2 pixels to a millimetre of lap.
WITHIN_MM = {"heron": 0.35, "teal": 0.45}
CLEAR_OF_CLAMP_MM = 40.0


def truth_of(name):
    return json.loads((Path(PHOTOS) / "laps" / f"{name}.json").read_text())


def settings_of(truth):
    return Settings(
        reference=truth["reference"],
        thickness_mm=truth["thickness_mm"],
        lap_mm=truth["lap_mm"],
        bevel_deg=truth["bevel_deg"],
        witness_mm=truth["witness_mm"] or None,
    )


def measured(name):
    truth = truth_of(name)
    path, camera = Path(PHOTOS) / "laps" / f"{name}.jpg", CALIB / f"{truth['camera']}.json"
    return measure_photo(path, camera, settings_of(truth)), truth


def errors(measurement, truth):
    """Errors, stated half-widths, and the share of the places in sight that got a number."""
    at = np.array([sample["along_mm"] for sample in truth["samples"]])
    past = np.array([sample["past_line_mm"] for sample in truth["samples"]])
    clear = lambda x: all(abs(x - clamp) > CLEAR_OF_CLAMP_MM for clamp in truth["clamps_mm"])  # noqa: E731
    found = [
        s
        for s in measurement.samples
        if s.past_line_mm is not None and at[0] <= s.along_mm <= at[-1] and clear(s.along_mm)
    ]
    error = np.array([s.past_line_mm - np.interp(s.along_mm, at, past) for s in found])
    in_sight = [s["along_mm"] for s in truth["samples"] if s["line_seen"] and clear(s["along_mm"])]
    places = np.array([s.along_mm for s in found])
    seen = np.mean([np.abs(places - x).min() < 12.0 for x in in_sight])
    return error, np.array([s.u95_mm for s in found]), seen


@pytest.mark.parametrize("name", ["t01", "t02", "t03", "t04", "t06", "t08", "t09", "h01", "h02", "h05"])
def test_measured_right_and_within_its_doubt(name):
    measurement, truth = measured(name)
    assert measurement, measurement.reasons
    error, u95, seen = errors(measurement, truth)
    assert np.percentile(np.abs(error), 95) <= WITHIN_MM[truth["camera"]]
    assert np.mean(np.abs(error) <= u95) >= 0.85
    assert seen >= 0.90
    assert measurement.settings["keel"] == truth["keel"]


def test_a_line_behind_the_edge_is_refused_as_such():
    measurement, _ = measured("t07")
    assert [reason.code for reason in measurement.reasons] == ["line-hidden"]


@pytest.mark.parametrize("name", ["t05", "h04"])
def test_a_line_fainter_than_its_grain_is_refused_or_within_its_doubt(name):
    measurement, truth = measured(name)
    if measurement:
        error, u95, _ = errors(measurement, truth)
        assert np.mean(np.abs(error) <= u95) >= 0.85
    else:
        assert measurement.reasons[0].code in ("line-ambiguous", "no-line")


def test_another_camera_is_refused():
    truth = truth_of("t01")
    settings = Settings(reference="id1", thickness_mm=truth["thickness_mm"])
    measurement = measure_photo(Path(PHOTOS) / "laps" / "t01.jpg", CALIB / "heron.json", settings)
    assert [reason.code for reason in measurement.reasons] == ["camera-size"]


def test_another_card_is_refused_by_its_shape():
    truth = truth_of("t01")
    settings = Settings(reference="card-us", thickness_mm=truth["thickness_mm"])
    measurement = measure_photo(Path(PHOTOS) / "laps" / "t01.jpg", CALIB / "teal.json", settings)
    assert not measurement
    assert measurement.reasons[0].code == "reference-aspect"
    assert "id1" in measurement.reasons[0].text
