"""The whole plank from photographs: the photographs with known truth, where FITCHECK_PHOTOS names their folder."""

from __future__ import annotations

import dataclasses
import json
import os
from pathlib import Path

import numpy as np
import pytest

from fitcheck.calibration.camera import Camera
from fitcheck.contract.hints import Hints
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import WrongCall
from fitcheck.picture.photo import load_photo
from fitcheck.plank.plank_edge import look_along_plank, measure_plank
from fitcheck.report.edge.plank_picture import joined, plank_picture

PHOTOS = Path(os.environ.get("FITCHECK_PHOTOS", "no-such-folder"))
pytestmark = pytest.mark.skipif(not (PHOTOS / "plank").is_dir(), reason="FITCHECK_PHOTOS names no photographs")
SETTINGS = Settings(reference="station", thickness_mm=9.5, lap_mm=25.4, bevel_deg=6.0, witness_mm=20.0)


def camera(name="teal"):
    told = json.loads((PHOTOS / "cameras.json").read_text())[name]
    (fx, fy), (cx, cy) = told["focal_px"], told["centre_px"]
    matrix = np.array([[fx, 0, cx], [0, fy, cy], [0, 0, 1.0]])
    return Camera(matrix, np.array(told["distortion"]), tuple(told["size_px"]))


def paths(*numbers):
    return [PHOTOS / "plank" / f"p{number:02d}.jpg" for number in numbers]


def truth():
    """Places, values and clamps of the whole plank."""
    past, clamps = {}, set()
    for file in sorted((PHOTOS / "plank").glob("p*.json")):
        told = json.loads(file.read_text())
        past |= {sample["plank_mm"]: sample["past_line_mm"] for sample in told["samples"]}
        off = told["samples"][0]["plank_mm"] - told["samples"][0]["along_mm"]
        clamps |= {round(clamp + off) for clamp in told["clamps_mm"]}
    places = np.array(sorted(past))
    return places, np.array([past[place] for place in places]), clamps


def values(measurement):
    return {s.plank_mm: s.past_line_mm for s in measurement.samples if s.past_line_mm is not None}


def used(measurement):
    return {photo["name"]: photo["state"] for photo in measurement.photos}


def codes(measurement):
    return {photo["name"]: [reason["code"] for reason in photo["reasons"]] for photo in measurement.photos}


@pytest.fixture(scope="module")
def whole():
    return look_along_plank(paths(*range(1, 9)), camera(), SETTINGS)


def test_values_and_stated_doubts_hold_against_the_truth(whole):
    places, past, clamps = truth()
    clear = [
        (s.past_line_mm - np.interp(s.plank_mm, places, past), s.u95_mm, s.plank_mm)
        for s in whole.measurement.samples
        if s.past_line_mm is not None
        and places[0] <= s.plank_mm <= places[-1]
        and all(abs(s.plank_mm - clamp) > 40 for clamp in clamps)
    ]
    error, u95, at = np.array(clear).T
    assert np.percentile(np.abs(error), 95) <= 0.35
    assert np.mean(np.abs(error) <= u95) >= 0.88
    need = [p for p in places if 0 <= p <= 2411 and all(abs(p - clamp) > 40 for clamp in clamps)]
    assert np.mean([np.abs(at - p).min() < 12 for p in need]) >= 0.90


def test_stations_lie_where_they_do(whole):
    told = json.loads((PHOTOS / "plank" / "stations.json").read_text())["stations_mm"]
    found = {str(s["number"]): s["plank_mm"] for s in whole.measurement.stations}
    assert found.keys() == told.keys()
    assert max(abs(found[n] - told[n]) for n in told) <= 3.0


def test_the_answer_is_whole(whole):
    answer = whole.measurement.as_json()
    json.dumps(answer, allow_nan=False)
    assert answer["state"] == "measured"
    assert all(sample["along_mm"] is None and sample["plank_mm"] % 5 == 0 for sample in answer["samples"])
    assert set(used(whole.measurement).values()) == {"measured"}
    assert all(photo["cards"] and photo["corners_px"] for photo in answer["photos"])


def test_the_picture_joins_the_strips_and_shows_grey_where_nothing_was_seen(whole):
    picture = plank_picture(whole.measurement, whole.bands[0])
    assert picture.shape[0] > 1000
    strip = joined(whole.bands[0], -600.0, 2400)
    grey = (strip == strip[0, 0]).all(axis=(0, 2))
    assert grey[:1000].all()
    assert not grey[1700:].any()


