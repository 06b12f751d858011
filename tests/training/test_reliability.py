"""Stated against observed: known chances come out as they are, and falsely stated ones are seen to be false."""

from __future__ import annotations

import json

import numpy as np
import pytest

from fitcheck.ground.uncertainty import COVERAGE
from tests.training import line_shares, reliability


def photos(rng, *, boast=0.0, u_mm=0.2, places=4000):
    """Two photographs whose edge and line run where they are said to with just the chance stated, less ``boast``."""
    found = []
    for number in range(2):
        chance = rng.uniform(0.0, 1.0, places)
        right = rng.random((2, places)) < chance - boast
        off = np.where(right, rng.uniform(-0.7, 0.7, (2, places)), rng.uniform(1.0, 5.0, (2, places)))
        true = rng.uniform(-2.0, 2.0, places)
        columns = {
            "edge_chance": chance, "edge_off_mm": off[0], "line_chance": chance, "line_off_mm": off[1],
            "line_there": np.ones(places, bool), "measured": np.ones(places, bool), "true_past_mm": true,
            "past_mm": true + rng.normal(0.0, 0.2, places), "u95_mm": np.full(places, COVERAGE * u_mm),
        }  # fmt: skip
        about = {"name": f"d{number}", "refused": "", "fair": True, "strake_wood": "spruce_a", "line_colour": "blue"}
        about |= {"line_width_mm": 0.5, "line_contrast": 0.7}
        found.append({**about, "places": {name: one.tolist() for name, one in columns.items()}})
    return found


def test_true_chances_lie_on_the_diagonal():
    for tenths in reliability.curves(photos(np.random.default_rng(1))).values():
        for tenth in (one for one in tenths if one is not None and one.places > 500):
            assert tenth.observed == pytest.approx(tenth.stated, abs=0.05)


def test_boasted_chances_do_not():
    curves = reliability.curves(photos(np.random.default_rng(1), boast=0.2))
    for name in ("edge", "line"):
        assert all(tenth.stated - tenth.observed > 0.1 for tenth in curves[name][3:])
    honest, narrow = (reliability.curves(photos(np.random.default_rng(2), u_mm=u))["state"] for u in (0.2, 0.05))
    assert narrow[8].observed < narrow[8].stated - 0.05
    assert honest[8].observed == pytest.approx(honest[8].stated, abs=0.06)


def test_a_line_that_is_not_there_is_never_found_rightly():
    made = photos(np.random.default_rng(3))
    for one in made:
        one["places"]["line_there"] = [False] * 4000
    assert all(tenth.observed == 0.0 for tenth in reliability.curves(made)["line"])


def test_the_figures_are_those_of_the_places():
    told = reliability.figures(photos(np.random.default_rng(4)))
    assert told["share of errors inside the stated doubt"] == pytest.approx(0.95, abs=0.01)
    assert told["95 % of errors within, mm"] == pytest.approx(0.2 * COVERAGE, abs=0.02)
    assert told["share of places sure and wrong"] == 0.0
    assert told["fair ones measured"] == 2


def test_table_and_picture_are_written(tmp_path):
    (tmp_path / "places.json").write_text(json.dumps(dict(enumerate(photos(np.random.default_rng(5))))))
    reliability.main([str(tmp_path / "places.json"), "--out", str(tmp_path / "told")])
    text = (tmp_path / "told.md").read_text()
    assert text.count("\n| ") >= 20
    assert "told.png" in text
    assert (tmp_path / "told.png").read_bytes().startswith(b"\x89PNG")


def test_shares_count_places_where_a_line_is_in_sight():
    made = photos(np.random.default_rng(6), places=200)
    places = made[0]["places"]
    places["edge_chance"], made[1]["places"]["edge_chance"] = [1.0] * 200, [1.0] * 200
    places["line_there"] = [True] * 100 + [False] * 100
    places["measured"] = [True] * 50 + [False] * 150
    places["line_off_mm"] = [0.1] * 200
    made[1]["line_colour"], made[1]["places"]["line_off_mm"] = "red", [-0.7] * 150 + [5.0] * 50
    rows = {row[:2]: row[2:] for row in line_shares.shares(made)}
    assert rows["colour", "blue"] == (1, 100, 0.5, 0.0)
    assert rows["colour", "red"] == (1, 200, 0.75, 0.25)
    assert rows["width", "0.45 to 0.65 mm"][:2] == (2, 300)
