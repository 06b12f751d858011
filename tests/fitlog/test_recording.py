"""What is recorded is what was measured, whatever it is called, once and in the right fit."""

from __future__ import annotations

import json
import math
from contextlib import closing

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_cut
from fitcheck.fitlog.connection import connect
from fitcheck.fitlog.export import as_csv, as_json
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.photos import photo_store
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.summary import summary_of
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from tests.fitlog.made import HULL, cut, made_hull, measured, photographs, seen_edge_on

FOUR = PlankName(4, "port")


@pytest.fixture
def hull(tmp_path):
    return made_hull(tmp_path)


def put(hull, measurement=None, **told):
    told.setdefault("plank", "4 port")
    return record(measurement or measured(), db_path=hull.db_path, hull=hull, **told)


def rows(hull, sql, *values):
    with closing(connect(hull.db_path)) as connection:
        return [tuple(row) for row in connection.execute(sql, values)]


def test_everything_measured_is_kept(hull, tmp_path):
    measurement = measured(
        lambda x: x / 1000, covered=[(100, 120)], planing={"verdict": "plane", "cuts": [cut(300, 600, 0.5)]}
    )
    told = {"note": "dry", "who": "A", "moisture_pct": 11.0, "temperature_c": 18.5, "clamps": "eased"}
    recorded = put(hull, measurement, photos=photographs(tmp_path, "a.jpg", "b.png"), **told)
    assert str(recorded) == "recorded as fit 1 of 4 port"
    with reading(hull.db_path) as connection:
        (plank,) = as_json(connection)["planks"]
    (fit,) = plank["fits"]
    (take,) = fit["takes"]
    assert {key: fit[key] for key in told} == told
    assert take["measurement"] == {key: value for key, value in measurement.items() if key != "samples"}
    assert len(take["photographs"]) == 2
    for sample, kept in zip(measurement["samples"], take["samples"], strict=True):
        assert kept["plank_mm"] == sample["plank_mm"] == kept["place_mm"]
        assert kept["past_line_mm"] == sample["past_line_mm"]
        assert kept["u95_mm"] == sample["u95_mm"]
        assert kept["state"] == sample["state"]
        assert [kept["edge_u_px"], kept["edge_v_px"]] == sample["edge_px"]
        assert [kept["line_u_px"], kept["line_v_px"]] == sample["line_px"]
        assert kept["flags"] == sample["flags"]


def test_the_same_photographs_are_recognised(hull, tmp_path):
    photos = photographs(tmp_path, "a.jpg", "b.jpg")
    first = put(hull, photos=photos)
    renamed = tmp_path / "another name.jpg"
    renamed.write_bytes(photos[0].read_bytes())
    again = put(hull, photos=[photos[1], renamed, photos[1]])
    assert (again.fit_id, again.new) == (first.fit_id, False)
    assert str(again) == "on record already as fit 1 of 4 port"
    assert rows(hull, "SELECT count(*) FROM fits") == [(1,)]


def test_the_same_photographs_measured_anew_supersede(hull, tmp_path):
    photos = photographs(tmp_path, "a.jpg")
    put(hull, measured(0.5), photos=photos)
    again = put(hull, measured(0.2), photos=photos)
    assert (again.number, again.new) == (1, True)
    with reading(hull.db_path) as connection:
        ((_, samples),) = queries.edge_takes(connection, again.fit_id)
    assert samples[0].past_line_mm == 0.2
    assert rows(hull, "SELECT count(*) FROM samples") == [(402,)]


def test_a_photograph_shows_one_plank_and_one_fit(hull, tmp_path):
    first, second = photographs(tmp_path, "a.jpg", "b.jpg")
    put(hull, photos=[first])
    put(hull, measured(0.1), photos=[second])
    with pytest.raises(WrongCall, match=r"a\.jpg is on record as fit 1 of 4 port"):
        put(hull, photos=[first], plank="4 starboard")
    with pytest.raises(WrongCall, match="in different fits"):
        put(hull, measured(0.3), photos=[first, second])
    assert rows(hull, "SELECT count(*) FROM takes") == [(2,)]


