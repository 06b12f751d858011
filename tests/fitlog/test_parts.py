"""A plank measured in parts on record: whose places are whose, and nothing counted from another card than told."""

from __future__ import annotations

import pytest

from fitcheck.cli.log import log_app
from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_advised_cuts
from fitcheck.fitlog.recorded_parts import earlier_sets, untied_cards
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import missing
from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import read_plank
from tests.calls import call
from tests.fitlog.made import made_hull, measured

FOUR = "4 port"
CUT = {"from_mm": 50.0, "to_mm": 90.0, "deepest_mm": 0.9, "profile": [[50.0, 0.0], [70.0, 0.9], [90.0, 0.0]]}


def part(number, from_card, cards, photos, *, cuts=(), past_mm=0.0):
    """The JSON of one part, as ``measure`` gives it to be recorded."""
    told = {"part": number, "from_card": from_card, "cards": cards, "photos": photos, "tied_by": None}
    planing = {"verdict": "plane", "cuts": [{**cut, "part": number, "from_card": from_card} for cut in cuts]}
    answer = measured(past_mm, places_mm=range(0, 301, 5), planing={**planing, "short": [], "unseen": [], "unsure": []})
    lost = {"name": "d.jpg", "state": "refused", "reasons": [{"code": "photo-soft", "text": "d.jpg is blurred."}]}
    photographs = [{"name": name, "state": "measured", "reasons": []} for name in photos]
    stations = [{"number": n, "plank_mm": 300.0 * k, "u95_mm": 1.0} for k, n in enumerate(cards)]
    return {
        **answer,
        "parts": [told],
        "photos": [*photographs, lost],
        "stations": stations,
        "reference": {"kind": "station", "from_card": from_card},
    }


@pytest.fixture
def hull(tmp_path):
    """Two parts of one fit, each asking for a cut between the same numbers of millimetres, from cards 0 and 4."""
    hull = made_hull(tmp_path)
    told = {"db_path": hull.db_path, "plank": FOUR, "hull": hull}
    record(part(1, 0, [0, 1], ["a.jpg"], cuts=[CUT], past_mm=1.5), **told)
    record(part(2, 4, [4, 5], ["b.jpg", "c.jpg"], cuts=[CUT], past_mm=1.2), **told, same_fit=True)
    return hull


def run(hull, *words):
    return call(log_app, *words, "--hull", str(hull.path))


def test_cuts_of_two_parts_at_like_numbers_are_two_cuts(hull):
    with reading(hull.db_path) as connection:
        fit = queries.fit(connection, read_plank(FOUR, hull))
        asked = queries.advised_cuts(connection, fit.id)
        assert sorted(cut["from_card"] for cut in asked) == [0, 4]
        assert [frame for frame, _ in queries.edge_takes(connection, fit.id)] == ["plank", "photo"]
        assert untied_cards(connection, fit.id) == [4]
        found = {reason.code for reason in missing(connection, read_plank(FOUR, hull), hull)}
    assert "part-untied" in found


def test_the_record_says_which_places_are_whose_and_what_was_not_used(hull):
    said = run(hull, "show", FOUR).output
    assert "cards 0 to 1, counted from card 0: a.jpg" in said
    assert "cards 4 to 5, counted from card 4: b.jpg, c.jpg" in said
    assert said.count("not used: d.jpg is blurred.") == 1
    assert "at the deepest, counted from card 4" in said


def test_cuts_made_as_asked_keep_the_card_they_count_from(hull):
    assert record_advised_cuts(hull.db_path, read_plank(FOUR, hull))
    with reading(hull.db_path) as connection:
        made = queries.cuts(connection, read_plank(FOUR, hull))
    assert sorted((cut.from_mm, cut.from_card or 0) for cut in made) == [(50.0, 0), (50.0, 4)]
    said = run(hull, "show", FOUR).output
    assert sum("planed after it" in line and "counted from card 4" in line for line in said.splitlines()) == 1


def test_a_plank_in_parts_is_not_recorded_as_one_frame(tmp_path):
    hull = made_hull(tmp_path)
    both = part(1, 0, [0, 1], ["a.jpg"])
    both["parts"] = [*both["parts"], {**both["parts"][0], "part": 2, "from_card": 4}]
    with pytest.raises(WrongCall, match="part by part"):
        record(both, db_path=hull.db_path, plank=FOUR, hull=hull)


def test_the_record_tells_where_cards_lay_only_from_card_0(hull):
    (earlier,) = earlier_sets(hull.db_path, read_plank(FOUR, hull))
    assert earlier.name == "Fit 1 of 4 port"
    assert earlier.places == {0: (0.0, 1.0), 1: (300.0, 1.0)}
    assert earlier_sets(hull.db_path, read_plank("5 port fore", hull)) == []


def test_a_cut_by_hand_counts_from_the_card_that_is_told(hull):
    told = ("--from", "1in before card 4", "--to", "2in", "--depth", "1/64in", "--from-card")
    done = run(hull, "cut", FOUR, *told, "4")
    assert done.exit_code == 0, done.output
    assert "cut of 4 port recorded, counted from card 4" in done.output
    assert "1 in before card 4 to 2 in, 1/64 in deep, counted from card 4" in run(hull, "show", FOUR).output
    wrong = run(hull, "cut", FOUR, "--from", "1in", "--to", "2in", "--depth", "1/64in", "--from-card", "3")
    assert wrong.exit_code == 2
    assert "count from card 0 or card 4, not from card 3" in wrong.output
    assert run(hull, "cut", FOUR, "--as-asked", "--from-card", "4").exit_code == 2
