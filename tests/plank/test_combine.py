"""Putting photographs together: overlaps, clamps filled by another photograph, what none saw, and disagreement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.advice.states import stretches
from fitcheck.contract.measurement import Sample
from fitcheck.contract.settings import Settings
from fitcheck.plank.combine import combine, leave_out_strays, settle
from fitcheck.plank.photo_values import Strand

SETTINGS = Settings(reference="station", thickness_mm=12.7)


def fit_mm(place):
    """An invented fair edge."""
    return 1.2 * np.sin(np.asarray(place) / 250.0)


def strand(name, low, high, *, bias=0.0, own=0.1, photo=0.2, shared=0.1, covered=None, value=fit_mm):
    place = np.arange(low, high + 1.0, 5.0)
    past = value(place) + bias
    hidden = np.zeros(len(place), bool) if covered is None else (place >= covered[0]) & (place <= covered[1])
    past = np.where(hidden, np.nan, past)
    samples = tuple(
        Sample(None, None if np.isnan(v) else float(v), None, "covered" if np.isnan(v) else "on", plank_mm=float(x),
               edge_px=(x, 1.0))
        for x, v in zip(place, past, strict=True)
    )  # fmt: skip
    full = lambda u: np.full(len(place), u)  # noqa: E731
    return Strand(name, place, past, full(own), full(photo), full(shared), samples, {"edge": full(own)})


def by_place(combined):
    return {sample.plank_mm: sample for sample in combined.samples}


def test_each_place_once_and_named_by_its_photographs():
    combined = combine([strand("a.jpg", 0, 500), strand("b.jpg", 300, 800)], SETTINGS)
    places = [sample.plank_mm for sample in combined.samples]
    assert places == list(np.arange(0.0, 801.0, 5.0))
    assert set(by_place(combined)[400.0].photos) == {"a.jpg", "b.jpg"}
    assert by_place(combined)[100.0].photos == ("a.jpg",)
    assert all(sample.along_mm is None for sample in combined.samples)
    assert not combined.warnings


def test_the_order_of_photographs_does_not_matter():
    three = [strand("a.jpg", 0, 500, bias=0.1), strand("b.jpg", 300, 800), strand("c.jpg", 600, 900, bias=-0.1)]
    one, other = combine(three, SETTINGS), combine(three[::-1], SETTINGS)
    for here, there in zip(one.samples, other.samples, strict=True):
        assert here.plank_mm == there.plank_mm
        assert here.past_line_mm == pytest.approx(there.past_line_mm)
        assert here.u95_mm == pytest.approx(there.u95_mm)


def test_a_clamp_in_one_photograph_is_filled_by_another_and_else_stays_covered():
    combined = by_place(
        combine([strand("a.jpg", 0, 500, covered=(380, 420)), strand("b.jpg", 300, 800, covered=(640, 700))], SETTINGS)
    )
    assert combined[400.0].photos == ("b.jpg",)
    assert combined[400.0].past_line_mm == pytest.approx(fit_mm(400.0), abs=0.02)
    assert combined[660.0].state == "covered"
    assert combined[660.0].past_line_mm is None


def test_what_no_photograph_saw_is_unseen_and_not_bridged():
    combined = combine([strand("a.jpg", 0, 300), strand("b.jpg", 500, 800)], SETTINGS)
    assert not [sample for sample in combined.samples if 300 < sample.plank_mm < 500]
    assert [(run.from_mm, run.to_mm) for run in stretches(combined.samples) if run.label == "unseen"] == [(300, 500)]


def test_two_readings_are_weighed_as_their_variances_ask():
    """Own parts 0.1 and 0.2, no common part to speak of: u = 1 / sqrt(1/0.01 + 1/0.04) = 0.0894 (weighted mean)."""
    two = [strand(name, 0, 500, own=own, photo=1e-4, shared=1e-6) for name, own in (("a.jpg", 0.1), ("b.jpg", 0.2))]
    assert by_place(combine(two, SETTINGS))[250.0].u95_mm == pytest.approx(1.96 * 0.0894, rel=0.01)


def test_what_all_photographs_share_does_not_shrink():
    many = [strand(f"{k}.jpg", 0, 500, own=0.05, photo=0.05, shared=0.3) for k in range(6)]
    assert by_place(combine(many, SETTINGS))[250.0].u95_mm > 1.96 * 0.3


def test_overlaps_settle_what_is_common_to_a_photograph():
    three = [strand("a.jpg", 0, 500, bias=0.3), strand("b.jpg", 300, 800), strand("c.jpg", 600, 900)]
    shift, covariance = settle(three)
    assert shift[0] - shift[1] == pytest.approx(0.3, abs=0.05)
    assert np.sqrt(np.diag(covariance)).max() < 0.2
    # Nothing outside tells which of them is right: their mean keeps a doubt of its own.
    mean = np.full(3, 1 / 3)
    assert np.sqrt(mean @ covariance @ mean) > 0.08


def test_photographs_that_disagree_are_told_and_the_doubt_grows():
    apart = lambda x: fit_mm(x) + np.where((x > 380) & (x < 460), 0.7, 0.0)  # noqa: E731
    agree = by_place(combine([strand("a.jpg", 0, 500), strand("b.jpg", 300, 800)], SETTINGS))
    combined = combine([strand("a.jpg", 0, 500, value=apart), strand("b.jpg", 300, 800)], SETTINGS)
    assert [warning.code for warning in combined.warnings] == ["photos-disagree"]
    assert "a.jpg and b.jpg" in combined.warnings[0].text
    for units, other in (("in", " mm "), ("mm", " in ")):
        told = combine(
            [strand("a.jpg", 0, 500, value=apart), strand("b.jpg", 300, 800)], replace(SETTINGS, units=units)
        )
        stretch = told.warnings[0].text.partition("a.jpg")[0]
        assert f" {units} " in stretch
        assert other not in stretch
    assert by_place(combined)[400.0].u95_mm > 1.5 * agree[400.0].u95_mm


def test_a_stray_beside_a_clamp_is_no_edge():
    """A clamp's pad drew one photograph's edge 2 mm off for a hand's breadth: the others' fair edge stands."""
    stray = lambda x: fit_mm(x) + np.where(x < 380, 2.0, 0.0)  # noqa: E731
    three = [strand("a.jpg", 0, 500), strand("b.jpg", 300, 800, value=stray), strand("c.jpg", 600, 1100)]
    kept = leave_out_strays(three)
    assert np.isnan(kept[1].past_mm[kept[1].place_mm < 380]).all()
    assert np.isfinite(kept[1].past_mm[kept[1].place_mm >= 400]).all()
    assert np.isfinite(kept[0].past_mm).all()


def test_a_true_swelling_of_the_edge_is_kept():
    """An edge 1.5 mm proud over 300 mm, as a plank cut by eye may be, is measured and not called a stray."""
    swollen = lambda x: fit_mm(x) + 1.5 * np.exp(-(((np.asarray(x) - 450.0) / 110.0) ** 2))  # noqa: E731
    strands = [strand(n, low, low + 500, value=swollen) for n, low in (("a.jpg", 0), ("b.jpg", 300), ("c.jpg", 600))]
    assert all(np.isfinite(one.past_mm).all() for one in leave_out_strays(strands))
