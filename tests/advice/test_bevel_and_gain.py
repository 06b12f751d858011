"""Which bevel to plane, and the step against its gain, by plain geometry and by what the trade does."""

import numpy as np
import pytest

from fitcheck.advice.bevel import bevel_advice
from fitcheck.advice.gain_run import gain_advice
from fitcheck.contract.gain import GainShape, read_gain
from fitcheck.contract.gap_measurement import GapSample
from fitcheck.ground.refusal import WrongCall


def at(place, gap=0.0, u95=0.1, state="closed", proud=12.7, flags=()):
    return GapSample(float(place), gap, u95, proud, 0.2, (0.0, 0.0), state, flags)


def opened(gap, u95=0.1, low=0, high=100):
    return [at(x, gap, u95, "open") for x in range(low, high + 1, 5)]


def test_planed_as_advised_the_plank_would_lie_on_the_whole_lap():
    """The plank bears at the strake's upper edge and stands off by g at the lap line. With the wedge off, the space
    between them is the same over the whole lap: the plank comes in by it and is closed everywhere."""
    gap, lap = 0.6, 25.4
    depth = bevel_advice(opened(gap, 0.0), lap_mm=lap, thickness_mm=12.7)["runs"][0]["deepest_mm"]
    off_line = np.linspace(0.0, lap, 11)
    space = gap * (1.0 - off_line / lap) + depth * off_line / lap
    assert np.allclose(space, gap)


def test_the_bevel_grows_by_the_angle_of_the_wedge():
    run = bevel_advice(opened(1.0, 0.0), lap_mm=25.4, thickness_mm=12.7)["runs"][0]
    assert run["more_deg"] == pytest.approx(np.degrees(np.arctan(1.0 / 25.4)))


def test_never_more_wood_than_is_surely_open():
    run = bevel_advice(opened(0.5, 0.3), lap_mm=25.4, thickness_mm=12.7)["runs"][0]
    assert 0.0 < run["deepest_mm"] <= 0.5 - 0.3 * 1.645 / 1.96 + 1e-3


@pytest.mark.parametrize("state", ["closed", "unsure", "covered"])
def test_nothing_to_plane_where_the_lap_is_not_surely_open(state):
    gap = None if state == "covered" else 0.4
    assert bevel_advice([at(x, gap, 0.4, state) for x in range(0, 100, 5)], lap_mm=25.4, thickness_mm=9.5) is None


def test_two_open_stretches_are_two():
    runs = bevel_advice(opened(0.5) + opened(0.4, low=200, high=260), lap_mm=None, thickness_mm=9.5)["runs"]
    assert [(run["from_mm"], run["to_mm"], run["more_deg"]) for run in runs] == [(0, 100, None), (200, 260, None)]


def test_a_gain_of_a_small_boat_runs_from_a_quarter_inch_to_flush():
    """About 1/4 in where the gain begins, flush at the end (common practice, no source)."""
    gain = read_gain("14in,1/4in,0in,eased")
    heights = gain.height_mm(np.array([0.0, 14 * 25.4]), 14 * 25.4)
    assert heights.tolist() == [pytest.approx(6.35), pytest.approx(0.0)]
    assert np.all(np.diff(gain.height_mm(np.linspace(0, 355.6, 50), 355.6)) <= 0)


@pytest.mark.parametrize("text", ["14in", "a,b,c", "0in,1/4in,0in", "14in,1/4in,0in,0in,eased"])
def test_a_gain_that_cannot_be_read_is_a_wrong_call(text):
    with pytest.raises(WrongCall):
        read_gain(text)


@pytest.mark.parametrize("toward", [1, -1])
def test_a_step_as_the_gain_asks_is_left_alone_whichever_way_it_runs(toward):
    shape = GainShape(200.0, 8.0, toward=toward)
    places = np.arange(-150.0, 151.0, 5.0)
    samples = [at(x, proud=float(h)) for x, h in zip(places, shape.height_mm(places, 100.0 * toward), strict=True)]
    advice = gain_advice(samples, GainShape(200.0, 8.0))
    assert advice["end_mm"] == pytest.approx(100.0 * toward, abs=2.5)
    assert not advice["take_off"]
    assert not advice["over_cut"]
    assert advice["flush"]


def test_a_step_left_too_high_is_to_come_off_and_one_cut_too_deep_is_told():
    shape = GainShape(200.0, 8.0, end_mm=100.0)
    places = np.arange(-150.0, 151.0, 5.0)
    wrong = np.where((places > -60) & (places < -30), 1.0, np.where((places > 20) & (places < 50), -1.0, 0.0))
    heights = shape.height_mm(places, 100.0) + wrong
    advice = gain_advice([at(x, proud=float(h)) for x, h in zip(places, heights, strict=True)], shape)
    (off,), (cut,) = advice["take_off"], advice["over_cut"]
    assert (off["from_mm"], off["to_mm"], cut["from_mm"], cut["to_mm"]) == (-55.0, -35.0, 25.0, 45.0)
    assert [off["most_mm"], cut["most_mm"]] == pytest.approx([0.8, 0.8])


def test_without_a_reference_the_step_is_not_judged():
    samples = [at(x, flags=("scale-from-thickness",)) for x in range(0, 200, 5)]
    assert gain_advice(samples, GainShape(200.0, 8.0)) is None
