"""Mistakes taken back: withdrawn things count nowhere, stand struck through everywhere, and nothing is erased."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
from contextlib import closing

import pytest

from fitcheck.cli.log import log_app
from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_cut, record_feeler
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.compare import compare
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.listing import standings
from fitcheck.fitlog.move import move_fit, move_set
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import missing, sign
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.twin import twin
from fitcheck.fitlog.withdraw import withdraw_cut, withdraw_feeler, withdraw_fit, withdraw_set
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from tests.calls import call
from tests.fitlog.made import cut, made_hull, measured, photographs, seen_edge_on

FOUR, STARBOARD, FIVE = PlankName(4, "port"), PlankName(4, "starboard"), PlankName(5, "port", "fore")
BY = {"who": "Builder A", "why": "the wrong plank"}
ASKED = {"verdict": "plane", "cuts": [cut(100, 300, 1.2)]}


@pytest.fixture
def hull(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return made_hull(tmp_path)


def put(hull, measurement, plank="4 port", **told):
    return record(measurement, db_path=hull.db_path, plank=plank, hull=hull, **told)


def standing(hull, plank=FOUR):
    with reading(hull.db_path) as connection:
        assert check(connection) == []
        return next(found for found in standings(connection, hull) if found.plank == plank)


def lacking(hull):
    with reading(hull.db_path) as connection:
        return [reason.code for reason in missing(connection, FOUR, hull)]


def closed(hull, **told):
    told = {"from_mm": 0.0, "to_mm": 1000.0, "blade_mm": 0.1, "goes_in": False, **told}
    record_feeler(hull.db_path, FOUR, hull, **told)


def said(*words, status=0):
    done = call(log_app, *words)
    assert done.exit_code == status, done.output
    return done.output


def count(hull, table):
    with closing(sqlite3.connect(hull.db_path)) as connection:
        return connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]


def test_a_withdrawn_fit_counts_nowhere(hull):
    put(hull, measured(0.1))
    put(hull, measured(0.1), "4 starboard")
    put(hull, measured(1.5, planing=ASKED))
    assert standing(hull).state == "plane"
    withdraw_fit(hull.db_path, FOUR, number=2, **BY)
    found = standing(hull)
    assert (found.fits, found.number) == (1, 1)
    assert found.state == "close the lap"
    with reading(hull.db_path) as connection:
        assert queries.fit(connection, FOUR).number == 1
        assert max(place.past_line_mm for place in twin(connection, FOUR, hull).port_profile) == 0.1
        with pytest.raises(WrongCall, match="no fit on record before"):
            compare(connection, FOUR, terms_of(FOUR, hull))
        with pytest.raises(WrongCall, match="fit 2 of 4 port was withdrawn by Builder A: the wrong plank"):
            compare(connection, FOUR, terms_of(FOUR, hull), old=1, new=2)
    assert "past-limit" not in lacking(hull)
    assert said("list", "--all").count("4 port") == 1
    assert count(hull, "fits") == 3


def test_a_withdrawn_fit_stands_struck_through(hull, tmp_path):
    put(hull, measured(0.1))
    put(hull, measured(1.5), who="Builder B", note="too early")
    said("withdraw", "4 port", "--fit", "2", "--who", "Builder A", "--why", "the clamps were off")
    shown = said("show", "4 port", "--fit", "2")
    assert shown.startswith("[withdrawn] 4 port, fit 2")
    assert "withdrawn by Builder A" in shown
    assert "the clamps were off" in shown
    assert "fit 1" in said("show", "4 port").splitlines()[0]
    said("report", "4 port", "--out", "plank.html")
    page = (tmp_path / "plank.html").read_text(encoding="utf-8")
    assert re.search(r'<tr class="struck"><th scope="row"[^>]*>2</th>', page)
    assert "the clamps were off" in page
    fits = json.loads(said("export", "json"))["planks"][0]["fits"]
    assert [fit["withdrawn"] and fit["withdrawn"]["why"] for fit in fits] == [None, "the clamps were off"]
    rows = list(csv.DictReader(io.StringIO(said("export", "csv"))))
    assert {(row["fit"], row["withdrawn"]) for row in rows} == {("1", "0"), ("2", "1")}


def test_the_only_fit_withdrawn_leaves_the_plank_not_begun_and_its_page_readable(hull, tmp_path):
    put(hull, measured(1.5))
    withdraw_fit(hull.db_path, FOUR, number=1, **BY)
    assert standing(hull).state == "not begun"
    assert "every one was withdrawn" in said("show", "4 port", status=2)
    assert "[withdrawn]" in said("show", "4 port", "--fit", "1")
    said("report", "4 port", "--out", "plank.html")
    assert "Not begun" in (tmp_path / "plank.html").read_text(encoding="utf-8")
    put(hull, measured(0.1))
    assert standing(hull).number == 2


def test_a_photograph_of_a_withdrawn_fit_is_free_again(hull, tmp_path):
    photos = photographs(tmp_path, "a.jpg")
    put(hull, measured(0.1), photos=photos)
    with pytest.raises(WrongCall, match="a photograph shows one plank"):
        put(hull, measured(0.1), "4 starboard", photos=photos)
    withdraw_fit(hull.db_path, FOUR, number=1, **BY)
    assert put(hull, measured(0.1), "4 starboard", photos=photos).new
    assert put(hull, measured(0.1), photos=photos[:0]).number == 2
    with pytest.raises(WrongCall, match="on record as fit 1 of 4 starboard"):
        put(hull, measured(0.1), photos=photos)


def test_the_same_photograph_may_be_recorded_again_on_the_same_plank(hull, tmp_path):
    photos = photographs(tmp_path, "a.jpg")
    put(hull, measured(0.1), photos=photos)
    withdraw_fit(hull.db_path, FOUR, number=1, **BY)
    again = put(hull, measured(0.1), photos=photos)
    assert (again.new, again.number) == (True, 2)


def test_a_withdrawn_set_gives_way_to_the_one_it_was_measured_anew_from(hull, tmp_path):
    photos = photographs(tmp_path, "a.jpg")
    put(hull, measured(0.1), photos=photos)
    put(hull, measured(1.5), photos=photos)
    assert standing(hull).state == "plane"
    assert "set 1: edge, 1 photograph" in said("show", "4 port")
    assert "measured anew since" in said("show", "4 port")
    withdraw_set(hull.db_path, FOUR, hull, number=1, set_number=2, **BY)
    assert standing(hull).summary["worst_past_mm"] == 0.1
    assert "[withdrawn] set 2" in said("show", "4 port")
    with pytest.raises(WrongCall, match="the only one it has"):
        withdraw_set(hull.db_path, FOUR, hull, number=1, set_number=1, **BY)
    assert standing(hull).summary["worst_past_mm"] == 0.1


def test_an_edge_on_view_of_another_plank_is_taken_out_of_the_fit(hull):
    put(hull, measured(0.1))
    put(hull, seen_edge_on(0.5))
    assert lacking(hull) == ["lap-open"]
    said("withdraw", "4 port", "--fit", "1", "--set", "2", "--who", "A", "--why", "it shows 5 port")
    assert lacking(hull) == ["lap-unseen"]


def test_a_withdrawn_cut_was_not_made(hull):
    put(hull, measured(1.5, planing=ASKED))
    said("cut", "4 port", "--as-asked", "--who", "A")
    assert standing(hull).state == "planed"
    assert "cut 1: 3-7/8 in to 11-3/4 in" in said("show", "4 port")
    withdraw_cut(hull.db_path, FOUR, number=1, **BY)
    assert standing(hull).state == "plane"
    assert "[withdrawn] planed after it: cut 1" in said("show", "4 port")
    assert "1 cut of 4 port recorded" in said("cut", "4 port", "--as-asked", "--who", "A")
    with reading(hull.db_path) as connection:
        assert [cut.number for cut in queries.cuts(connection, FOUR)] == [2]
    put(hull, measured(0.3))
    withdraw_cut(hull.db_path, FOUR, number=2, **BY)
    with reading(hull.db_path) as connection:
        (planed,) = compare(connection, FOUR, terms_of(FOUR, hull)).planed
    assert planed.reported_mm is None


def test_wood_stays_off_where_the_fit_before_the_cut_is_withdrawn(hull):
    put(hull, measured(0.9))
    put(hull, measured(1.5))
    record_cut(hull.db_path, FOUR, hull, from_mm=0, to_mm=100, deepest_mm=0.5)
    withdraw_fit(hull.db_path, FOUR, number=2, **BY)
    assert standing(hull).state == "planed"
    assert lacking(hull)[0] == "planed"
    assert "planed after it: cut 1" in said("show", "4 port")
    with pytest.raises(WrongCall, match="was planed after fit 1"):
        closed(hull)


def test_a_withdrawn_feeler_reading_says_nothing_and_is_told_in_full(hull, tmp_path):
    put(hull, measured(0.1))
    closed(hull, who="Builder B", note="at noon")
    assert lacking(hull) == []
    shown = said("show", "4 port")
    assert "feeler reading 1: " in shown
    assert "by Builder B" in shown
    assert "at noon" in shown
    withdraw_feeler(hull.db_path, FOUR, hull, number=1, **BY)
    assert lacking(hull) == ["lap-unseen"]
    assert standing(hull).state == "close the lap"
    assert "[withdrawn] feeler reading 1" in said("show", "4 port")
    said("report", "4 port", "--out", "plank.html")
    page = (tmp_path / "plank.html").read_text(encoding="utf-8")
    assert "<s>fit 1, feeler reading 1: " in page
    assert "at noon</s> withdrawn by Builder A" in page
    (felt,) = json.loads(said("export", "json"))["planks"][0]["fits"][0]["feelers"]
    assert (felt["who"], felt["note"], felt["withdrawn"]["why"]) == ("Builder B", "at noon", BY["why"])


@pytest.mark.parametrize("gone", ["fit", "feeler", "set"])
def test_a_signature_does_not_outlive_what_it_stood_on(hull, gone):
    put(hull, measured(0.1))
    put(hull, seen_edge_on(0.0))
    closed(hull)
    sign(hull.db_path, FOUR, hull, who="A")
    assert standing(hull).state == "signed"
    if gone == "fit":
        withdraw_fit(hull.db_path, FOUR, number=1, **BY)
    elif gone == "feeler":
        withdraw_feeler(hull.db_path, FOUR, hull, number=1, **BY)
    else:
        withdraw_set(hull.db_path, FOUR, hull, number=1, set_number=2, **BY)
    assert standing(hull).state != "signed"
    with reading(hull.db_path) as connection:
        assert queries.signoffs(connection, FOUR)[0].opened_why == "withdrawal"
    assert "by a later withdrawal" in said("show", "4 port", "--fit", "1")


def test_withdrawing_an_older_fit_leaves_the_signature(hull):
    put(hull, measured(1.5))
    put(hull, measured(0.1))
    closed(hull)
    sign(hull.db_path, FOUR, hull, who="A")
    withdraw_fit(hull.db_path, FOUR, number=1, **BY)
    assert standing(hull).state == "signed"


def test_a_fit_is_moved_to_another_plank_with_all_that_is_its_own(hull, tmp_path):
    photos = photographs(tmp_path, "a.jpg")
    put(hull, measured(0.3, planing=ASKED), photos=photos, who="Builder B", note="dry", moisture_pct=12.0)
    put(hull, seen_edge_on(0.0))
    closed(hull, who="Builder C", note="paper")
    answer = said("move", "4 port", "--fit", "1", "--to", "5 port fore", "--who", "Builder A", "--why", "wrong name")
    assert "fit 1 of 4 port is now fit 1 of 5 port fore" in answer
    assert standing(hull).state == "not begun"
    with reading(hull.db_path) as connection:
        fit = queries.fit(connection, FIVE)
        (old,) = queries.fits(connection, FOUR, withdrawn=True)
        assert (fit.who, fit.note, fit.moisture_pct, fit.made_at) == ("Builder B", "dry", 12.0, old.made_at)
        assert queries.edge_takes(connection, fit.id) == queries.edge_takes(connection, old.id)
        assert queries.gap_takes(connection, fit.id) == queries.gap_takes(connection, old.id)
        assert queries.advised_cuts(connection, fit.id) == queries.advised_cuts(connection, old.id)
        (felt,) = queries.feelers(connection, fit.id)
        assert (felt.who, felt.note) == ("Builder C", "paper")
    assert "moved here; it was recorded as fit 1 of 4 port" in said("show", "5 port fore")
    assert said("show", "4 port", "--fit", "1").startswith("[moved to fit 1 of 5 port fore] 4 port, fit 1")
    # The photographs have gone with it.
    again = put(hull, measured(0.3), "5 port fore", photos=photos)
    assert again.number == 1
    with pytest.raises(WrongCall, match="on record as fit 1 of 5 port fore"):
        put(hull, measured(0.3), photos=photos)


def test_a_moved_fit_keeps_its_place_in_time(hull):
    put(hull, measured(0.9))
    put(hull, measured(0.1), "4 starboard")
    closed(hull)
    assert move_fit(hull.db_path, FOUR, STARBOARD, hull, number=1, **BY) == 2
    with reading(hull.db_path) as connection:
        assert [fit.number for fit in queries.fits(connection, STARBOARD)] == [2, 1]
        found = compare(connection, STARBOARD, terms_of(STARBOARD, hull))
        assert (found.old.number, found.new.number) == (2, 1)
    assert standing(hull, STARBOARD).number == 1
    record_cut(hull.db_path, STARBOARD, hull, from_mm=0, to_mm=50, deepest_mm=0.2)
    assert standing(hull, STARBOARD).state == "planed"
    # And back again: it is a third entry, and nothing of the others is lost.
    assert move_fit(hull.db_path, STARBOARD, FOUR, hull, number=2, **BY) == 2
    assert standing(hull).number == 2
    assert count(hull, "fits") == 4
    assert standing(hull, STARBOARD).state == "planed"


def test_a_fit_moved_to_a_signed_plank_opens_it(hull):
    put(hull, measured(0.1))
    closed(hull)
    sign(hull.db_path, FOUR, hull, who="A")
    put(hull, measured(0.1), "4 starboard")
    move_fit(hull.db_path, STARBOARD, FOUR, hull, number=1, **BY)
    assert standing(hull).state != "signed"
    with reading(hull.db_path) as connection:
        (signoff,) = queries.signoffs(connection, FOUR)
    assert signoff.opened_at >= signoff.signed_at


def places(hull, plank=FOUR):
    with reading(hull.db_path) as connection:
        fit = queries.fit(connection, plank)
        ((_, samples),) = queries.edge_takes(connection, fit.id)
        return [sample.place_mm for sample in samples], queries.advised_cuts(connection, fit.id)


def test_photographs_without_cards_are_moved_to_another_place(hull):
    """Facing port, places rise to the right; the tape read 500 mm where 400 mm was written down."""
    planing = {"verdict": "plane", "cuts": [cut(-40, 20, 1.2)]}
    put(hull, measured(1.5, frame="along_mm", places_mm=range(-100, 101, 5), planing=planing), at_mm=400.0)
    assert places(hull)[0][0] == 300.0
    said("move", "4 port", "--fit", "1", "--at", "500mm", "--who", "A", "--why", "tape misread")
    found, cuts = places(hull)
    assert (found[0], found[-1]) == (400.0, 600.0)
    assert (cuts[0]["from_mm"], cuts[0]["to_mm"]) == (460.0, 520.0)
    assert standing(hull).summary["from_mm"] is not None
    assert "[moved to another place] set 1" in said("show", "4 port")
    assert "at that place already" in said(
        "move", "4 port", "--fit", "1", "--at", "500mm", "--who", "A", "--why", "x", status=2
    )


def test_moved_to_the_other_side_places_run_the_other_way(hull):
    """Facing starboard, the bow is on the right, where places are counted from."""
    put(hull, measured(lambda x: 1.5 if x > 0 else 0.0, frame="along_mm", places_mm=range(-100, 101, 5)), at_mm=400.0)
    move_fit(hull.db_path, FOUR, STARBOARD, hull, number=1, **BY)
    with reading(hull.db_path) as connection:
        ((_, samples),) = queries.edge_takes(connection, queries.fit(connection, STARBOARD).id)
    assert {s.place_mm > 400 for s in samples if s.past_line_mm == 0.0 and s.place_mm != 400} == {True}
    assert {s.place_mm < 400 for s in samples if s.past_line_mm == 1.5} == {True}


def test_places_from_station_cards_are_not_moved_by_hand(hull):
    put(hull, measured(0.1))
    with pytest.raises(WrongCall, match="station cards"):
        move_set(hull.db_path, FOUR, hull, number=1, set_number=None, at_mm=10.0, **BY)
    assert count(hull, "withdrawals") == 0


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (["withdraw", "4 port"], "tell one thing"),
        (["withdraw", "4 port", "--fit", "1", "--cut", "1"], "tell one thing"),
        (["withdraw", "4 port", "--set", "1"], "tell one thing"),
        (["withdraw", "4 port", "--fit", "9"], "no fit 9"),
        (["withdraw", "4 port", "--cut", "1"], "no cut"),
        (["withdraw", "4 port", "--feeler", "0"], "no feeler reading"),
        (["withdraw", "4 port", "--fit", "1", "--set", "7"], "numbered 1 to 1"),
        (["withdraw", "5 port fore", "--fit", "1"], "no fit"),
        (["withdraw", "4 port", "--fit", "1", "--why", " "], "who does it and why"),
        (["withdraw", "4 port", "--fit", "1", "--who", ""], "who does it and why"),
        (["withdraw", "4 port", "--fit", "1", "--why", "x" * 5000], "at most"),
        (["move", "4 port", "--fit", "1"], "tell where to"),
        (["move", "4 port", "--fit", "1", "--to", "4 port"], "already"),
        (["move", "4 port", "--fit", "1", "--to", "44 port"], "44"),
        (["move", "4 port", "--fit", "1", "--to", "5 port fore", "--at", "1in"], "tell where to"),
        (["move", "4 port", "--fit", "1", "--at", "far"], "--at"),
        (["move", "4 port", "--fit", "2", "--to", "5 port fore"], "no fit 2"),
    ],
)
def test_what_cannot_be_taken_back_is_one_line_and_changes_nothing(hull, words, reason):
    put(hull, measured(0.1))
    before = hull.db_path.read_bytes()
    told = [word for option in ("--who", "--why") if option not in words for word in (option, "x")]
    line = said(*words, *told, status=2)
    assert line.startswith("fitcheck: ")
    assert reason in line
    assert len(line.splitlines()) == 1
    assert count(hull, "withdrawals") == 0
    assert hull.db_path.read_bytes() == before


def test_nothing_is_withdrawn_twice_nor_are_withdrawals_erased(hull):
    put(hull, measured(0.1))
    withdraw_fit(hull.db_path, FOUR, number=1, **BY)
    with pytest.raises(WrongCall, match="was withdrawn by Builder A"):
        withdraw_fit(hull.db_path, FOUR, number=1, **BY)
    with pytest.raises(WrongCall, match="was withdrawn by Builder A"):
        move_fit(hull.db_path, FOUR, FIVE, hull, number=1, **BY)
    with closing(sqlite3.connect(hull.db_path)) as connection:
        for statement in ("DELETE FROM withdrawals", "UPDATE withdrawals SET why = ''"):
            with pytest.raises(sqlite3.IntegrityError, match="never"):
                connection.execute(statement)


def test_a_plank_named_by_mistake_vanishes_from_the_list(tmp_path):
    hull = made_hull(tmp_path, 'name = "Invented dinghy"\nlap = "1in"\nthickness = "1/2in"\n')
    put(hull, measured(0.1))
    put(hull, measured(0.1), "44 port")
    withdraw_fit(hull.db_path, PlankName(44, "port"), number=1, **BY)
    with reading(hull.db_path) as connection:
        assert [str(found.plank) for found in standings(connection, hull)] == ["4 port"]
