"""A file is written whole or not at all."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from fitcheck.ground.files import write_bytes, write_json, write_text
from fitcheck.ground.part_files import part_of
from fitcheck.ground.refusal import WrongCall


def test_a_file_is_written_into_folders_made_on_the_way(tmp_path):
    path = write_text(tmp_path / "a" / "b" / "note.txt", "± 1/64")
    assert path.read_bytes() == "± 1/64".encode()
    assert os.listdir(path.parent) == ["note.txt"]


def test_a_failed_write_leaves_the_old_file_and_no_part(tmp_path, monkeypatch):
    path = write_bytes(tmp_path / "fit.json", b"old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(WrongCall, match="No space left"):
        write_bytes(path, b"new")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["fit.json"]


def test_a_number_json_cannot_hold_is_not_written(tmp_path):
    with pytest.raises(ValueError, match="JSON"):
        write_json(tmp_path / "fit.json", {"u95_mm": float("nan")})
    assert os.listdir(tmp_path) == []


def test_json_reads_back(tmp_path):
    value = {"text": "past 1/32 in ± 1/64", "samples": [1.5, None]}
    assert json.loads(write_json(tmp_path / "fit.json", value).read_text(encoding="utf-8")) == value


def test_a_folder_in_the_way_is_said(tmp_path):
    (tmp_path / "fit.json").mkdir()
    with pytest.raises(WrongCall, match=r"cannot write .*fit\.json"):
        write_text(tmp_path / "fit.json", "x")


def test_a_part_of_a_killed_writer_is_cleared_by_the_next(tmp_path):
    code = (
        "import os, signal, sys; from pathlib import Path; from fitcheck.ground.part_files import part_of\n"
        "with part_of(Path(sys.argv[1])) as part:\n"
        "    Path(f'{part}-db').write_bytes(b'half')\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path / "page.html")], check=False)
    assert len(list(tmp_path.iterdir())) == 2
    with part_of(tmp_path / "other.html") as living:
        write_bytes(tmp_path / "page.html", b"whole")
        assert living.exists()
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]
