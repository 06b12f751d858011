"""Once it is told where the reference lay on the tape, places are the tape's, in every sense it can run."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.ground.lengths import parse_length
from fitcheck.report.edge.answer import planing_lines, rows
from fitcheck.report.edge.stations import ticket_rows
from fitcheck.report.edge.table import table_lines
from fitcheck.report.edge.wording import Wording
from tests.report import invented

AT_MM = 48 * 25.4


@pytest.mark.parametrize("keel", ["down", "up"])
@pytest.mark.parametrize("sign", [1, -1])
def test_table_and_ticket_say_what_the_tape_reads(keel, sign):
    fit = invented.one_photo(keel, at_mm=AT_MM, along_sign=sign)
    wording = Wording.of(fit)
    for name, row in [(row.place, row) for row in rows(fit, wording)] + ticket_rows(fit, wording, most=20):
        assert parse_length(name) == pytest.approx(AT_MM + sign * row.at_mm, abs=25.4 / 8 + 1e-6)
    places = [parse_length(row.place) for row in rows(fit, wording)]
    assert places == sorted(places)
    text = "\n".join(table_lines(fit, wording))
    assert " in left" not in text
    assert " in right" not in text
    assert "Places are the tape's; the reference's middle lies at 4 ft." in " ".join(text.split())


def test_rows_stand_at_round_places_of_the_tape():
    fit = invented.one_photo(at_mm=AT_MM + 7.0, along_sign=-1)
    places = [row.place for row in rows(fit, Wording.of(fit))]
    assert sum(place.endswith(("ft", " in")) and "/" not in place for place in places) >= len(places) - 3


def test_what_is_to_be_planed_is_said_by_the_tape_from_low_to_high():
    fit = invented.one_photo(at_mm=AT_MM, along_sign=-1)
    # In the picture from 2-1/2 in to 9-1/4 in right of the card: 4 ft less that.
    assert "from 3 ft 2-3/4 in to 3 ft 9-1/2 in" in "\n".join(planing_lines(fit.planing, Wording.of(fit)))


@settings(deadline=None)
@given(st.floats(-5000, 5000), st.floats(-600, 600), st.sampled_from([1, -1]), st.sampled_from([25.4, 76.2, 100.0]))
def test_round_places_are_round_on_the_tape_and_inside(at_mm, low, sign, step):
    wording = Wording(on_plank=False, at_mm=at_mm, along_sign=sign)
    found = wording.round_places(low, low + 700, step)
    assert 6 <= len(found) <= 29
    for mm in found:
        assert low - 1e-6 <= mm <= low + 700 + 1e-6
        assert wording.on_tape(mm) / step == pytest.approx(round(wording.on_tape(mm) / step), abs=1e-6)
        assert wording.off_tape(wording.on_tape(mm)) == pytest.approx(mm, abs=1e-6)


def test_cuts_are_told_in_the_order_of_the_rows():
    cuts = [{"from_mm": at, "to_mm": at + 50.0, "deepest_mm": 0.9} for at in (0.0, 200.0)]
    planing = {"verdict": "plane", "cuts": cuts, "short": []}
    lines = planing_lines(planing, Wording(on_plank=False, at_mm=AT_MM, along_sign=-1))
    assert "from 3 ft 2-1/4 in" in lines[0]
    assert lines[1].endswith("to 4 ft")
