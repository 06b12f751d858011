"""The answer on a terminal: few lines, nothing dropped unsaid, nothing dim that is to be done or is short."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.advice.planing import advise
from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.refusal import Reason
from fitcheck.report.edge.answer import rows, summary_lines
from fitcheck.report.edge.brief import MOST_EACH, MOST_LINES, brief_lines
from fitcheck.report.edge.table import print_table, table_lines
from fitcheck.report.edge.wording import Wording
from tests.report import invented

PLANK = invented.whole_plank()
SAID = re.compile(r"(?:and )?(\d+) (?:more to be done or known first|more notes|note): --all")


def many(cuts, shorts, notes):
    """A plank with so many cuts, short stretches and notes, all invented."""
    planing = {
        "verdict": "plane",
        "cuts": [
            {"from_mm": 40.0 * i, "to_mm": 40.0 * i + 30, "deepest_mm": 0.9, "profile": [[0, 0]]} for i in range(cuts)
        ],
        "short": [{"from_mm": 40.0 * i, "to_mm": 40.0 * i + 20, "most_mm": 1.2} for i in range(shorts)],
        "warnings": [{"code": f"w{i}", "text": f"A note of some length, number {i}. " * 3} for i in range(notes)],
    }
    return replace(PLANK, planing=planing)


@settings(deadline=None)
@given(st.integers(0, 12), st.integers(0, 12), st.integers(0, 9), st.sampled_from([MOST_LINES, MOST_EACH]))
def test_the_answer_is_short_and_counts_what_it_leaves_out(cuts, shorts, notes, most):
    fit = many(cuts, shorts, notes)
    lines = brief_lines(fit, Wording.of(fit), most=most)
    assert len(lines) <= most
    assert all(len(line) <= 78 for line in lines)
    assert "--all" in lines[-1]
    told = sum(line.startswith(("  plane ", "  short by ")) for line in lines)
    left = next((int(found[1]) for line in lines if "known first" in line and (found := SAID.search(line))), 0)
    assert told + left == cuts + shorts
    if most == MOST_LINES:
        noted = sum(line.startswith("  Note: ") for line in lines)
        left = next((int(found[1]) for line in lines if "note" in line and (found := SAID.search(line))), 0)
        assert noted + left == notes


@pytest.mark.parametrize("make", [invented.one_photo, invented.whole_plank, invented.refused])
def test_every_answer_fits(make):
    held = io.StringIO()
    print_table(make(), held, most=MOST_LINES)
    assert len(held.getvalue().splitlines()) <= MOST_LINES


def test_a_refusal_with_many_reasons_is_cut_short_and_says_so():
    refused = Measurement("refused", {}, reasons=tuple(Reason("no-line", "Why it is so. " * 12) for _ in range(9)))
    lines = brief_lines(refused, Wording())
    assert len(lines) == MOST_LINES
    assert lines[-1].endswith("more: --all")


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.mark.parametrize("most", [None, MOST_LINES])
def test_what_is_short_or_unseen_is_not_dim(most):
    held = Terminal()
    print_table(invented.one_photo(), held, most=most)
    dim = [line for line in held.getvalue().splitlines() if "\x1b[2m" in line]
    assert all("Note:" in line for line in dim)
    assert any("short by" in line and "\x1b[1m" in line for line in held.getvalue().splitlines())


def test_stretches_that_could_not_be_seen_are_merged_and_summed_up():
    states = (["on"] * 20 + ["covered"] * 5 + ["hidden"] * 3 + ["covered"] * 4) * 8
    samples = tuple(
        Sample(None, 0.0 if state == "on" else None, 0.2 if state == "on" else None, state, plank_mm=5.0 * i)
        for i, state in enumerate(states)
    )
    fit = Measurement("measured", invented.settings(units="mm"), samples=samples)
    said = [line for line in summary_lines(fit, Wording.of(fit)) if line.startswith("not measured")]
    assert len(said) == 1
    assert said[0].startswith("not measured 478 mm in all: ")
    assert "(covered, hidden)" in said[0]
    assert said[0].endswith("5 shorter places (covered, hidden)")


def test_no_stretch_runs_from_a_place_to_itself():
    fit = many(6, 6, 0)
    planing = {**fit.planing, "cuts": [{**cut, "to_mm": cut["from_mm"] + 2} for cut in fit.planing["cuts"]]}
    text = "\n".join(table_lines(replace(fit, planing=planing), Wording.of(fit)))
    assert "at the deepest, at " in text
    assert not re.search(r"from ([^,(]+) to \1[,\n]", text)


@settings(deadline=None)
@given(st.floats(0, 4000), st.floats(0, 60), st.sampled_from(["in", "mm"]), st.booleans())
def test_a_span_never_names_one_place_twice(low, length, units, on_plank):
    said = Wording(units=units, on_plank=on_plank).span(low, low + length)
    first, _, last = said.removeprefix("from ").partition(" to ")
    assert first != last


def test_what_was_measured_is_said_of_what():
    fit = invented.whole_plank()
    assert "measured 92 % of the 7 ft 10-1/2 in photographed" in "\n".join(summary_lines(fit, Wording.of(fit)))
    # 2400 mm less 50 + 50 under clamps and 80 unseen, each with the half steps beside it: 2210 of 3657.6 mm.
    ended = invented.whole_plank(ends_mm=[0.0, 3657.6])
    said = "\n".join(summary_lines(ended, Wording.of(ended)))
    assert "measured 60 % of the plank's 12 ft" in said
    assert "to 12 ft (unseen)" in said


def fit_of(values, units):
    samples = tuple(
        Sample(25.4 * i, value, u95, state_of(value, u95, invented.LIMIT)) for i, (value, u95) in enumerate(values)
    )
    planing = advise(samples, limit_mm=invented.LIMIT)
    return Measurement("measured", invented.settings(units=units), samples=samples, planing=planing)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(-40, 40), st.integers(10, 39)), min_size=3, max_size=26),
    st.sampled_from(["in", "mm"]),
)
def test_two_rows_that_print_alike_follow_alike(steps, units):
    """Readings a twentieth of a millimetre apart, doubts finer than 1/64 in: no two that differ print alike."""
    fit = fit_of([(0.05 * value, 0.01 * u95) for value, u95 in steps], units)
    follow = {}
    for row in rows(fit, Wording.of(fit), step_mm=25.4):
        follow.setdefault(row.edge, set()).add(row.means)
    # A cut runs fair from place to place, so the same reading may ask for more wood beside a deeper place.
    states = {edge: {means.split(" ")[0] for means in found} for edge, found in follow.items()}
    assert all(len(found) == 1 for found in states.values() if "plane" not in found)


def test_each_state_has_one_name():
    from fitcheck.report.drawing.palette import LOOKS

    samples = (
        Sample(0.0, 1.6, 0.2, "past"),
        Sample(25.4, -1.6, 0.2, "short"),
        Sample(50.8, 0.0, 0.2, "on"),
        Sample(76.2, 0.6, 0.3, "unsure"),
        *(Sample(101.6 + 25.4 * i, None, None, s) for i, s in enumerate(("hidden", "covered", "ambiguous"))),
    )
    for row in rows(Measurement("measured", {}, samples=samples), Wording(), step_mm=25.4):
        assert row.means.split(":")[0] == row.state == LOOKS[row.state].words


def test_what_is_to_be_done_goes_before_what_was_seen():
    fit = many(3, 1, 4)
    lines = brief_lines(fit, Wording.of(fit))
    assert sum("plane 1/32 in" in line for line in lines) == 3
    assert any(line.startswith("  not measured ") for line in lines)


def test_where_places_find_no_room_the_whole_is_told():
    fit = many(9, 0, 0)
    lines = brief_lines(fit, Wording.of(fit))
    assert "  not measured 7-1/2 in in all (covered, unseen)" in lines


def test_photographs_that_were_dropped_are_named():
    why = [{"code": "photo-blurred", "text": "p04.jpg is blurred. Photograph again."}]
    photos = [{"name": f"p{i:02d}.jpg", "reasons": why if i == 4 else []} for i in range(1, 9)]
    fit = replace(PLANK, photos=tuple(photos))
    assert "  not used: p04.jpg (p04.jpg is blurred)" in brief_lines(fit, Wording.of(fit))
    several = replace(PLANK, photos=tuple({**photo, "reasons": why} for photo in photos))
    text = " ".join("\n".join(brief_lines(several, Wording.of(several))).split())
    assert "p01.jpg, p02.jpg" in text
    assert "p08.jpg (the reasons: --all)" in text


@pytest.mark.parametrize("dropped", [1, 8, 30])
def test_however_many_were_dropped_what_is_to_be_done_is_told_or_counted(dropped):
    photos = tuple({"name": f"p{i:02d}.jpg", "reasons": [{"code": "x", "text": "Blurred."}]} for i in range(dropped))
    fit = replace(many(9, 4, 5), photos=(*photos, {"name": "used.jpg", "reasons": []}))
    lines = brief_lines(fit, Wording.of(fit))
    assert len(lines) <= MOST_LINES
    assert any("more to be done or known first: --all" in line for line in lines)
    assert all(photo["name"] in "\n".join(lines) for photo in photos)
