"""The words and rows of the answer: builder's units, no signs, depths never rounded up, places as the picture shows."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.advice.cut_depth import depth_at
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.lengths import parse_length
from fitcheck.report.edge.answer import planing_lines, rows, summary_lines, verdict_words, warning_lines
from fitcheck.report.edge.stations import ticket_rows
from fitcheck.report.edge.table import print_table, table_lines
from fitcheck.report.edge.wording import Wording
from tests.report import invented


@given(st.floats(0.4, 30), st.sampled_from(["in", "mm"]))
def test_a_depth_is_never_rounded_up(mm, units):
    said = Wording(units=units).depth(mm)
    finest = 25.4 / 64 if units == "in" else 0.1
    assert mm - finest - 1e-6 <= parse_length(said) <= mm + 1e-5


def test_a_depth_under_the_finest_mark_is_a_shaving():
    assert Wording().depth(0.39) == "a shaving"
    assert Wording().depth(25.4 / 64) == "1/64 in"


@pytest.mark.parametrize("keel", ["down", "up"])
def test_places_are_said_as_the_picture_shows_them(keel):
    fit = invented.one_photo(keel)
    wording = Wording.of(fit)
    for sample in fit.samples:
        if sample.edge_px is None or abs(sample.along_mm) < 4:
            continue
        side = "right" if sample.edge_px[0] > invented.CENTRE_PX[0] else "left"
        assert wording.place(sample.along_mm).endswith(side)
    seen = [row.place for row in rows(fit, wording)]
    assert seen[0].endswith("left")
    assert seen[-1].endswith("right")


def test_the_rows_carry_the_samples_they_name():
    fit = invented.one_photo()
    by_place = {sample.along_mm: sample for sample in fit.samples}
    found = rows(fit, Wording.of(fit))
    assert 8 <= len(found) <= 30
    for row in found:
        sample = by_place[row.at_mm]
        assert row.state == sample.state
        assert (row.edge == "—") == (sample.past_line_mm is None)
        if sample.past_line_mm is not None and abs(sample.past_line_mm) > 0.5:
            assert row.edge.startswith("past" if sample.past_line_mm > 0 else "short")
        assert row.means.startswith("plane ") == (depth_at(fit.planing["cuts"], row.at_mm) > 0)


def test_the_extremes_always_have_a_row():
    fit = invented.one_photo()
    worst = max((s for s in fit.samples if s.past_line_mm is not None), key=lambda s: s.past_line_mm)
    assert worst.along_mm in [row.at_mm for row in rows(fit, Wording.of(fit), step_mm=300)]


def test_a_long_plank_keeps_its_table_short():
    fit = invented.whole_plank()
    assert len(rows(fit, Wording.of(fit))) <= 30


@pytest.mark.parametrize("most", [12, 20, 40])
def test_a_ticket_names_every_station_card_once_and_holds_its_length(most):
    fit = invented.whole_plank()
    named = [name for name, _ in ticket_rows(fit, Wording.of(fit), most=most)]
    assert len(named) <= most
    cards = [name.split(":")[0] for name in named if name.startswith("card")]
    # Cards 0 to 8 each 300 mm; card 7 at 2100 mm lies in the stretch no photograph saw.
    assert cards == [f"card {n}" for n in (0, 1, 2, 3, 4, 5, 6, 8)]


def test_the_summary_says_what_is_unseen_and_why():
    fit = invented.one_photo()
    said = "\n".join(summary_lines(fit, Wording.of(fit)))
    assert "longest: past 3/32 in ± 1/64, at 6 in right" in said
    assert "shortest: short 5/64 in ± 1/64, at 6-3/4 in left" in said
    assert "not measured 3-1/4 in in all: from 3/4 in right to 2-1/2 in right (covered), from 11 in right" in said
    assert said.endswith("to 12-1/2 in right (hidden)")


def test_planing_lines_are_instructions():
    fit = invented.one_photo()
    lines = planing_lines(fit.planing, Wording.of(fit))
    assert lines[0].startswith("short by up to")
    assert lines[-1].startswith("then plane 3/64 in at the deepest, from 2-1/2 in right")
    assert verdict_words(fit.planing)[0] == "SHORT"


def test_warnings_are_said_once():
    fit = invented.one_photo()
    lines = warning_lines(fit)
    assert len(lines) == len(set(lines))
    assert any("bevel" in line for line in lines)


@pytest.mark.parametrize("make", [invented.one_photo, invented.whole_plank, invented.refused])
def test_the_table_is_plain_narrow_text_without_bare_signs(make):
    held = io.StringIO()
    print_table(make(), held)
    text = held.getvalue()
    assert "\x1b" not in text
    for line in text.splitlines():
        assert len(line) <= 90
        assert not any(word[:1] in "+-−" and word[1:2].isdigit() for word in line.split())


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_a_terminal_gets_the_same_words():
    import re

    plain, shown = io.StringIO(), Terminal()
    print_table(invented.one_photo(), plain)
    print_table(invented.one_photo(), shown)
    assert "\x1b[" in shown.getvalue()
    assert re.sub(r"\x1b\[[0-9;]*m", "", shown.getvalue()) == plain.getvalue()


def test_a_refusal_says_of_what_and_why():
    refused = invented.refused()
    refused = replace(refused, settings={**refused.settings, "plank": "4 port"})
    lines = table_lines(refused, Wording())
    assert lines[:2] == ["4 port", "NOT MEASURED"]
    assert "No lap line is in sight" in lines[2]
    unnamed = replace(refused, settings={}, photos=({"name": "lap.jpg"},))
    assert table_lines(unnamed, Wording())[0] == "lap.jpg"


def test_units_asked_for_are_used():
    held = io.StringIO()
    print_table(invented.one_photo(), held, units="mm")
    assert "past 2.20 mm ± 0.27" in held.getvalue()


def test_one_sample_makes_a_table():
    fit = Measurement("measured", {}, samples=(Sample(0.0, 0.1, 0.2, "on"),))
    assert [row.place for row in rows(fit, Wording.of(fit))] == ["middle"]
