"""Several edge-on photographs of one plank: weighed, told where they disagree, and never bridged."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import numpy as np
import pytest

from fitcheck.contract.settings import Settings
from fitcheck.lap.edge_on.gap_samples import Placed
from fitcheck.plank.combine_gaps import combine_gaps, unseen
from fitcheck.plank.plank_gaps import measure_gaps_along_plank
from tests.in_processes import in_processes
from tests.scenes import render
from tests.scenes.cameras import CAMERAS
from tests.scenes.draw import draw_plank
from tests.scenes.save import save


def strand(name, low, high, gap, u=0.05, covered=()):
    places = np.arange(low, high + 1.0, 5.0)
    every = np.ones(len(places))
    hidden = np.isin(places, covered)
    edge = np.column_stack([places, 100.0 * every])
    none = np.zeros(len(places), bool)
    return Placed(
        name, places, gap * every, u * every, 9.5 * every, 0.2 * every, edge, edge, hidden, none, none, none, True
    )


def test_an_overlap_that_agrees_is_weighed_and_surer_than_neither():
    joined = combine_gaps([strand("a", 0, 100, 0.50, 0.04), strand("b", 50, 150, 0.44, 0.08)])
    both = next(one for one in joined.samples if one.plank_mm == 75.0)
    assert both.photos == ("a", "b")
    assert both.gap_mm == pytest.approx((0.50 / 0.04**2 + 0.44 / 0.08**2) / (1 / 0.04**2 + 1 / 0.08**2))
    assert both.gap_u95_mm == pytest.approx(1.96 * 0.04)
    assert not joined.warnings


def test_an_overlap_that_disagrees_is_said_and_widened_and_no_longer_sure():
    joined = combine_gaps([strand("a", 0, 100, 0.6), strand("b", 50, 150, 0.0)])
    both = next(one for one in joined.samples if one.plank_mm == 75.0)
    assert both.gap_u95_mm >= 1.96 * 0.3
    assert both.state == "unsure"
    assert [(one.code, "a and b" in one.text) for one in joined.warnings] == [("photos-disagree", True)]


def test_what_one_photograph_has_under_a_clamp_another_may_show():
    joined = combine_gaps([strand("a", 0, 100, 0.0, covered=(50.0, 55.0)), strand("b", 55, 150, 0.0)])
    states = {one.plank_mm: one.state for one in joined.samples}
    assert (states[50.0], states[55.0]) == ("covered", "closed")


def test_what_no_photograph_saw_is_unseen_and_not_bridged():
    joined = combine_gaps([strand("a", 0, 100, 0.0), strand("b", 200, 300, 0.0)])
    assert not [one for one in joined.samples if 100.0 < one.plank_mm < 200.0]
    told = [(one["from_mm"], one["to_mm"]) for one in unseen(joined.samples, -50.0, 300.0)]
    assert told == [(-50.0, 0.0), (100.0, 200.0)]


@cache
def scenes():
    """Three photographs of an invented plank on a bent hull, with a clamp, the last but one square-on by mistake."""
    fixed = {
        "camera": CAMERAS["dunlin"],
        "elevation_deg": -64.0,
        "distance_mm": 380.0,
        "light_share": 0.5,
        "penumbra_deg": 5.0,
        "light_from_deg": 170.0,
        "light_slant_deg": 35.0,
        "gap_mm": 0.25,
        "gap_wander_mm": 0.5,
        "gap_wave_mm": 300.0,
        "grain": 0.5,
        "line_drawn": False,
        "witness_mm": 0.0,
        "past_mm": -0.4,
        "past_wander_mm": 0.3,
        "bevel_deg": 6.0,
        "saw_marks": 0.0,
        "rivets_mm": (),
        "strake_paint": None,
        "strake_wood": "cedar",
        "plank_wood": "larch",
        "thickness_mm": 12.7,
        "noise_dn": 2.0,
        "blur_px": 0.7,
        "aim_mm": (0.0, 15.0),
        "eased_mm": 0.0,
        "exposure": 0.3,
    }
    views = draw_plank(np.random.default_rng(20270), photos=3, **fixed)
    return (*views[:2], replace(views[1], elevation_deg=-10.0, kind="square"), views[2])


def put(job):
    number, folder = job
    return str(save(render(scenes()[number]), Path(folder), f"p{number + 1}"))


@pytest.fixture(scope="module")
def plank():
    """The answer, and the truth by place."""
    folder = mkdtemp()
    names = [Path(name) for name in in_processes(put, [(number, folder) for number in range(4)])]
    told = Settings(reference="station", thickness_mm=12.7, lap_mm=25.4, bevel_deg=6.0)
    (found,) = measure_gaps_along_plank(names[::-1], Path(folder) / "cameras" / "dunlin.json", told)
    truth = [json.loads(name.with_suffix(".json").read_text()) for name in names]
    return found, {one["plank_mm"]: one for view in truth for one in view["samples"]}


def test_photographs_in_any_order_give_one_answer_along_the_plank(plank):
    found, _ = plank
    answer = found.measurement
    assert answer, answer.reasons
    assert [station["number"] for station in answer.stations] == [0, 1, 2, 3]
    places = {number: place for number, place in scenes()[0].stations + scenes()[3].stations}
    off = [abs(s["plank_mm"] - (places[s["number"]] - places[0])) - s["u95_mm"] for s in answer.stations]
    assert max(off) < 1.5  # the lap is a little longer than the row of cards
    assert not answer.unseen


def test_a_photograph_that_cannot_be_used_is_named_with_the_reason_and_the_rest_used(plank):
    states = {photo["name"]: photo for photo in plank[0].measurement.photos}
    reasons = {name: [reason["code"] for reason in photo["reasons"]] for name, photo in states.items()}
    assert [reasons[f"p{k}.jpg"] for k in (1, 2, 3, 4)] == [[], [], ["not-edge-on"], []]


def test_a_photograph_not_used_is_shown_with_what_was_found_in_it(plank):
    found = plank[0].measurement.candidates
    assert {one.photo for one in found} == {"p3.jpg"}
    assert "card" in {one.kind for one in found}
    shown = {view.name: part for view, part in plank[0].parts}
    assert not shown["p3.jpg"]
    assert shown["p3.jpg"].candidates == found
    assert shown["p3.jpg"].reasons[0].code == "not-edge-on"
    assert all(shown[name] for name in ("p1.jpg", "p2.jpg", "p4.jpg"))


def test_gap_and_step_along_the_plank_are_right_within_their_doubt(plank):
    found, truth = plank
    at = np.array(sorted(truth))
    rows = []
    for one in found.measurement.samples:
        if one.gap_mm is not None:
            gap, step = (np.interp(one.plank_mm, at, [truth[x][key] for x in at]) for key in ("gap_mm", "proud_mm"))
            rows.append((one.gap_mm - gap, one.gap_u95_mm, gap, one.proud_mm - step, one.proud_u95_mm))
    rows = np.array(rows, float)
    assert 5.0 * len(rows) > 0.85 * (at[-1] - at[0])
    assert np.mean(np.abs(rows[:, 0]) <= rows[:, 1]) >= 0.91
    assert np.mean(np.abs(rows[:, 3]) <= rows[:, 4]) >= 0.91
    opened = {one.plank_mm for one in found.measurement.samples if one.state == "open"}
    assert not [place for place in opened if np.interp(place, at, [truth[x]["gap_mm"] for x in at]) < 0.02]


def test_the_clamp_is_covered_not_measured(plank):
    found, _ = plank
    view = scenes()[1]
    clamp = view.plank_at_mm + view.clamps_mm[0]
    states = [one.state for one in found.measurement.samples if abs(one.plank_mm - clamp) <= 8.0]
    assert states
    assert set(states) == {"covered"}