def test_clamps_moved_join_the_same_fit_and_fill_what_they_covered(hull, tmp_path):
    put(hull, measured(0.1, covered=[(300, 340)]), photos=photographs(tmp_path, "a.jpg"))
    joined = put(
        hull, measured(0.1, covered=[(700, 740)]), photos=photographs(tmp_path, "b.jpg", seed=1), same_fit=True
    )
    assert joined.number == 1
    with reading(hull.db_path) as connection:
        summary = summary_of(connection, joined.fit_id, terms_of(FOUR, hull))
    assert summary["covered_len_mm"] == 0
    assert summary["on_len_mm"] == 1000
    with pytest.raises(WrongCall, match="no fit of this plank"):
        put(hull, same_fit=True, plank="4 starboard")


def test_edge_on_views_join_the_latest_fit_until_the_plank_is_planed(hull):
    put(hull)
    assert put(hull, seen_edge_on()).number == 1
    record_cut(hull.db_path, FOUR, from_mm=0, to_mm=100, deepest_mm=0.5)
    with pytest.raises(WrongCall, match="planed after its latest fit"):
        put(hull, same_fit=True)
    assert put(hull, seen_edge_on(0.01)).number == 2


def test_photographs_are_copied_or_left(hull, tmp_path):
    (photo,) = photographs(tmp_path / "camera", "IMG 1.JPG")
    put(hull, photos=[photo])
    ((place, stored),) = rows(hull, "SELECT place, stored FROM photographs")
    assert stored == 1
    assert (photo_store(hull.db_path) / place).read_bytes() == photo.read_bytes()
    (other,) = photographs(tmp_path / "camera", "IMG 2.JPG", seed=5)
    put(hull, measured(0.1), photos=[other], keep="leave")
    assert rows(hull, "SELECT place FROM photographs WHERE stored = 0") == [(str(other),)]
    with pytest.raises(WrongCall, match="cannot read the photograph"):
        put(hull, photos=[tmp_path / "gone.jpg"])


@pytest.mark.parametrize(
    ("plank", "first_mm", "last_mm"),
    [("4 port", 400.0, 600.0), ("4 starboard", 600.0, 400.0)],
)
def test_a_told_place_lays_the_photograph_along_the_plank(hull, plank, first_mm, last_mm):
    """Facing the port side the bow is on the left, facing starboard on the right (common practice, no source)."""
    measurement = measured(
        lambda x: x / 1000,
        places_mm=range(-100, 101, 5),
        frame="along_mm",
        planing={"verdict": "plane", "cuts": [cut(50, 100, 0.4)]},
    )
    recorded = put(hull, measurement, plank=plank, at_mm=500.0)
    places = rows(hull, "SELECT place_mm FROM samples ORDER BY n")
    assert (places[0][0], places[-1][0]) == (first_mm, last_mm)
    with reading(hull.db_path) as connection:
        (asked,) = queries.advised_cuts(connection, recorded.fit_id)
        frame, _ = queries.edge_takes(connection, recorded.fit_id)[0]
    assert frame == "plank"
    assert (asked["from_mm"], asked["to_mm"]) == ((550.0, 600.0) if plank == "4 port" else (400.0, 450.0))
    assert [at for at, _ in asked["profile"]] == sorted(at for at, _ in asked["profile"])


