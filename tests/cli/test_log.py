"""The commands: what they say, their exit status, and their JSON."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from fitcheck.cli.log import log_app, new
from fitcheck.fitlog.recording import record
from tests.calls import call
from tests.fitlog.made import cut, made_hull, measured, photographs, seen_edge_on


@pytest.fixture
def hull(tmp_path, monkeypatch):
    hull = made_hull(tmp_path)
    monkeypatch.chdir(tmp_path)
    planing = {"verdict": "plane", "cuts": [cut(100, 300, 1.2)]}
    record(
        measured(1.5, planing=planing),
        db_path=hull.db_path,
        plank="4 port",
        hull=hull,
        photos=photographs(tmp_path, "a.jpg"),
    )
    return hull


def said(*words, status=0):
    done = call(log_app, *words)
    assert done.exit_code == status, done.output
    return done


def test_from_the_first_fit_to_the_signature(hull):
    assert "plane" in said("list").output
    assert "asked to plane: 3-7/8 in to 11-3/4 in" in said("show", "4 port").output
    assert "1 cut of 4 port recorded" in said("cut", "4 port", "--as-asked", "--who", "A").output
    assert "on record already" in said("cut", "4 port", "--as-asked", status=2).output
    record(measured(0.1), db_path=hull.db_path, plank="4 port", hull=hull, who="A", moisture_pct=11)
    assert "less past the line" in said("compare", "4 port").output
    refused = said("sign", "4 port", "--who", "A", status=3).output
    assert "no one has seen the lap closed" in refused
    said("feeler", "4 port", "--blade", "0.1mm", "--stays-out", "--from", "0mm", "--to", "1000mm")
    assert "signed off by A after fit 2" in said("sign", "4 port", "--who", "A").output
    assert "1 signed" in said("list").output
    said("cut", "4 port", "--from", "0mm", "--to", "2in", "--depth", "1/64in")
    assert "opened again" in said("show", "4 port").output


def test_json_of_every_question(hull):
    record(measured(0.4), db_path=hull.db_path, plank="4 port", hull=hull)
    record(measured(0.1), db_path=hull.db_path, plank="4 starboard", hull=hull)
    listed = json.loads(said("list", "--json", "-").stdout)
    by_plank = {standing["plank"]: standing for standing in listed["planks"]}
    assert by_plank["4 port"]["fits"] == 2
    assert len(json.loads(said("list", "--all", "--json", "-").stdout)) == 3
    shown = json.loads(said("show", "4 port", "--json", "-").stdout)
    assert len(shown["takes"][0]["samples"]) == 201
    compared = json.loads(said("compare", "4 port", "--json", "-").stdout)
    assert compared["changed"][0]["by_mm"] == pytest.approx(-1.1)
    both = json.loads(said("twin", "4 port", "--json", "-").stdout)
    assert both["starboard"]["plank"] == "4 starboard"
    said("twin", "4 port", "--json", "twin.json")
    assert json.loads((hull.path.parent / "twin.json").read_text(encoding="utf-8")) == both


def test_export_as_csv_and_json(hull, tmp_path):
    record(seen_edge_on(), db_path=hull.db_path, plank="4 port", hull=hull)
    rows = list(csv.DictReader(io.StringIO(said("export", "csv").stdout)))
    assert len(rows) == 402
    assert (rows[0]["strake"], rows[0]["side"], rows[0]["past_line_mm"], rows[0]["kind"]) == (
        "4",
        "port",
        "1.5",
        "edge",
    )
    assert rows[-1]["kind"] == "gap"
    assert rows[-1]["gap_u95_mm"] == "0.08"
    said("export", "json", "--plank", "4 port", "--out", str(tmp_path / "record.json"))
    whole = json.loads((tmp_path / "record.json").read_text(encoding="utf-8"))
    assert [take["kind"] for take in whole["planks"][0]["fits"][0]["takes"]] == ["edge", "gap"]
    said("export", "xml", status=2)


def test_backup_and_restore(hull, tmp_path):
    said("backup", "--out", str(tmp_path / "copy.db"))
    said("cut", "4 port", "--as-asked")
    assert "planed" in said("list").output
    assert "restored" in said("restore", str(tmp_path / "copy.db")).output
    assert "planed" not in said("list").output


def test_reports_are_written(hull, tmp_path):
    said("report", "4 port", "--out", str(tmp_path / "plank.html"))
    said("report")
    assert "<h1>Plane</h1>" in (tmp_path / "plank.html").read_text(encoding="utf-8")
    assert (tmp_path / "fitcheck-hull.html").exists()


@pytest.mark.parametrize(
    "words",
    [
        ["show", "99 port"],
        ["show", "4 starboard"],
        ["compare", "4 port"],
        ["cut", "4 port"],
        ["cut", "4 port", "--from", "1", "--to", "2in", "--depth", "1mm"],
        ["cut", "4 port", "--from", "2in", "--to", "1in", "--depth", "1mm"],
        ["cut", "4 port", "--from", "1in", "--to", "2in", "--depth", "0mm"],
        ["feeler", "4 port", "--blade", "0.1mm", "--goes-in"],
        ["feeler", "4 port", "--blade", "0mm", "--goes-in", "--at", "1in"],
        ["repeat", "4 port"],
        ["restore", "nowhere.db"],
        ["list", "--hull", "nowhere.toml"],
    ],
)
def test_a_wrong_call_is_one_line_and_status_two(hull, words):
    done = said(*words, status=2)
    assert done.output.startswith("fitcheck: ")
    assert "Traceback" not in done.output


def test_without_settings_it_says_how_to_write_them(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "fitcheck new" in said("list", status=2).output


def test_new_writes_settings_that_list_reads(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    app = typer.Typer()
    app.command()(new)
    done = call(app, "--name", "Invented skiff", "--strakes", "3")
    assert done.exit_code == 0, done.output
    assert "6 not begun" in said("list").output
    again = call(app)
    assert again.exit_code == 2
    assert "left as it is" in again.output


def test_wood_that_moved_is_told_in_the_comparison(tmp_path, monkeypatch):
    """White oak, 150 mm, 8 to 13 %: 2.7 mm wider; held along its upper edge, the lower edge goes past by as much."""
    hull = made_hull(tmp_path)
    monkeypatch.chdir(tmp_path)
    for value, moisture in ((0.0, 8.0), (2.0, 13.0)):
        record(measured(value), db_path=hull.db_path, plank="3 port", hull=hull, moisture_pct=moisture)
    output = said("compare", "3 port").output
    assert "moisture 8 % to 13 %" in output
    assert "which explains the shift" in output


@pytest.mark.parametrize(
    ("words", "done"),
    [
        (["cut", "4 port", "--from", "1in", "--to", "2in", "--depth", "1/64in"], "cut of 4 port recorded"),
        (["feeler", "4 port", "--blade", "0.1mm", "--stays-out", "--at", "1in"], "feeler reading of 4 port recorded"),
        (["sign", "4 port", "--who", "A", "--overrule", "by eye"], "4 port signed off by A after fit 1"),
        (["withdraw", "4 port", "--fit", "1", "--who", "A", "--why", "x"], "fit 1 of 4 port withdrawn"),
        (
            ["move", "4 port", "--fit", "1", "--to", "3 port", "--who", "A", "--why", "x"],
            "fit 1 of 4 port is now fit 1",
        ),
    ],
)
def test_what_went_on_record_is_said_where_the_output_is_full(hull, words, done):
    """On a full disk behind standard output, Linux's /dev/full."""
    code = "from fitcheck.cli.main import main; main()"
    with Path("/dev/full").open("w") as full:
        ended = subprocess.run(
            [sys.executable, "-c", code, "log", *words],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            cwd=hull.path.parent,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        )
    assert ended.returncode == 1
    (line,) = ended.stderr.splitlines()
    assert "No space left" in line
    assert f"on record and kept: {done}" in line
