"""Command lines that make no sense: each is one line and a status, and leaves nothing behind. In this process."""

from __future__ import annotations

import json
import os
import socket

import pytest

from fitcheck.cli.main import run
from fitcheck.hull.first_file import new_hull_text
from tests.samples import PLAIN
from tests.samples import TEAL as CAMERA

TOLD = ["--camera", str(CAMERA), "--reference", "id1", "--thickness", "12.7mm", "--lap", "25.4mm"]
SETTINGS = new_hull_text(name="Invented dinghy", units="in", lap="1in", thickness="1/2in", strakes=4)


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder with an invented hull, and things that are not what they are given for."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "fitcheck.toml").write_text(SETTINGS, encoding="utf-8")
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    # A pipe without a reader or writer, and a socket: whoever opens one waits for ever, or fails in a way of its own.
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(tmp_path / "socket"))
        yield tmp_path


def say(capsys, *words):
    """Status and the one line on standard error of a command that fails, without what was written before it."""
    status = run([str(word) for word in words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return status, err.splitlines()[-1] if err else ""


MEASURE = ["measure", PLAIN, *TOLD]
NO_FILE = [
    (["measure", "folder", *TOLD], "it is a folder"),
    (["measure", "pipe", *TOLD], "a pipe or a device"),
    (["measure", "socket", *TOLD], "a pipe or a device"),
    (["measure", "/dev/zero", *TOLD], "a pipe or a device"),
    (["measure", "", *TOLD], "it is a folder"),
    (["measure", "none.jpg", *TOLD], "there is no such file"),
    (["measure", "a" * 5000, *TOLD], "File name too long"),
    (["gap", "folder", *TOLD], "it is a folder"),
    (["calibrate", "folder", "--out", "c.json"], "it is a folder"),
    (["calibrate", "pipe", "--out", "c.json"], "a pipe or a device"),
    ([*MEASURE, "--camera", "pipe"], "a pipe or a device"),
    ([*MEASURE, "--camera", "socket"], "cannot read"),
    ([*MEASURE, "--camera", "/dev/zero"], "a pipe or a device"),
    ([*MEASURE, "--camera", "folder"], "it is a folder"),
    ([*MEASURE, "--camera", "a" * 5000], "File name too long"),
    ([*MEASURE, "--reference", "station", "--stations", "pipe"], "a pipe or a device"),
    (["log", "list", "--hull", "pipe"], "a pipe or a device"),
    (["log", "list", "--hull", "/dev/zero"], "a pipe or a device"),
    (["log", "list", "--hull", "folder"], "it is a folder"),
    (["log", "restore", "pipe"], "no backup"),
    (["demo", "--samples", "folder"], "sample photographs are not here"),
]
NO_OUTPUT = [
    (["print", "cards", "--out", ""], "give the name of a file"),
    (["print", "cards", "--out", "/"], "give the name of a file"),
    (["print", "cards", "--out", "."], "give the name of a file"),
    (["print", "cards", "--out", ".."], "give the name of a file"),
    (["print", "cards", "--out", "folder"], "it is a folder"),
    (["print", "cards", "--out", "pipe"], "a pipe or a device"),
    (["print", "cards", "--out", "/dev/full"], "a pipe or a device"),
    (["print", "board", "--out", "a" * 300], "File name too long"),
    (["print", "board", "--out", "fitcheck.toml/board.pdf"], "lies in a file"),
    (["log", "report", "--out", ""], "give the name of a file"),
    (["calibrate", PLAIN, "--out", "/"], "give the name of a file"),
    (["calibrate", PLAIN, "--out", "folder"], "it is a folder"),
    ([*MEASURE, "--json", ""], "give the name of a file"),
    ([*MEASURE, "--json", "/"], "give the name of a file"),
    ([*MEASURE, "--json", "folder"], "it is a folder"),
    ([*MEASURE, "--json", "pipe"], "a pipe or a device"),
    ([*MEASURE, "--out", "/"], "give a folder of its own"),
    ([*MEASURE, "--out", "fitcheck.toml"], "a folder is needed"),
    (["gap", *MEASURE[1:], "--out", "pipe"], "a folder is needed"),
    (["log", "import", "/dev/zero"], "a pipe or a device"),
    (["log", "import", "pipe"], "a pipe or a device"),
]
NO_NUMBER = [
    ([*MEASURE, "--lap", "1000m"], "--lap 1000m: between 5"),
    ([*MEASURE, "--lap", "10mm"], "narrower than the plank is thick"),
    ([*MEASURE, "--thickness", "30mm"], "narrower than the plank is thick"),
    ([*MEASURE, "--lap", "14mm", "--limit", "15mm"], "past the whole lap"),
    ([*MEASURE, "--gain", "14in,1in,0in", "--gain-ends", "3ft"], "deeper than the plank is thick"),
    ([*MEASURE, "--gain-ends", "3ft -6in", "--gain", "14in,1/4in,0in"], "is not a length"),
    ([*MEASURE, "--at", "3ft -6in"], "is not a length"),
    (["print", "cards", "--count", "-1"], "numbered 0 to 61"),
    (["print", "cards", "--first", "-1"], "numbered 0 to 61"),
    (["print", "cards", "--first", "9" * 20], "numbered 0 to 61"),
    (["print", "cards", "--count", "9" * 5000], "as an integer"),
    ([*MEASURE, "--fraction", "9" * 20], "on no rule"),
    ([*MEASURE, "--thickness", "9" * 5000 + "mm"], "is not a length"),
    ([*MEASURE, "--thickness", "1/0in"], "is not a length"),
]


@pytest.mark.parametrize(("words", "said"), [*NO_FILE, *NO_OUTPUT, *NO_NUMBER])
def test_it_is_one_line_and_leaves_nothing(bench, capsys, words, said):
    before = sorted(bench.rglob("*"))
    status, line = say(capsys, *words)
    assert status == 2
    assert line.startswith("fitcheck: ")
    assert said in line
    assert len(line) < 500
    assert sorted(bench.rglob("*")) == before


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("deep", b"a = " + b"[" * 5000, "nested too deep"),
        ("digits", b"fraction = " + b"9" * 5000, "is not TOML"),
        ("nul", b'name = "a\x00b"', "is not TOML"),
        ("latin", "name = 'Möwe'".encode("latin-1"), "not text in UTF-8"),
        ("large", b"#" * 1_000_001, "too large"),
    ],
)
def test_settings_that_are_no_settings(bench, capsys, name, content, said):
    path = bench / f"{name}.toml"
    path.write_bytes(content)
    status, line = say(capsys, "log", "list", "--hull", path)
    assert status == 2
    assert said in line


