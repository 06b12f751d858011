"""How the plank may move, read from text: any swing, the hull's own limits."""

from __future__ import annotations

import pytest

from fitcheck.advice.planing.planing_advice import advise
from fitcheck.answering.given import GivenMove
from fitcheck.answering.read_planing import read_planing, swing_of
from fitcheck.contract.measurement import Sample
from fitcheck.ground.refusal import WrongCall
from tests.fitlog.made import HULL, made_hull


def test_a_swing_is_told_over_any_length():
    assert swing_of("1mm") == 1.0
    assert swing_of("1/8in over 10ft") == pytest.approx(25.4 / 8 / 3.048)
    assert swing_of("3mm over 3m") == pytest.approx(1.0)
    for wrong in ("1/8in over 0in", "1/8in over", "1/8in over ten feet", "over 10ft"):
        with pytest.raises(WrongCall):
            swing_of(wrong)


def test_a_swing_told_over_ten_feet_is_the_swing_that_is_allowed():
    assert read_planing(GivenMove(may_swing="1/8in over 10ft")).may_swing_mm_per_m == pytest.approx(25.4 / 8 / 3.048)


def test_the_longest_stretch_without_an_answer_is_the_hulls(tmp_path):
    hull = made_hull(tmp_path, HULL.replace("[[strakes]]", '[limits]\nunseen = "30mm"\n\n[[strakes]]', 1))
    seen = [
        Sample(x, None if 400 <= x <= 450 else 0.1, 0.2, "hidden" if 400 <= x <= 450 else "on")
        for x in range(0, 1000, 5)
    ]
    for terms, verdict in ((read_planing(GivenMove(), hull), "look again"), (read_planing(GivenMove()), "good")):
        assert advise(seen, limit_mm=0.8, look_again_mm=terms.look_again_mm)["verdict"] == verdict