def test_cards_numbered_from_the_stern_turn_it_round(tmp_path):
    hull = made_hull(tmp_path, HULL + '\n[stations]\nnumbered_from = { starboard = "stern" }\n')
    measurement = measured(places_mm=range(-100, 101, 5), frame="along_mm")
    put(hull, measurement, plank="4 starboard", at_mm=500.0)
    assert rows(hull, "SELECT place_mm FROM samples ORDER BY n LIMIT 1") == [(400.0,)]


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        ({"state": "refused"}, "refused"),
        ({"samples": []}, "no samples"),
        ({"samples": ["x"]}, "no samples"),
        ({"samples": [{"plank_mm": 1.0, "state": "past", "past_line_mm": math.nan, "u95_mm": 0.1}]}, "no number"),
        ({"samples": [{"plank_mm": 1.0, "state": "past", "past_line_mm": 1.0, "u95_mm": -0.1}]}, "not below zero"),
        ({"samples": [{"plank_mm": 1.0, "state": "past", "past_line_mm": 1.0, "u95_mm": None}]}, "does not go with"),
        ({"samples": [{"plank_mm": 1.0, "state": "hidden", "past_line_mm": 1.0, "u95_mm": 0.1}]}, "does not go with"),
        ({"samples": [{"plank_mm": 1.0, "state": "wrong", "past_line_mm": 1.0, "u95_mm": 0.1}]}, "not known"),
        ({"samples": [{"state": "on", "past_line_mm": 0.0, "u95_mm": 0.1}]}, "has no place"),
        ({"budget_mm": {"edge": math.inf}}, "JSON"),
        ({"planing": {"cuts": [{"from_mm": 1.0, "to_mm": 2.0}]}}, "no depth"),
        ({"planing": {"cuts": [{"from_mm": 1.0, "deepest_mm": 2.0}]}}, "no ends"),
    ],
)
def test_what_is_no_measurement_is_not_recorded(hull, broken, said):
    with pytest.raises(WrongCall, match=said):
        put(hull, {**measured(), **broken})
    assert not hull.db_path.exists()


@pytest.mark.parametrize(
    "told", [{"moisture_pct": -1}, {"temperature_c": 400}, {"clamps": "loose"}, {"note": "x" * 5000}]
)
def test_what_cannot_be_told_is_refused(hull, told):
    with pytest.raises(WrongCall):
        put(hull, **told)


HOSTILE = [
    "'; DROP TABLE fits; --",
    '"quoted" \\ back',
    "../../etc/passwd",
    "/absolute",
    "Ære Ø 木 🛶",
    "%s {0} ${HOME}",
    "<script>alert(1)</script>",
    ".. ..",
    "=1+1",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_names_are_data_never_paths_or_sql(tmp_path, text):
    hull = made_hull(tmp_path, f"name = {json.dumps(text, ensure_ascii=False)}\nlap = '1in'\nthickness = '1/2in'\n")
    (photo,) = photographs(tmp_path / "photos", "a.jpg")
    odd = photo.with_name(text.replace("/", "_"))
    odd.write_bytes(photo.read_bytes())
    recorded = put(hull, plank=f"4 port {text}", photos=[odd], note=text, who=text)
    assert recorded.plank.part == text
    with reading(hull.db_path) as connection:
        assert queries.planks(connection) == [PlankName(4, "port", text)]
        fit = queries.fit(connection, recorded.plank)
        assert (fit.note, fit.who) == (text, text)
        whole = as_json(connection)
        assert whole["hull"] == text
        assert whole["photographs"][0]["name"] == odd.name
        assert len(as_csv(connection, recorded.plank).splitlines()) == 202
    inside = {path.name for path in tmp_path.iterdir()}
    assert inside == {"fitcheck.toml", "fitcheck.db", "fitcheck-photos", "fitcheck-backups", "photos"}


@given(text=st.text(max_size=80))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_note_comes_back(tmp_path, text):
    hull = made_hull(tmp_path)
    recorded = put(hull, note=text)
    ((kept,),) = rows(hull, "SELECT note FROM fits WHERE id = ?", recorded.fit_id)
    assert kept == text


def test_a_hull_that_is_named_anew_keeps_its_record(hull, tmp_path):
    put(hull)
    renamed = made_hull(tmp_path, HULL.replace("Invented dinghy", "Invented skiff"))
    assert put(renamed, measured(0.1)).number == 2
    assert rows(hull, "SELECT name FROM hulls") == [("Invented skiff",)]
