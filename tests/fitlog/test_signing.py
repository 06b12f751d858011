"""Signing off: allowed when nothing is missing, refused with all that is, overruled in writing, opened again."""

from __future__ import annotations

import pytest

from fitcheck.cli.log import log_app
from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_cut, record_feeler
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.listing import standings
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import missing, sign
from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.hull.plank_name import PlankName
from tests.calls import call
from tests.fitlog.made import HULL, made_hull, measured, photographs, seen_edge_on

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


def test_a_signature_keeps_what_it_stood_on(hull, tmp_path):
    put(hull, measured(0.1), who="A", photos=photographs(tmp_path, "a.jpg", "b.jpg"))
    put(hull, seen_edge_on(lambda x: None if x > 700 else 0.0))
    closed(hull, from_mm=690.0, who="B", note="paper")
    sign(hull.db_path, FOUR, hull, who="A")
    with reading(hull.db_path) as connection:
        stood_on = queries.signoffs(connection, FOUR)[0].stood_on
        assert check(connection) == []
    assert (stood_on["limits"]["limit_mm"], stood_on["limits"]["to_mm"]) == (25.4 / 32, 1000.0)
    assert stood_on["fit"]["number"] == 1
    assert [(one["kind"], len(one["photographs"])) for one in stood_on["fit"]["sets"]] == [("edge", 2), ("gap", 0)]
    (felt,) = stood_on["feelers"]
    assert (felt["who"], felt["note"], felt["blade_mm"]) == ("B", "paper", 0.1)
    assert stood_on["coverage_mm"]["on"] == 1000.0
    assert sum(stood_on["coverage_mm"].values()) == 1000.0
    assert [run["word"] for run in stood_on["proofs"]["edge"]] == ["on"]
    lap = stood_on["proofs"]["lap"]
    assert [run["word"] for run in lap] == ["photographs", "feeler"]
    assert lap[0]["to_mm"] == pytest.approx(700.0, abs=3.0)
    said = call(log_app, "show", "4 port", "--hull", str(hull.path)).output
    assert "stood on fit 1: 2 photographs, 1 feeler reading" in said
    assert "limits then: edge 1/32 in, lap 0.004 in" in said
    assert "closed by feeler over 11-3/4 in" in said


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            '\n[limits]\nedge = "3/64in"\n',
            "loosened since it was signed: the edge's limit was 1/32 in and is 3/64 in now",
        ),
        (
            '\n[limits]\ngap = "0.3mm"\n',
            "loosened since it was signed: the lap's limit was 0.004 in and is 0.012 in now",
        ),
        ('\n[limits]\nedge = "1/64in"\n', "tightened since it was signed: the edge's limit was 1/32 in"),
        ('\n[limits]\nleast_lap = "20mm"\n', "tightened since it was signed: the least lap was not asked for"),
    ],
)
def test_limits_changed_afterwards_are_shown_beside_the_signature(hull, tmp_path, text, line):
    put(hull, measured(0.1))
    closed(hull)
    sign(hull.db_path, FOUR, hull, who="A")
    assert "since" not in standing(hull).todo
    changed = made_hull(tmp_path, HULL + text)
    assert line in standing(changed).todo
    words = ["--hull", str(changed.path)]
    assert line in call(log_app, "show", "4 port", *words).output
    page = tmp_path / "plank.html"
    call(log_app, "report", "4 port", "--out", str(page), *words)
    assert line.replace("'", "&#39;") in page.read_text(encoding="utf-8")


def test_signing_under_limits_looser_than_usual_is_said_and_kept(hull, tmp_path):
    """Recorded under 1/32 in; the settings are loosened just before signing, and a feeler is tried after that."""
    put(hull, measured(0.6))
    loose = made_hull(tmp_path, HULL + '\n[limits]\nedge = "3/64in"\n')
    closed(loose)
    done = call(log_app, "sign", "4 port", "--who", "A", "--hull", str(loose.path))
    assert done.exit_code == 0, done.output
    line = "the edge's limit is 3/64 in, looser than this hull's usual 1/32 in"
    assert f"signed under looser limits: {line}" in done.output
    assert line in call(log_app, "show", "4 port", "--hull", str(loose.path)).output
    with reading(hull.db_path) as connection:
        assert queries.signoffs(connection, FOUR)[0].stood_on["usual"]["limit_mm"] == 25.4 / 32


def test_usual_is_what_signatures_stood_on_where_that_is_tighter(hull, tmp_path):
    put(hull, measured(0.1))
    closed(hull)
    sign(hull.db_path, FOUR, hull, who="A")
    loose = made_hull(tmp_path, HULL + '\n[limits]\ngap = "0.3mm"\n')
    for _ in range(3):
        put(loose, measured(0.1))
    closed(loose)
    signed = sign(loose.db_path, FOUR, loose, who="A")
    assert signed.looser == ("the lap's limit is 0.012 in, looser than this hull's usual 0.004 in",)


def test_signing_under_the_usual_limits_says_nothing(tmp_path):
    hull = made_hull(tmp_path, HULL + '\n[limits]\nedge = "2mm"\n')
    put(hull, measured(0.1))
    closed(hull)
    assert sign(hull.db_path, FOUR, hull, who="A").looser == ()


def test_an_overruled_signature_keeps_what_was_seen_too(hull):
    put(hull, measured(0.1, frame="along_mm"))
    sign(hull.db_path, FOUR, hull, who="A", overrule="tried with a batten")
    with reading(hull.db_path) as connection:
        stood_on = queries.signoffs(connection, FOUR)[0].stood_on
    assert stood_on["proofs"]["edge"] == []
    assert {run["word"] for run in stood_on["proofs"]["lap"]} <= {"unseen"}
