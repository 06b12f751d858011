"""Edge-on answers to a request: what no photograph can answer is a wrong call, before anything is measured."""

from __future__ import annotations

import pytest

from fitcheck.answering.gap_answers import gap_request
from fitcheck.answering.given import Given
from fitcheck.answering.read_request import read_gap_request
from fitcheck.answering.request import ForRecord
from fitcheck.contract.hints import Hints
from fitcheck.ground.refusal import WrongCall
from tests.samples import PLAIN, TEAL


@pytest.fixture
def nothing_read(monkeypatch):
    monkeypatch.setattr("fitcheck.picture.photo.load_photo", lambda *_, **__: pytest.fail("a photograph was read"))


@pytest.mark.parametrize("reference", [None, "thickness", "station"])
def test_a_seam_needs_a_card_or_rule_beside_it(nothing_read, reference):
    hints = Hints(edge_at_px=((10.0, 10.0), (90.0, 10.0)))
    request = read_gap_request(
        [PLAIN], Given(reference=reference, thickness="9mm", hints=hints), camera=TEAL, seam=True
    )
    with pytest.raises(WrongCall, match="--seam needs --reference"):
        gap_request(request)


def test_a_place_in_one_photograph_says_nothing_of_a_whole_plank(nothing_read):
    given = Given(reference="station", thickness="9mm", hints=Hints(edge_at_px=((10.0, 10.0),)))
    with pytest.raises(WrongCall, match="one photograph"):
        gap_request(read_gap_request([PLAIN, PLAIN], given, camera=TEAL))


def test_a_seam_goes_not_on_record():
    given = Given(reference="id1", thickness="9mm", plank="4 port")
    with pytest.raises(WrongCall, match="does not go on record"):
        read_gap_request([PLAIN], given, camera=TEAL, seam=True)
    assert read_gap_request([PLAIN], given, camera=TEAL, seam=True, record=ForRecord(wanted=False)).seam


def test_a_photograph_that_is_no_edge_on_view_is_an_answer_that_is_false():
    shares = []
    lap = Given(reference="id1", thickness="12.7mm")
    (answer,) = gap_request(read_gap_request([PLAIN], lap, camera=TEAL), shares.append)
    assert not answer.measurement
    assert answer.measurement.reasons[0].code == "not-edge-on"
    assert [photo.path for photo in answer.read] == [PLAIN]
    assert shares == [1.0]
