"""The headline is the whole truth where an edge is short: a move comes first, and no new plank is said too soon.

Headline, lines, table rows and record say the same. All planks here are invented.
"""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.advice.headline import headline_of
from fitcheck.advice.planing import advise
from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_advised_cuts
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.listing import standings_at
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.summary import summary_of
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from fitcheck.report.edge.answer import planing_lines, rows, verdict_words
from fitcheck.report.edge.page import page_html
from fitcheck.report.edge.table import table_lines
from fitcheck.report.edge.wording import Wording
from fitcheck.report.record import fit_lines
from fitcheck.report.record.edge_on_record import edge_lines
from tests.fitlog.made import made_hull
from tests.report import invented

LIMIT, U95 = invented.LIMIT, 0.2
FOUR = PlankName(4, "port")


def plank(values, on_plank=True):
    """Samples each 5 mm; a word in place of a value is a state without one."""
    found = []
    for i, value in enumerate(values):
        place = {"along_mm": None, "plank_mm": 5.0 * i} if on_plank else {"along_mm": 5.0 * i}
        if isinstance(value, str):
            found.append(Sample(past_line_mm=None, u95_mm=None, state=value, **place))
        else:
            state = state_of(float(value), U95, LIMIT)
            found.append(Sample(past_line_mm=float(value), u95_mm=U95, state=state, **place))
    return found


def answered(samples, **options):
    planing = advise(samples, limit_mm=LIMIT, lap_mm=25.4, **options)
    told = invented.settings(reference="station", plank="4 port")
    return Measurement("measured", told, samples=tuple(samples), planing=planing)


def after(sample, planing):
    off_mm = sample.place_mm() - planing["about_mm"]
    return sample.past_line_mm + planing["slide_mm"] + planing["swing_mm_per_m"] * off_mm / 1000


#: A metre, short at one end and past at the other, and what may be said of it.
SHORT_AND_PAST = np.linspace(2.5, -2.5, 201)


def test_a_move_that_mends_a_short_edge_is_found_unasked_and_comes_before_any_cut():
    samples = plank(SHORT_AND_PAST)
    advice = advise(samples, limit_mm=LIMIT, lap_mm=25.4)
    assert (advice["first"], advice["verdict"], advice["cuts"]) == ("slide", "look again", [])
    # Every place lies within reach of the plane after it: nowhere surely short.
    assert not [s for s in samples if state_of(after(s, advice), U95, LIMIT) == "short"]
    # It is no further than a quarter of the lap at either end.
    assert max(abs(after(s, advice) - s.past_line_mm) for s in samples) <= 2 * 0.25 * 25.4
    (short,) = advice["short_now"]
    assert (short["to_mm"], short["most_mm"]) == (1000.0, 2.5)


def test_a_swing_is_advised_only_where_the_plank_was_seen():
    whole = advise(plank(SHORT_AND_PAST), limit_mm=LIMIT, lap_mm=25.4)
    assert whole["swing_mm_per_m"] > 0
    one_photo = advise(plank(SHORT_AND_PAST, on_plank=False), limit_mm=LIMIT, lap_mm=25.4)
    assert one_photo["swing_mm_per_m"] == 0
    assert one_photo["first"] == "slide"
    # With 5 m of plank a metre of it tells no swing either.
    long = advise(plank(SHORT_AND_PAST), limit_mm=LIMIT, lap_mm=25.4, plank_length_mm=5000.0)
    assert long["swing_mm_per_m"] == 0


def test_wood_after_a_move_is_told_as_what_might_come_off():
    advice = advise(plank([3.0] * 100 + [-2.0] * 100), limit_mm=LIMIT, lap_mm=25.4)
    assert advice["first"] == "slide"
    assert advice["might_plane"]
    assert advice["cuts"] == []
    lines = planing_lines(advice, Wording())
    assert lines[0].startswith(("Slide the plank", "Swing"))
    assert any(line.startswith("only after that, there might come off about") for line in lines)
    assert not any(line.startswith(("plane ", "then plane ")) for line in lines)


