"""Whatever happens is one line and a status: the one place that tells trouble, and the ends of a real process."""

from __future__ import annotations

import errno
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from fitcheck.cli import trouble
from fitcheck.ground.refusal import Refused, WrongCall

ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-c", "from fitcheck.cli.main import main; main()"]


def process(*words, cwd=None, stdout=subprocess.PIPE, **environment):
    """A real process of the command line; for what only a process has: its streams, its letters, its folder."""
    told = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    command = [*COMMAND, *map(str, words)]
    return subprocess.run(command, stdout=stdout, stderr=subprocess.PIPE, check=False, cwd=cwd or ROOT, env=told)


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (WrongCall("--lap 12 has no unit"), 2, "--lap 12 has no unit"),
        (Refused("no-line", "No line is in sight."), 3, "No line is in sight."),
        (KeyboardInterrupt(), 130, "stopped; nothing was recorded"),
        (BrokenPipeError(errno.EPIPE, "Broken pipe"), 1, ""),
        (OSError(errno.ENOSPC, "No space left on device"), 1, "could not be written: No space left on device"),
        (OSError(errno.ENAMETOOLONG, "File name too long", "a" * 10), 1, "aaaaaaaaaa: File name too long"),
        (MemoryError(), 1, "memory"),
        (sqlite3.OperationalError("no such table"), 1, "the record could not be used (no such table)"),
        (ZeroDivisionError("division by zero"), 1, "an error of this program's own (ZeroDivisionError"),
        (SystemExit(0), 0, ""),
        (SystemExit(3), 3, ""),
    ],
)
def test_every_kind_of_trouble_is_one_line_and_a_status(error, status, said, monkeypatch):
    monkeypatch.setattr(trouble, "RECORDED", [])  # what an earlier test of this process recorded
    line, told = trouble.in_words(error)
    assert told == status
    assert said in line
    assert "\n" not in line
    assert line.startswith("fitcheck: ") or not said


@pytest.mark.parametrize(
    "error", [KeyboardInterrupt(), OSError(errno.ENOSPC, "No space left"), BrokenPipeError(errno.EPIPE, "")]
)
def test_what_is_on_record_is_said_whatever_comes_after(error, monkeypatch):
    monkeypatch.setattr(trouble, "RECORDED", ["fit 2 of 4 port"])
    line, _ = trouble.in_words(error)
    assert "on record and kept: fit 2 of 4 port" in line
    assert "nothing was recorded" not in line


def test_an_error_of_our_own_names_its_line():
    try:
        [].pop()
    except IndexError as error:
        line, status = trouble.in_words(error)
    assert "at test_trouble.py line" in line
    assert status == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("words", [["--version"], ["log", "list"]])
def test_a_full_output_is_one_line(tmp_path, words):
    assert process("new", cwd=tmp_path).returncode == 0
    with open("/dev/full", "wb") as full:
        done = process(*words, cwd=tmp_path, stdout=full)
    assert done.returncode == 1
    assert done.stderr.decode() == "fitcheck: the answer could not be written: No space left on device\n"


def test_an_ascii_terminal_shows_what_it_can(tmp_path):
    ascii_only = {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = process("new", "--name", "Möwe \N{CANOE}", "--lap", "2in", cwd=tmp_path, **ascii_only)
    assert done.returncode == 0, done.stderr
    listed = process("log", "list", cwd=tmp_path, **ascii_only)
    assert listed.returncode == 0
    assert b"Mowe \\U0001f6f6" in listed.stdout
    as_json = process("log", "list", "--json", "-", cwd=tmp_path, **ascii_only)
    assert b"M\\u00f6we" in as_json.stdout


def test_a_file_name_that_is_no_text_is_told(tmp_path):
    done = process("measure", b"\xff.jpg".decode("utf-8", "surrogateescape"), "--camera", "c", "--thickness", "1/2in",
                   "--reference", "id1", cwd=tmp_path)  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == b"fitcheck: cannot read \\udcff.jpg: there is no such file\n"


@pytest.mark.parametrize("words", [["log", "list"], ["new"]])
def test_a_working_folder_that_is_gone(tmp_path, words):
    gone = tmp_path / "gone"
    gone.mkdir()
    code = f"import os; os.rmdir({str(gone)!r}); from fitcheck.cli.main import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, *words],
        cwd=gone,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) in ((1, ""), (2, ""))
    assert done.stderr == "fitcheck: the folder you work in is gone: go to one that is there\n"


def test_without_any_output_it_still_runs(tmp_path):
    command = ["sh", "-c", 'exec "$@" >&- 2>&-', "sh", *COMMAND, "new"]
    done = subprocess.run(command, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)
    assert done.returncode == 0
    assert (tmp_path / "fitcheck.toml").is_file()


@pytest.mark.parametrize("after_s", [0.02, 0.2, 0.5])
def test_a_stop_at_any_time_is_no_traceback(tmp_path, after_s):
    """From the first line of the program on; before it Python itself is starting."""
    ready = f"import sys; print('up', flush=True); {COMMAND[2]}"
    words = ["print", "cards", "--count", "62", "--out", str(tmp_path / "cards.pdf")]
    running = subprocess.Popen(
        [sys.executable, "-c", ready, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert running.stdout.readline() == "up\n"
    time.sleep(after_s)
    running.send_signal(signal.SIGINT)
    _, said = running.communicate(timeout=60)
    assert "Traceback" not in said
    assert said in ("", "fitcheck: stopped; nothing was recorded\n")
    assert running.returncode in ((130,) if said else (0,))
