"""What is told for the record and could not go there is an error before anything is measured, never silence."""

from __future__ import annotations

import json

import pytest

from fitcheck.cli.main import run
from fitcheck.fitlog.likeness import alike
from fitcheck.fitlog.recording import record
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.settings_file import load_hull
from tests.fitlog.made import made_hull, measured
from tests.samples import PLAIN, TEAL

MEASURE = ["measure", str(PLAIN), "--camera", str(TEAL), "--reference", "id1", "--thickness", "1/2in", "--lap", "1in"]
GAP = ["gap", *MEASURE[1:]]


@pytest.fixture
def nothing_measured(monkeypatch):
    def at_work(*_, **__):
        raise AssertionError("it was measured")

    monkeypatch.setattr("fitcheck.cli.measure.measure_request", at_work)
    monkeypatch.setattr("fitcheck.cli.gap.gap_request", at_work)


def line_of(capsys, *words):
    assert run([str(word) for word in words]) == 2
    return capsys.readouterr().err


@pytest.mark.parametrize("command", [MEASURE, GAP])
@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--plank", "4 port"], "no fitcheck.toml here"),
        (["--record"], "--record needs the plank"),
        (["--who", "A"], "--who is for the record"),
        (["--note", "dry"], "--note is for the record"),
        (["--same-fit"], "--same-fit is for the record"),
        (["--stations", "none.csv"], "the reference is id1"),
        (["--stations", "none.csv", "--reference", "station"], "cannot read the stations file none.csv"),
    ],
)
def test_without_settings_or_plank_nothing_can_be_recorded(
    tmp_path, monkeypatch, capsys, nothing_measured, command, more, said
):
    monkeypatch.chdir(tmp_path)
    assert said in line_of(capsys, *command, *more)


def test_a_seam_is_not_recorded_and_that_is_said(tmp_path, monkeypatch, capsys, nothing_measured):
    made_hull(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert "a seam seen face-on does not go on record" in line_of(capsys, *GAP, "--seam", "--plank", "4 port")


def test_what_cannot_be_true_of_the_wood_is_said_before_measuring(tmp_path, monkeypatch, capsys, nothing_measured):
    made_hull(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert "moisture" in line_of(capsys, *MEASURE, "--plank", "4 port", "--moisture", "900")
    assert "clamps" in line_of(capsys, *MEASURE, "--plank", "4 port", "--clamps", "firm")


LISTED = 'name = "Invented"\nlap = "1in"\nthickness = "1/2in"\nreference = "card-us"\n[[strakes]]\nnumber = 4\n'


@pytest.mark.parametrize("slip", ["Fore end", "forë end", "fore-end", "foreend", "fore edn", "fore ends", "for end"])
def test_a_plank_named_nearly_as_another_is_asked_about(tmp_path, monkeypatch, capsys, nothing_measured, slip):
    hull = made_hull(tmp_path, LISTED)
    monkeypatch.chdir(tmp_path)
    record(measured(), db_path=hull.db_path, plank="4 port fore end", hull=hull)
    assert 'but there is of "4 port fore end"' in line_of(capsys, *MEASURE, "--plank", f"4 port {slip}")
    with pytest.raises(WrongCall, match="is that the plank"):
        record(measured(), db_path=hull.db_path, plank=f"4 port {slip}", hull=hull)
    parts = f'parts = [{{ name = "fore end" }}, {{ name = "{slip}" }}]\n'
    if slip != "Fore end":
        both = load_hull(made_hull(tmp_path, LISTED + parts).path)
        assert record(measured(0.1), db_path=hull.db_path, plank=f"4 port {slip}", hull=both).number == 1


@pytest.mark.parametrize(
    ("one", "other"), [("part 1", "part 2"), ("aft", "fwd"), ("a", "b"), ("fore", "aft"), ("", "fore")]
)
def test_other_names_are_other_planks(one, other):
    assert not alike(one, other)


@pytest.mark.parametrize(("command", "answer"), [(MEASURE, "report.json"), (GAP, "gap.json")])
def test_another_planks_report_is_not_written_over(tmp_path, monkeypatch, capsys, nothing_measured, command, answer):
    monkeypatch.chdir(tmp_path)
    old = tmp_path / "out" / answer
    old.parent.mkdir()

    def kept(plank, photo):
        old.write_text(json.dumps({"settings": {"plank": plank}, "photos": [{"name": photo}]}), encoding="utf-8")

    def refused(*more):
        said = line_of(capsys, *command, "--out", "out", *more)
        return "holds the report" in said and "--replace" in said

    def goes_on(*more):
        status = run([*command, "--out", "out", "--no-record", *more])
        return status == 1 and "it was measured" in capsys.readouterr().err

    kept("5 port", PLAIN.name)
    assert refused("--no-record", "--plank", "4 port")
    assert refused()
    assert goes_on("--plank", "5 Port")
    assert goes_on("--plank", "4 port", "--replace")
    kept(None, "other.jpg")
    assert refused()
    kept(None, PLAIN.name)
    assert goes_on()
    old.write_text("no report", encoding="utf-8")
    assert goes_on()