@pytest.mark.parametrize(
    ("values", "options", "headline", "verdict"),
    [
        ([-2.0] * 200, {}, "slide first", "look again"),
        ([-9.0] * 200, {}, "recut", "recut"),
        ([-2.0] * 200, {"may_slide_mm": 0.0}, "recut", "recut"),
        ([-2.0] * 200, {"ends": "held"}, "recut", "recut"),
        # Most of the plank unseen, in the photographs or beyond them.
        ([-9.0] * 90 + ["hidden"] * 110, {}, "short", "look again"),
        ([-9.0] * 200, {"plank_length_mm": 2500.0}, "short", "look again"),
        ([3.0] * 90 + [0.0] * 20 + [-9.0] * 90, {}, "short", "plane"),
        ([3.0] * 90 + [0.0] * 20 + [-2.0] * 90, {"may_slide_mm": 0.0}, "short", "plane"),
        ([3.0] * 200, {}, "plane", "plane"),
        ([0.0] * 200, {}, "good", "good"),
    ],
)
def test_headline_lines_rows_and_record_agree(tmp_path, values, options, headline, verdict):
    fit = answered(plank(values), **options)
    assert headline_of(fit.planing) == headline
    assert fit.planing["verdict"] == verdict
    shown, asks = verdict_words(fit.planing)
    assert shown == headline.upper()
    assert f"<h1>{shown}</h1>" in page_html(fit)
    text = table_lines(fit, Wording.of(fit))
    assert text[1].startswith(f"{shown}  ")
    lines = planing_lines(fit.planing, Wording.of(fit))
    means = {row.means for row in rows(fit, Wording.of(fit))}
    if headline == "slide first":
        assert lines[0].startswith("Slide the plank 1/16 in toward the keel.")
        assert "slide first" in means
    elif headline in ("short", "recut"):
        assert lines[0].startswith("short by up to")
        assert "planing cannot mend it" in asks
        assert "short" in means
    if headline != "plane" and not fit.planing["cuts"]:
        assert not any(one.startswith("plane ") for one in means)
    # A new plank is said only where the headline says RECUT.
    hull = made_hull(tmp_path)
    record(fit.as_json(), db_path=hull.db_path, plank="4 port", hull=hull)
    standing = next(one for one in standings_at(hull) if one.plank == FOUR)
    assert ("a new plank" in standing.todo) == (headline == "recut")
    expected = {"good": "close the lap"}.get(headline, headline)
    assert standing.state == expected
    with reading(hull.db_path) as connection:
        found = queries.fit(connection, FOUR)
        summary = summary_of(connection, found.id, terms_of(FOUR, hull))
        on_record = edge_lines(connection, found.id, summary, hull)
        every = fit_lines.show_lines(connection, found, summary, hull, advice=on_record)
    assert on_record[0] == shown
    shorts = [line for line in lines if line.startswith("short by")]
    assert [line for line in on_record if line.startswith("short by")] == shorts
    assert any("asked to plane" in line for line in every) == bool(fit.planing["cuts"])


def test_the_record_tells_how_far_to_move_and_takes_no_cut_before(tmp_path):
    hull = made_hull(tmp_path)
    record(answered(plank([2.5] * 100 + [-2.0] * 100)).as_json(), db_path=hull.db_path, plank="4 port", hull=hull)
    standing = next(one for one in standings_at(hull) if one.plank == FOUR)
    assert standing.state == "slide first"
    assert "in toward the keel" in standing.todo
    assert "plane nothing before that" in standing.todo
    with pytest.raises(WrongCall, match="move the plank first"):
        record_advised_cuts(hull.db_path, FOUR)


def test_one_photograph_does_not_give_a_plank_up():
    fit = answered(plank([-9.0] * 100, on_plank=False))
    assert verdict_words(fit.planing)[0] == "SHORT"
    assert any("This is not the whole lap" in line for line in planing_lines(fit.planing, Wording()))


def test_advice_from_before_a_slide_was_looked_for_does_not_give_a_plank_up(tmp_path):
    from tests.fitlog.made import measured

    hull = made_hull(tmp_path)
    record(measured(-2.0, planing={"verdict": "recut", "cuts": []}), db_path=hull.db_path, plank="4 port", hull=hull)
    standing = next(one for one in standings_at(hull) if one.plank == FOUR)
    assert standing.state == "short"
    assert "a new plank" not in standing.todo


def test_a_told_move_orders_no_cut_before_it_was_looked_at():
    advice = advise(plank([4.0] * 100 + [1.5] * 100), limit_mm=LIMIT, may_slide_mm=1.0)
    assert advice["slide_mm"] < 0
    assert (advice["first"], advice["verdict"], advice["cuts"]) == ("slide", "look again", [])
    assert advice["might_plane"]
