"""Signing off: allowed when nothing is missing, refused with all that is, overruled in writing, opened again."""

from __future__ import annotations

import pytest

from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_cut, record_feeler
from fitcheck.fitlog.listing import standings
from fitcheck.fitlog.names import PlankName
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import missing, sign
from fitcheck.fitlog.store import reading
from fitcheck.refusal import Refused, WrongCall
from tests.fitlog.made import HULL, made_hull, measured, seen_edge_on

FOUR = PlankName(4, "port")


@pytest.fixture
def hull(tmp_path):
    return made_hull(tmp_path)


def put(hull, measurement, **told):
    return record(measurement, db_path=hull.db_path, plank="4 port", hull=hull, **told)


def lacking(hull):
    with reading(hull.db_path) as connection:
        return [reason.code for reason in missing(connection, FOUR, hull)]


def standing(hull):
    with reading(hull.db_path) as connection:
        return next(found for found in standings(connection, hull) if found.plank == FOUR)


def closed(hull, **told):
    told = {"from_mm": 0.0, "to_mm": 1000.0, "blade_mm": 0.1, "goes_in": False, **told}
    record_feeler(hull.db_path, FOUR, hull, **told)


def test_a_good_fit_with_the_lap_seen_closed_may_be_signed(hull):
    put(hull, measured(0.1))
    put(hull, seen_edge_on(0.0))
    assert lacking(hull) == []
    assert standing(hull).state == "ready to sign"
    signed = sign(hull.db_path, FOUR, hull, who="A. Builder")
    assert (signed.fit_number, signed.overruled, signed.missing) == (1, None, ())
    assert standing(hull).state == "signed"
    with pytest.raises(WrongCall, match="signed off already"):
        sign(hull.db_path, FOUR, hull, who="B")


@pytest.mark.parametrize(
    ("measurement", "codes"),
    [
        (measured(1.5), ["past-limit"]),
        (measured(-1.5), ["short-limit"]),
        (measured(0.6), ["unsure"]),
        (measured(lambda x: None if 200 <= x <= 300 else 0.1), ["hidden"]),
        (measured(0.1, covered=[(500, 540)]), ["covered"]),
        (measured(0.1, places_mm=range(0, 800, 5)), ["unseen"]),
        (measured(0.1, places_mm=[*range(0, 400, 5), *range(500, 1001, 5)]), ["unseen"]),
        (measured(0.1, frame="along_mm"), ["places-not-known"]),
    ],
)
def test_what_is_missing_keeps_it_from_being_signed(hull, measurement, codes):
    put(hull, measurement)
    if codes != ["places-not-known"]:
        closed(hull)
    assert lacking(hull) == codes
    with pytest.raises(Refused, match="may not be signed off yet"):
        sign(hull.db_path, FOUR, hull, who="A")
    assert standing(hull).state != "ready to sign"


def test_an_end_that_no_photograph_need_reach_is_spared(hull):
    put(hull, measured(0.1, places_mm=range(15, 986, 5)))
    closed(hull)
    assert lacking(hull) == []


def test_places_under_clamps_are_filled_by_photographs_with_the_clamps_moved(hull):
    put(hull, measured(0.1, covered=[(500, 540)]))
    closed(hull)
    assert lacking(hull) == ["covered"]
    put(hull, measured(0.12, covered=[(100, 140)]), same_fit=True)
    assert lacking(hull) == []


def test_an_earlier_fit_does_not_fill_the_latest(hull):
    put(hull, measured(0.1))
    put(hull, measured(0.1, covered=[(500, 540)]))
    closed(hull)
    assert lacking(hull) == ["covered"]


@pytest.mark.parametrize(
    ("gap", "u95_mm", "codes"),
    [
        (0.0, 0.08, []),
        (0.3, 0.08, ["lap-open"]),
        (0.0, 0.15, ["lap-unsure"]),
        (lambda x: 0.3 if 400 <= x <= 500 else 0.0, 0.08, ["lap-open"]),
        (lambda x: None if 400 <= x <= 500 else 0.0, 0.08, ["lap-unseen"]),
    ],
)
def test_the_lap_must_be_seen_closed_within_its_limit(hull, gap, u95_mm, codes):
    put(hull, measured(0.1))
    assert lacking(hull) == ["lap-unseen"]
    put(hull, seen_edge_on(gap, u95_mm=u95_mm))
    assert lacking(hull) == codes


