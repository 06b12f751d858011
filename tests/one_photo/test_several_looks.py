"""Two looks at one lap, card not moved: made on photographed boards that nothing was trained on, truth beside them."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.calibration.camera import load_camera
from fitcheck.contract.hints import Hints
from fitcheck.one_photo.several_looks import measure_looks
from fitcheck.picture.photo import load_photo
from tests.lap.scored import scored, told_settings
from tests.scenes import Scene, render, save

#: A lap on a board left out of training, its line struck as the README asks, seen from two heights.
LAP = Scene(
    seed=11,
    strake_wood="spruce_board_12",
    plank_wood="spruce_board_03",
    bevel_deg=8.0,
    thickness_mm=10.0,
    past_mm=-2.0,
    line_contrast=0.7,
    line_skips=0.03,
    reference_style="blue",
    distance_mm=480.0,
    board_mm=(-450.0, 450.0),
)
HEIGHTS_DEG = (-4.0, -28.0)


@pytest.fixture(scope="module")
def looks(tmp_path_factory):
    folder = tmp_path_factory.mktemp("looks")
    made = [render(replace(LAP, elevation_deg=one)) for one in HEIGHTS_DEG]
    paths = [save(one, folder, f"look{number}") for number, one in enumerate(made)]
    camera = load_camera(folder / "cameras" / f"{LAP.camera.name}.json")
    return [load_photo(path) for path in paths], camera, made[0].truth


def test_two_looks_measure_the_lap_and_its_bevel(looks):
    photos, camera, truth = looks
    settings = replace(told_settings(truth), bevel_deg=None)
    answer = measure_looks(photos, camera, settings)
    found = scored(answer, truth)
    assert answer.state == "measured"
    assert found.found >= 0.85 * found.in_sight
    # Errors of one photograph go together, so not 95 in 100 of its places need be inside.
    assert np.median(np.abs(found.error_mm)) < np.median(found.u95_mm)
    assert not found.wrong.any()
    assert "bevel-measured" in {one.code for one in answer.warnings}
    # Three standard uncertainties of half a degree.
    assert abs(answer.settings["bevel_deg"] - truth["bevel_deg"]) < 3 * 0.5


def test_two_looks_are_surer_than_one(looks):
    photos, camera, truth = looks
    settings = replace(told_settings(truth), bevel_deg=None)
    both = measure_looks(photos, camera, settings)
    one = measure_looks(photos[:1], camera, settings)
    u95 = lambda answer: np.median([s.u95_mm for s in answer.samples if s.u95_mm is not None])  # noqa: E731
    assert u95(both) < u95(one)


def test_the_order_of_the_looks_moves_no_value(looks):
    photos, camera, truth = looks
    there, back = (measure_looks(order, camera, told_settings(truth)) for order in (photos, photos[::-1]))
    past = [{s.along_mm: s.past_line_mm for s in one.samples if s.past_line_mm is not None} for one in (there, back)]
    shared = sorted(set(past[0]) & set(past[1]))
    assert len(shared) > 20
    assert max(abs(past[0][at] - past[1][at]) for at in shared) < 0.3


def test_a_bevel_that_the_photographs_deny_is_said(looks):
    photos, camera, truth = looks
    answer = measure_looks(photos, camera, replace(told_settings(truth), bevel_deg=16.0))
    assert "bevel-disagrees" in {one.code for one in answer.warnings}


def test_a_photograph_of_something_else_is_left_out_and_says_why(looks, tmp_path):
    photos, camera, truth = looks
    other = save(render(replace(LAP, reference="none", board_mm=(-450.0, 450.0))), tmp_path, "other")
    answer = measure_looks([*photos, load_photo(other)], camera, told_settings(truth))
    assert answer.state == "measured"
    left = [one for one in answer.photos if one.get("state") == "refused"]
    assert [one["reasons"][0]["code"] for one in left] == ["no-reference"]


def test_places_pointed_at_are_those_of_the_first(looks):
    photos, camera, truth = looks
    middle = truth["samples"][len(truth["samples"]) // 2]
    hints = Hints(edge_at_px=(tuple(middle["edge_px"]),), line_at_px=(tuple(middle["line_px"]),))
    answer = measure_looks(photos, camera, replace(told_settings(truth), hints=hints))
    assert answer.state == "measured"
    assert "pointed-elsewhere" not in {one.code for one in answer.warnings}


def test_a_photograph_from_the_same_place_counts_once(looks, tmp_path):
    photos, camera, truth = looks
    again = save(render(replace(LAP, elevation_deg=HEIGHTS_DEG[0] + 0.5, jpeg_quality=90)), tmp_path, "again")
    answer = measure_looks([photos[0], load_photo(again)], camera, told_settings(truth))
    alone = measure_looks(photos[:1], camera, told_settings(truth))
    assert [one["reasons"][0]["code"] for one in answer.photos if one["state"] == "refused"] == ["looks-alike"]
    assert answer.samples == alone.samples
