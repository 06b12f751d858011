"""Planed it, a feeler's reading, and a mistake taken back, from the phone onto the record."""

from __future__ import annotations

import pytest

from fitcheck.fitlog import queries
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.notes import notes
from fitcheck.fitlog.store import reading
from fitcheck.hull.plank_name import PlankName
from tests.page.phone import Phone, made_shop, text_of
from tests.page.test_hull_pages import PLANE, recorded

FOUR = PlankName(4, "port")


@pytest.fixture
def shop(tmp_path):
    shop = made_shop(tmp_path)
    recorded(shop, 2.0, planing=PLANE)
    return shop


def on_record(shop, what):
    with reading(shop.db_path) as connection:
        assert check(connection) == []
        fit = queries.fit(connection, FOUR)
        return queries.cuts(connection, FOUR) if what == "cuts" else queries.feelers(connection, fit.id)


def test_planed_as_asked_goes_on_record_with_who_did_it(shop):
    phone = Phone(shop)
    assert "3/64 in at the deepest" in text_of(phone.get("/by-hand?plank=4+port"))
    answer = phone.post("/planed", plank="4 port", note="two passes")
    assert (answer.status_code, answer.headers["location"]) == (303, "/plank?plank=4+port&done=planed")
    (cut,) = on_record(shop, "cuts")
    assert (cut.who, cut.note) == ("A. Builder", "two passes")
    assert cut.deepest_mm == pytest.approx(3 * 25.4 / 64)
    said = text_of(phone.get(answer.headers["location"]))
    assert "Clamp it again and photograph it" in said
    assert "Planed since fit 1" in text_of(phone.get("/by-hand?plank=4+port"))
    assert phone.post("/planed", plank="4 port").status_code == 400


def test_a_cut_of_ones_own_is_read_as_at_the_command_line(shop):
    told = {"plank": "4 port", "from": "3in", "to": "1ft", "depth": "1/64in"}
    assert Phone(shop).post("/cut", **told).status_code == 303
    (cut,) = on_record(shop, "cuts")
    assert (cut.from_mm, cut.to_mm, cut.deepest_mm) == pytest.approx((76.2, 304.8, 25.4 / 64))


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"depth": "3"}, "3"),
        ({"depth": "4in"}, "deep"),
        ({"from": "2ft", "to": "1ft"}, "ends beyond its beginning"),
        ({"to": "90ft"}, "beyond"),
        ({"plank": "9 port"}, "strake 9"),
        ({"from": "<b>"}, "&lt;b&gt;"),
        ({"note": "x" * 5000}, "at most 4000 letters"),
    ],
)
def test_a_cut_that_cannot_be_is_told_and_nothing_recorded(shop, told, said):
    whole = {"plank": "4 port", "from": "3in", "to": "1ft", "depth": "1/64in", **told}
    answer = Phone(shop).post("/cut", **whole)
    assert answer.status_code == 400
    assert said in answer.text
    assert on_record(shop, "cuts") == []


def test_a_feeler_s_reading_goes_on_record(shop):
    phone = Phone(shop)
    told = {"plank": "4 port", "blade": "0.1mm", "went": "not"}
    assert phone.post("/feeler", **told, **{"from": "1ft"}).status_code == 303
    assert phone.post("/feeler", **{**told, "went": "in"}, **{"from": "1ft", "to": "2ft"}).status_code == 303
    first, second = on_record(shop, "feelers")
    assert (first.from_mm, first.to_mm, first.goes_in, first.who) == (304.8, 304.8, False, "A. Builder")
    assert (second.to_mm, second.goes_in) == (609.6, True)
    assert phone.post("/feeler", **{**told, "went": ""}, **{"from": "1ft"}).status_code == 400


def test_without_a_name_nothing_goes_on_record(shop):
    answer = Phone(shop, who="").post("/planed", plank="4 port")
    assert answer.status_code == 400
    assert "give your name first" in text_of(answer)
    assert on_record(shop, "cuts") == []


