"""The command line as a user meets it: exit statuses, streams, and plain errors."""

import json

import pytest

from tests.cli.running import LAPS, TOLD, run, run_here


def test_a_lap_is_measured_with_the_table_on_stdout(tmp_path):
    answer = tmp_path / "answer.json"
    done = run("measure", LAPS / "strake4-port-fit1.jpg", *TOLD, "--json", answer)
    assert done.returncode == 0
    assert "short" in done.stdout
    told = json.loads(answer.read_text())
    assert told["state"] == "measured"
    assert (told["planing"]["verdict"], told["planing"]["first"]) == ("look again", "slide")
    assert told["planing"]["cuts"] == []


def test_json_to_standard_output_sends_the_table_to_standard_error():
    done = run("measure", LAPS / "strake4-port-fit1.jpg", *TOLD, "--json", "-")
    assert json.loads(done.stdout)["schema"] == 1
    assert "SLIDE FIRST" in done.stderr


def test_a_hidden_line_is_refused_with_json_and_status_3(tmp_path):
    answer = tmp_path / "answer.json"
    told = [*TOLD[:2], "--reference", "card-us", *TOLD[4:]]
    done = run_here("measure", LAPS / "strake6-port-from-above.jpg", *told, "--json", answer)
    assert done.returncode == 3
    assert json.loads(answer.read_text())["reasons"][0]["code"] == "line-hidden"
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("content", "code"),
    [(b"", "photo-empty"), (b"not a picture at all", "photo-kind"), (b"\xff\xd8\xff\xe0 cut off", "photo-damaged")],
)
def test_what_is_no_photograph_is_refused(tmp_path, content, code):
    photo, answer = tmp_path / "fit.jpg", tmp_path / "answer.json"
    photo.write_bytes(content)
    done = run_here("measure", photo, *TOLD, "--json", answer)
    assert done.returncode == 3
    assert json.loads(answer.read_text())["reasons"][0]["code"] == code


@pytest.mark.parametrize(
    "wrong",
    [
        ["--thickness", "12.7"],
        ["--thickness", "3in 4"],
        ["--reference", "postcard"],
        ["--bevel", "steep"],
        ["--keel", "sideways"],
        ["--line-at", "left"],
        ["--camera", "nowhere.json"],
        ["--at", "3"],
    ],
)
def test_a_wrong_call_is_one_plain_line_and_status_2(wrong):
    done = run_here("measure", LAPS / "strake4-port-fit1.jpg", *TOLD, *wrong)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("fitcheck: ")
    assert "Traceback" not in done.stderr


def test_a_missing_photograph_is_a_wrong_call():
    done = run("measure", "nowhere.jpg", *TOLD)
    assert done.returncode == 2
    assert "nowhere.jpg" in done.stderr


def test_several_photographs_are_measured_and_the_others_listed(tmp_path):
    answer, bad = tmp_path / "answer.json", tmp_path / "bad.jpg"
    bad.write_bytes(b"no")
    done = run_here("measure", LAPS / "strake4-port-fit1.jpg", bad, *TOLD, "--json", answer)
    assert done.returncode == 0
    told = json.loads(answer.read_text())
    assert [photo["state"] for photo in told["photos"]] == ["measured", "refused"]


def test_a_fit_is_recorded_where_a_hull_is(tmp_path):
    assert run("new", cwd=tmp_path).returncode == 0
    done = run("measure", LAPS / "strake4-port-fit1.jpg", *TOLD, "--plank", "4 port", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    listed = run("log", "list", cwd=tmp_path)
    assert "4 port" in listed.stdout
    assert "slide first" in listed.stdout


def test_without_arguments_it_shows_its_help():
    assert "measure" in run().stdout + run().stderr
