"""States, guarded cuts and the summary are decided on unrounded numbers, and nothing is bridged in silence."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.advice.states import Stretch, guarded_cut_mm, state_of, stretches, summary
from fitcheck.contract.measurement import Sample

LENGTHS = st.floats(-20, 20, allow_nan=False)
DOUBTS = st.floats(0, 5)


def sample(place, value=0.0, u95=0.1, state="on"):
    valued = state not in ("hidden", "covered", "ambiguous")
    return Sample(place, value if valued else None, u95 if valued else None, state)


@given(LENGTHS, DOUBTS, st.floats(0, 3))
def test_a_state_is_what_its_whole_interval_allows(value, u95, limit):
    low, high = value - u95, value + u95
    state = state_of(value, u95, limit)
    assert (state == "past") == (low > limit)
    assert (state == "short") == (high < -limit)
    assert (state == "on") == (abs(value) + u95 <= limit)


@given(LENGTHS, DOUBTS, st.floats(0, 3))
def test_past_and_short_are_mirror_images(value, u95, limit):
    mirrored = {"past": "short", "short": "past"}
    state = state_of(value, u95, limit)
    assert state_of(-value, u95, limit) == mirrored.get(state, state)


def test_it_is_decided_before_rounding():
    # 1/32 in and a hair: prints as 1/32 in, yet lies beyond a limit of 1/32 in.
    limit = float(Fraction(254, 320))
    assert state_of(limit, 0.0, limit) == "on"
    assert state_of(limit + 1e-6, 0.0, limit) == "past"


@pytest.mark.parametrize("bad", [(math.nan, 0.1, 1), (1.0, math.inf, 1), (1.0, -0.1, 1), (1.0, 0.1, -1)])
def test_what_is_no_measurement_has_no_state(bad):
    with pytest.raises(ValueError, match="no state"):
        state_of(*bad)


@given(LENGTHS, DOUBTS)
def test_a_guarded_cut_never_passes_what_is_surely_past(value, u95):
    cut = guarded_cut_mm(value, u95)
    assert cut >= 0
    assert cut == 0 or value - cut >= u95 * (1 - 1e-12) - 1e-12


def test_runs_meet_half_way_and_a_gap_is_its_own_stretch():
    places = [sample(0), sample(5), sample(10, state="covered"), sample(15), sample(60, state="hidden")]
    assert stretches(places) == [
        Stretch(0, 7.5, "on"),
        Stretch(7.5, 12.5, "covered"),
        Stretch(12.5, 15, "on"),
        Stretch(15, 60, "unseen"),
        Stretch(60, 60, "hidden"),
    ]


@given(st.lists(st.tuples(st.integers(0, 200), st.sampled_from(["on", "past", "covered"])), min_size=1, max_size=40))
def test_stretches_cover_the_lap_once_whatever_the_order(drawn):
    places = [sample(5.0 * place, state=state) for place, state in {p: (p, s) for p, s in drawn}.values()]
    runs = stretches(places)
    assert runs[0].from_mm == min(p.place_mm() for p in places)
    assert runs[-1].to_mm == max(p.place_mm() for p in places)
    assert all(left.to_mm == right.from_mm for left, right in pairwise(runs))
    assert stretches(places[::-1]) == runs


def test_the_summary_names_the_extremes_and_what_is_unseen():
    places = [sample(5 * i, 0.5 - 0.1 * i, 0.2, "unsure") for i in range(11)]
    places += [sample(5 * i, state="hidden") for i in range(11, 21)]
    fit = summary(places)
    assert (fit.longest_past.at_mm, fit.longest_past.past_line_mm) == (0.0, 0.5)
    assert (fit.longest_short.at_mm, fit.longest_short.past_line_mm) == (50.0, pytest.approx(-0.5))
    assert fit.share_measured == pytest.approx(52.5 / 100)
    assert fit.unseen == (Stretch(52.5, 100, "hidden"),)
    assert fit.as_json()["unseen"] == [{"from_mm": 52.5, "to_mm": 100, "why": "hidden"}]


def test_an_edge_past_everywhere_has_no_shortest():
    assert summary([sample(0, 1.0), sample(5, 2.0)]).longest_short is None


def test_nothing_measured_is_a_summary_too():
    fit = summary([sample(0, state="hidden")])
    assert (fit.longest_past, fit.longest_short, fit.share_measured) == (None, None, 0.0)
    assert summary([]).share_measured == 0.0