def test_settings_with_a_mark_of_order_are_read(bench, capsys):
    (bench / "fitcheck.toml").write_text("\ufeff" + SETTINGS, encoding="utf-8")
    assert run(["log", "list"]) == 0
    assert "Invented dinghy" in capsys.readouterr().out


def test_a_camera_named_with_a_nul(bench, capsys):
    told = SETTINGS.replace('# camera = "calib/camera.json"', 'camera = "a\\u0000b"')
    (bench / "fitcheck.toml").write_text(told, encoding="utf-8")
    status, line = say(capsys, "measure", PLAIN, "--reference", "id1")
    assert (status, "no file has such a name" in line) == (2, True)


def camera_file(bench, **changed):
    path = bench / "camera.json"
    path.write_text(json.dumps({**json.loads(CAMERA.read_text(encoding="utf-8")), **changed}), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"quality": {"verdict": "refuse"}}, "must not be used"),
        ({"camera_matrix": [[1e300, 0, 1000], [0, 1e300, 700], [0, 0, 1]]}, "camera_matrix"),
        ({"distortion": [1e300, 0, 0, 0, 0]}, "distortion"),
        ({"covariance": [[1e300] * 9] * 9}, "covariance"),
        ({"size_px": [10**9, 10**9]}, "size_px"),
        ({"identity": {"model": "\ud800"}}, "not a usable camera file"),
    ],
)
def test_a_camera_that_cannot_be(bench, capsys, changed, said):
    status, line = say(capsys, *MEASURE, "--camera", camera_file(bench, **changed))
    assert status == 2
    assert said in line


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("number,place\n0," + "9" * 131_073 + "\n", "is no table"),
        ("number,place\n" + "9" * 5000 + ",1in\n", "no card number"),
        ("number,place\n-1,1in\n", "numbered 0 to 61"),
        ("number,place\n1_0,1in\n", "no card number"),
        ("number,place\n٤,1in\n", "no card number"),
        ("number,place\n0,1in\n1,1in\n", "rise"),
        ("number,place\n0,2ft -6in\n", "line 2"),
    ],
)
def test_stations_that_cannot_be(bench, capsys, table, said):
    (bench / "stations.csv").write_text(table, encoding="utf-8")
    told = [*MEASURE, "--reference", "station", "--stations", "stations.csv"]
    status, line = say(capsys, *told)
    assert status == 2
    assert said in line
    assert len(line) < 400


def test_a_stop_says_that_nothing_was_recorded(bench, capsys, monkeypatch):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("fitcheck.hull.first_file.write_new_hull", stopped)
    assert run(["new"]) == 130
    assert capsys.readouterr().err == "fitcheck: stopped; nothing was recorded\n"


def test_an_error_of_ours_is_one_line_too(bench, capsys, monkeypatch):
    monkeypatch.setattr("fitcheck.hull.first_file.write_new_hull", lambda *_, **__: 1 / 0)
    status, line = say(capsys, "new")
    assert status == 1
    assert "please report it" in line