def test_a_mistake_is_taken_back_and_stays_struck_through(shop):
    phone = Phone(shop)
    phone.post("/planed", plank="4 port")
    assert "Take back cut 1" in text_of(phone.get("/fit?plank=4+port&fit=1"))
    assert phone.post("/take-back", plank="4 port", one="cut 1", why="").status_code == 400
    assert phone.post("/take-back", plank="4 port", one="cut 1", why="wrong plank").status_code == 303
    assert on_record(shop, "cuts") == []
    assert "withdrawn by A. Builder" in text_of(phone.get("/fit?plank=4+port&fit=1"))
    assert phone.post("/take-back", plank="4 port", one="fit 1", why="clamps off").status_code == 303
    assert "withdrawn by A. Builder" in text_of(phone.get("/fit?plank=4+port&fit=1"))
    for one in ("fit", "fit 99", "cut x", "boat 1", "fit " + "9" * 40):
        assert phone.post("/take-back", plank="4 port", one=one, why="no").status_code == 400


def notes_of(shop, plank=FOUR):
    with reading(shop.db_path) as connection:
        assert check(connection) == []
        return notes(connection, plank, withdrawn=True)


def test_a_rule_s_reading_is_held_against_the_photographs(shop):
    phone = Phone(shop)
    told = {"plank": "4 port", "at": "1ft", "lies": "past"}
    assert phone.post("/rule", **told, reads="5/64in", note="at the frame").status_code == 303
    answer = phone.post("/rule", **{**told, "lies": "short"}, reads="1/16in")
    said = text_of(phone.get(answer.headers["location"]))
    assert "a rule reads past 5/64" in said
    assert "the two agree - at the frame" in said
    assert "a rule reads short 1/16" in said
    assert "THEY DO NOT AGREE" in said
    first, second = notes_of(shop)
    assert (first.past_line_mm, first.at_mm, first.fit) == pytest.approx((5 * 25.4 / 64, 304.8, 1))
    assert (first.agrees, second.agrees, second.past_line_mm) == (True, False, pytest.approx(-25.4 / 16))
    assert phone.post("/take-back", plank="4 port", one="note 2", why="misread").status_code == 303
    assert "[withdrawn] note 2" in text_of(phone.get("/fit?plank=4+port&fit=1"))
    assert phone.post("/take-back", plank="4 port", one="note 2", why="misread").status_code == 400


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"lies": ""}, "past the line or short of it"),
        ({"reads": "1"}, "1"),
        ({"reads": "9in"}, "no edge lies so far"),
        ({"at": "90ft"}, "beyond"),
        ({"plank": "3 port"}, "give it as a note"),
    ],
)
def test_a_reading_that_cannot_be_is_told_and_nothing_recorded(shop, told, said):
    answer = Phone(shop).post("/rule", **{"plank": "4 port", "reads": "1/16in", "lies": "past", "at": "1ft", **told})
    assert answer.status_code == 400
    assert said in text_of(answer)
    assert notes_of(shop) == []


def test_a_note_by_itself_needs_no_fit(shop):
    phone = Phone(shop)
    said = text_of(phone.get("/by-hand?plank=3+port"))
    assert "A note" in said
    assert "Feeler" not in said
    answer = phone.post("/note", plank="3 port", note="shake in the wood\nat 2 ft")
    assert answer.headers["location"] == "/plank?plank=3+port&done=noted"
    said = text_of(phone.get(answer.headers["location"]))
    assert "note 1 by A. Builder" in said
    assert "shake in the wood / at 2 ft" in said
    assert "Not begun" in text_of(phone.get("/"))
    assert "Take back note 1" in said
    assert phone.post("/take-back", plank="3 port", one="note 1", why="wrong plank").status_code == 303
    said = text_of(phone.get("/plank?plank=3+port"))
    assert "[withdrawn] note 1" in said
    assert "Take back note 1" not in said
    (kept,) = notes_of(shop, PlankName(3, "port"))
    assert (kept.fit, kept.note, kept.who) == (None, "shake in the wood\nat 2 ft", "A. Builder")
    assert kept.withdrawn is not None
    for note in ("", "   "):
        assert phone.post("/note", plank="3 port", note=note).status_code == 400