def test_feeler_readings_stand_in_for_photographs(hull):
    put(hull, measured(0.1))
    for place in (150.0, 450.0, 750.0):
        closed(hull, from_mm=place, to_mm=place)
    assert lacking(hull) == ["lap-unseen"]  # the last 100 mm have no reading near them
    closed(hull, from_mm=950.0, to_mm=950.0)
    assert lacking(hull) == []
    closed(hull, from_mm=300.0, to_mm=300.0, goes_in=True)
    assert lacking(hull) == ["lap-open"]


@pytest.mark.parametrize(("blade_mm", "goes_in"), [(0.3, False), (0.05, True)])
def test_a_blade_that_proves_nothing_proves_nothing(hull, blade_mm, goes_in):
    put(hull, measured(0.1))
    closed(hull, blade_mm=blade_mm, goes_in=goes_in)
    assert lacking(hull) == ["lap-unseen"]


def test_a_feeler_does_not_close_what_a_photograph_shows_open(hull):
    put(hull, measured(0.1))
    put(hull, seen_edge_on(0.5))
    closed(hull)
    assert lacking(hull) == ["lap-open"]


def test_the_builder_may_overrule_in_writing_and_the_record_says_so(hull):
    put(hull, measured(0.6))
    with pytest.raises(WrongCall, match="in writing"):
        sign(hull.db_path, FOUR, hull, who="A", overrule="  ")
    with pytest.raises(WrongCall, match="who signs"):
        sign(hull.db_path, FOUR, hull, who=" ")
    sign(hull.db_path, FOUR, hull, who="A", overrule="tried it with a batten")
    with reading(hull.db_path) as connection:
        (signoff,) = queries.signoffs(connection, FOUR)
    assert signoff.overruled == "tried it with a batten"
    assert len(signoff.missing) == 2
    assert "overruled in writing" in standing(hull).todo


@pytest.mark.parametrize("later", ["cut", "fit", "photographs", "feeler"])
def test_what_comes_later_opens_it_again(hull, later):
    put(hull, measured(0.1))
    closed(hull)
    sign(hull.db_path, FOUR, hull, who="A")
    if later == "cut":
        record_cut(hull.db_path, FOUR, from_mm=0, to_mm=50, deepest_mm=0.2)
    elif later == "fit":
        put(hull, measured(0.05))
    elif later == "photographs":
        put(hull, measured(0.05), same_fit=True)
    else:
        closed(hull, goes_in=True)
    assert standing(hull).state != "signed"
    with reading(hull.db_path) as connection:
        (signoff,) = queries.signoffs(connection, FOUR)
    assert signoff.opened_why == later


def test_another_plank_does_not_open_it(hull):
    put(hull, measured(0.1))
    closed(hull)
    sign(hull.db_path, FOUR, hull, who="A")
    record(measured(0.1), db_path=hull.db_path, plank="4 starboard", hull=hull)
    assert standing(hull).state == "signed"


def test_a_planed_plank_asks_for_a_new_fit(hull):
    put(hull, measured(0.1))
    closed(hull)
    record_cut(hull.db_path, FOUR, from_mm=0, to_mm=50, deepest_mm=0.2)
    assert lacking(hull) == ["planed"]
    assert standing(hull).state == "planed"
    with pytest.raises(WrongCall, match="was planed after fit 1"):
        closed(hull)


def test_ends_and_least_lap_are_asked_for(tmp_path):
    text = HULL.replace('number = 4\nfrom = "0mm"\nto = "1000mm"', "number = 4") + '\n[limits]\nleast_lap = "25mm"\n'
    hull = made_hull(tmp_path, text)
    put(hull, measured(lambda x: -0.45 if x < 300 else 0.0, u95_mm=0.2))
    closed(hull)
    assert lacking(hull) == ["ends-not-told", "lap-little"]


def test_the_limits_of_the_settings_judge_not_those_of_the_call(tmp_path):
    hull = made_hull(tmp_path, HULL + '\n[limits]\nedge = "0.3mm"\n')
    put(hull, measured(0.2, u95_mm=0.15, limit_mm=1.0))
    closed(hull)
    assert lacking(hull) == ["unsure"]
    looser = made_hull(tmp_path, HULL + '\n[limits]\nedge = "0.4mm"\n')
    assert lacking(looser) == []
    assert standing(looser).state == "ready to sign"
