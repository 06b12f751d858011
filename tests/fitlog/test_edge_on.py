"""Gaps, steps and the bevel in the record: what is kept, what is asked for first, what the tickets print."""

import re

import pytest

from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_cut, record_feeler
from fitcheck.fitlog.listing import standings_at
from fitcheck.fitlog.recorded_input import read_take
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.signing import missing
from fitcheck.fitlog.store import reading
from fitcheck.hull.plank_name import PlankName
from fitcheck.report.record.history_page import write_plank_history
from fitcheck.report.record.lap_on_record import bevel_first, lap_lines
from tests.fitlog.made import cut, made_hull, measured, seen_edge_on

FOUR = PlankName(4, "port")
RUN = {"from_mm": 200.0, "to_mm": 300.0, "at_mm": 250.0, "deepest_mm": 0.4, "more_deg": 0.9, "becomes_deg": 6.9}
BEVEL = {"runs": [{**RUN, "profile": [[200.0, 0.2], [250.0, 0.4], [300.0, 0.1]]}], "edge_waits": True}
GAIN = {
    "end_mm": 1000.0,
    "take_off": [{"from_mm": 800.0, "to_mm": 850.0, "at_mm": 820.0, "most_mm": 0.8}],
    "over_cut": [],
    "flush": True,
    "end_proud_mm": 0.2,
    "end_u95_mm": 0.5,
    "profile": [[800.0, 6.0, 5.0, 0.2], [850.0, 5.0, 4.5, 0.2]],
}


@pytest.fixture
def hull(tmp_path):
    return made_hull(tmp_path)


def put(hull, measurement, **told):
    return record(measurement, db_path=hull.db_path, plank="4 port", hull=hull, **told)


def opened(gap=0.5):
    lap = seen_edge_on(lambda x: gap if 200 <= x <= 300 else 0.0)
    return {**lap, "bevel": BEVEL, "gains": [GAIN]}


def said(hull):
    with reading(hull.db_path) as connection:
        fit = queries.fit(connection, FOUR)
        summary = dict(connection.execute("SELECT * FROM summaries WHERE fit_id = ?", (fit.id,)).fetchone())
        return lap_lines(connection, fit.id, summary, hull)


def test_the_record_keeps_gap_step_bevel_and_gain(hull):
    put(hull, measured(0.1))
    put(hull, opened())
    text = "\n".join(said(hull))
    assert "widest 0.020 in" in text  # 0.5 mm
    assert "proud 1/2 in" in text  # 12.7 mm
    assert re.search(r"plane the lap of the strake below toward its upper edge, at most 0\.015 in", text)  # 0.4 mm
    assert "Bevel first, edge after" in text
    assert "the step is too high" in text
    assert "comes flush" in text


def test_where_the_lap_is_open_the_bevel_comes_before_the_edge(hull):
    """Bevelling lets the plank lie closer and moves its edge (common practice, no source)."""
    put(hull, measured(1.5, planing={"verdict": "plane", "cuts": [cut(0, 300, 1.2)]}))
    assert standing(hull).state == "plane"
    put(hull, opened())
    assert standing(hull).state == "close the lap"
    assert "bevel first; the edge waits" in standing(hull).todo


def standing(hull):
    return next(found for found in standings_at(hull) if found.plank == FOUR)


def test_the_bevel_stands_first_on_the_ticket_until_the_plank_is_planed(hull):
    assert bevel_first(hull, FOUR) == []
    put(hull, measured(0.1))
    put(hull, opened())
    assert any("upper edge" in line for line in bevel_first(hull, FOUR))
    record_cut(hull.db_path, FOUR, from_mm=0.0, to_mm=100.0, deepest_mm=0.5)
    assert bevel_first(hull, FOUR) == []


@pytest.mark.parametrize(("sign", "ends"), [(1, (1100.0, 1200.0)), (-1, (600.0, 700.0))])
def test_advice_of_one_photograph_is_carried_to_its_place_on_the_plank(sign, ends):
    """A card's middle at 900 mm of the tape: what is told from 200 to 300 mm of it lies there, either way round."""
    lap = opened()
    along = [{**one, "along_mm": one["plank_mm"], "plank_mm": None} for one in lap["samples"]]
    advice = read_take({**lap, "samples": along}, at_mm=900.0, along_sign=sign).advice
    run, gain = advice["bevel"]["runs"][0], advice["gains"][0]
    assert (run["from_mm"], run["to_mm"]) == ends
    assert run["at_mm"] == 900.0 + sign * 250.0
    assert run["profile"] == sorted(run["profile"])
    assert dict(map(tuple, run["profile"]))[900.0 + sign * 250.0] == 0.4
    assert gain["end_mm"] == 900.0 + sign * 1000.0
    assert gain["take_off"][0]["at_mm"] == 900.0 + sign * 820.0


def test_signing_off_asks_for_the_lap_seen_closed_or_felt_at_its_place(hull):
    put(hull, measured(0.1))
    put(hull, {**seen_edge_on(0.0, u95_mm=0.15), "bevel": None, "gains": []})
    assert lacking(hull) == ["lap-unsure"]
    for place in (150.0, 450.0, 750.0, 950.0):
        record_feeler(hull.db_path, FOUR, hull, from_mm=place, to_mm=place, blade_mm=0.1, goes_in=False)
    assert lacking(hull) == []


def test_signing_off_asks_for_a_feeler_just_where_the_corner_is_eased(hull):
    """Closed under 0.08 mm where the corner is sharp; from 300 to 500 mm it is eased: closed under 0.15 mm."""
    put(hull, measured(0.1))
    sharp, eased = seen_edge_on(0.0), seen_edge_on(0.0, u95_mm=0.15)
    samples = [
        {**round_one, "flags": ["corner-eased"]} if 300.0 <= one["plank_mm"] <= 500.0 else one
        for one, round_one in zip(sharp["samples"], eased["samples"], strict=True)
    ]
    put(hull, {**sharp, "samples": samples, "bevel": None, "gains": []})
    assert lacking(hull) == ["corner-eased"]
    with reading(hull.db_path) as connection:
        [text] = [reason.text for reason in missing(connection, FOUR, hull)]
    assert "a feeler decides here" in text
    record_feeler(hull.db_path, FOUR, hull, from_mm=300.0, to_mm=500.0, blade_mm=0.1, goes_in=False)
    assert lacking(hull) == []


def lacking(hull):
    with reading(hull.db_path) as connection:
        return [reason.code for reason in missing(connection, FOUR, hull)]


def test_the_history_page_tells_of_the_lap(hull, tmp_path):
    put(hull, measured(0.1))
    put(hull, opened())
    text = write_plank_history(hull, FOUR, tmp_path / "h.html").read_text(encoding="utf-8")
    assert "widest 0.020 in" in text
    assert "Bevel first" in text
