"""Which boundary is the lap's: likely ones, rivals, and a reference that lies on the plank."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.ground.refusal import Refused
from fitcheck.lap.course.boundaries import Boundary
from fitcheck.lap.course.which_lap import keel_of, likely_laps
from tests.lap.made_pose import standing

POSE = standing((0.0, -70.0, 500.0))


def boundary(y_mm: float, *, strength=8.0, crease=0.1, grain=3.0) -> Boundary:
    along = np.arange(-200.0, 200.0, 4.0)
    return Boundary(along, np.full(len(along), y_mm), strength, crease, grain)


def places(found: list[Boundary], keel: str = "auto") -> list[float]:
    return [one.off_mm for one in likely_laps(found, POSE, keel)]


def test_the_strong_one_with_a_crease_near_the_reference_is_the_lap():
    assert places([boundary(40.0), boundary(-120.0), boundary(90.0, strength=4.0)]) == [40.0]


def test_one_as_likely_is_a_rival_on_either_side():
    assert places([boundary(40.0), boundary(70.0, strength=10.0)]) == [40.0, 70.0]
    assert places([boundary(40.0), boundary(-42.0)]) == [40.0, -42.0]


def test_an_edge_and_the_end_of_its_shadow_are_no_rivals():
    assert places([boundary(40.0), boundary(34.0)]) == [34.0]


def test_the_keel_told_leaves_one_side():
    found = [boundary(40.0), boundary(-42.0, strength=12.0)]
    keel = keel_of(found[0], POSE)
    assert places(found, keel) == [40.0]
    assert places(found, "up" if keel == "down" else "down") == [-42.0]


def test_a_reference_on_the_plank_is_told_by_the_crease_beyond_the_edge():
    with pytest.raises(Refused) as refused:
        likely_laps([boundary(40.0, crease=-0.3)], POSE, "auto")
    assert refused.value.reason.code == "reference-on-plank"


def test_nothing_near_is_no_edge():
    with pytest.raises(Refused) as refused:
        likely_laps([boundary(300.0), boundary(40.0, strength=1.0)], POSE, "auto")
    assert refused.value.reason.code == "no-edge"