def test_permuted_repeated_and_missing_photographs():
    one = measure_plank(paths(2, 3, 4), camera(), SETTINGS)
    other = measure_plank(paths(4, 2, 3, 2), camera(), SETTINGS)
    assert [photo["name"] for photo in other.photos] == ["p04.jpg", "p02.jpg", "p03.jpg", "p02.jpg (2)"]
    assert codes(other)["p02.jpg (2)"] == ["photo-repeated"]
    assert other.samples == one.samples
    assert other.stations == one.stations
    assert other.budget_mm == one.budget_mm
    # Card 0 is in none of them: places count from card 1, and that is said.
    assert [warning.code for warning in one.warnings].count("no-card-0") == 1
    assert one.stations[0] == {"number": 1, "plank_mm": 0.0, "u95_mm": 0.0}


def test_a_hull_lying_keel_up_gives_the_same_plank():
    """The same photographs turned half round, as a camera held upside down tags them: what is up is now the keel."""
    upright = [load_photo(path) for path in paths(6, 7)]
    turned = [
        dataclasses.replace(
            photo, pixels=np.ascontiguousarray(photo.pixels[::-1, ::-1]), orientation=3, digest=f"turned {photo.digest}"
        )
        for photo in upright
    ]
    one, other = (measure_plank(photos, camera(), SETTINGS) for photos in (upright, turned))
    assert (one.settings["keel"], other.settings["keel"]) == ("down", "up")
    assert [s["number"] for s in other.stations] == [5, 6, 7]
    both = values(one).keys() & values(other).keys()
    assert len(both) > 0.9 * len(values(one))
    # Grids of the picture fall otherwise on the wood; the wood itself is the same.
    apart = [abs(values(one)[place] - values(other)[place]) for place in both]
    assert np.percentile(apart, 95) < 0.15
    width, height = upright[0].size_px
    at = {s.plank_mm: s.edge_px for s in one.samples if s.photos[0] == "p07.jpg"}
    pairs = [(at[s.plank_mm], s.edge_px) for s in other.samples if s.plank_mm in at and s.photos[0] == "p07.jpg"]
    assert len(pairs) > 50
    for here, there in pairs:
        assert here[0] + there[0] == pytest.approx(width - 1, abs=3.0)
        assert here[1] + there[1] == pytest.approx(height - 1, abs=3.0)


def test_a_missing_link_parts_the_plank_and_known_places_join_it_again():
    apart = measure_plank(paths(1, 2, 5, 6, 7), camera(), SETTINGS)
    assert [one.part.cards for one in apart.parts] == [(0, 1, 2), (4, 5, 6, 7)]
    assert set(used(apart).values()) == {"measured"}
    known = {0: 0.0, 4: 1222.0, 7: 2122.0}
    again = measure_plank(paths(1, 2, 5, 6, 7), camera(), SETTINGS, stations=known)
    assert set(used(again).values()) == {"measured"}
    found = {s["number"]: s["plank_mm"] for s in again.stations}
    assert found[1] == pytest.approx(322.0, abs=3.0)
    assert found[6] == pytest.approx(1800.0, abs=3.0)
    places = sorted(values(again))
    assert max(np.diff(places)) > 200.0, "the stretch no photograph saw stays unseen"


def test_foreign_and_unusable_photographs_are_listed_and_the_rest_used(tmp_path):
    blank = tmp_path / "blank.png"
    photo = load_photo(paths(3)[0])
    import cv2

    cv2.imwrite(str(blank), np.full_like(photo.pixels, 120))
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(paths(3)[0].read_bytes()[:50_000])
    foreign = PHOTOS / "laps" / "h01.jpg"
    measured = measure_plank([blank, *paths(6, 7), broken, foreign], camera(), SETTINGS)
    assert measured
    assert used(measured) == {
        "blank.png": "refused",
        "p06.jpg": "measured",
        "p07.jpg": "measured",
        "broken.jpg": "refused",
        "h01.jpg": "refused",
    }
    # Nothing sharp is in it: that is why no card can be read, and what to mend.
    assert codes(measured)["blank.png"] == ["photo-soft"]
    assert codes(measured)["broken.jpg"] == ["photo-damaged"]
    assert codes(measured)["h01.jpg"] == ["camera-size"]


def test_nothing_usable_is_refused_with_the_reasons(tmp_path):
    answer = measure_plank([PHOTOS / "laps" / "h01.jpg"], camera(), SETTINGS)
    assert not answer
    assert [reason.code for reason in answer.reasons] == ["camera-size"]
    json.dumps(answer.as_json(), allow_nan=False)


def test_wrong_calls():
    with pytest.raises(WrongCall):
        measure_plank([PHOTOS / "plank" / "none.jpg"], camera(), SETTINGS)
    with pytest.raises(WrongCall, match="line-at"):
        measure_plank(paths(1), camera(), dataclasses.replace(SETTINGS, hints=Hints(line_at_px=((100.0, 100.0),))))


def test_progress_is_told_to_the_end():
    told: list[float] = []
    measure_plank(paths(8), camera(), SETTINGS, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
