"""Whatever happens, files of the command line are whole or not there, and what was there before is not lost."""

from __future__ import annotations

import json
import os
import struct
import zlib

import pytest
from PIL import Image

from tests.cli.running import TOLD, run
from tests.samples import PLAIN, SHADOW


def huge_png(path) -> None:
    """The header of a 200-megapixel PNG (ISO/IEC 15948) and nothing in it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 20000, 10000, 8, 2, 0, 0, 0)
    parts = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + parts)


def test_a_picture_of_200_megapixels_is_refused_before_it_is_read(tmp_path):
    huge_png(tmp_path / "huge.png")
    done = run("measure", tmp_path / "huge.png", *TOLD, "--json", "-")
    assert done.returncode == 3
    assert json.loads(done.stdout)["reasons"][0]["code"] == "photo-huge"
    assert "Traceback" not in done.stderr


def test_a_refusal_writes_its_json_over_the_old_and_leaves_nothing_else(tmp_path):
    out = tmp_path / "answer.json"
    out.write_text('{"state": "measured", "of": "last week"}')
    photo = tmp_path / "fit.jpg"
    photo.write_bytes(PLAIN.read_bytes()[:50_000])
    assert run("measure", photo, *TOLD, "--json", out).returncode == 3
    told = json.loads(out.read_text())
    assert (told["schema"], told["state"], told["samples"]) == (1, "refused", [])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["answer.json", "fit.jpg"]


def test_a_wrong_call_writes_nothing(tmp_path):
    done = run("measure", PLAIN, tmp_path / "none.jpg", *TOLD, "--json", tmp_path / "a.json", "--out", tmp_path / "out")
    assert done.returncode == 2
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("option", "at"), [("--edge-at", "5000,20"), ("--line-at", "10,-1"), ("--reference-at", "5000,20")]
)
def test_a_place_outside_the_picture_is_a_wrong_call(option, at):
    done = run("measure", PLAIN, *TOLD, option, at)
    assert done.returncode == 2
    # Read by another reader of pictures than the program's.
    with Image.open(PLAIN) as picture:
        width, height = picture.size
    said = " ".join(done.stderr.split())
    assert f"{option} {at} lies outside {PLAIN.name}, which is {width} x {height} pixels" in said


@pytest.mark.parametrize("option", ["--json", "--out"])
def test_where_nothing_can_be_written_it_says_so_in_one_line(option, tmp_path):
    in_the_way = tmp_path / "file"
    in_the_way.write_text("mine")
    done = run("measure", PLAIN, *TOLD, option, in_the_way / "answer.json")
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1].startswith("fitcheck: cannot write")
    assert "Traceback" not in done.stderr
    assert in_the_way.read_text() == "mine"


def test_photographs_of_different_laps_are_not_taken_for_one(tmp_path):
    done = run("measure", PLAIN, SHADOW, *TOLD, "--json", tmp_path / "answer.json")
    told = json.loads((tmp_path / "answer.json").read_text())
    assert [photo["name"] for photo in told["photos"]] == [PLAIN.name, SHADOW.name]
    assert done.returncode == 3
    assert "looks-differ" in {one["code"] for one in told["reasons"]}


def test_a_photograph_given_twice_is_one_lap_with_one_report(tmp_path):
    out, answer = tmp_path / "out", tmp_path / "answer.json"
    again = tmp_path / "again.jpg"
    again.write_bytes(PLAIN.read_bytes() + b" ")
    done = run("measure", PLAIN, again, *TOLD, "--out", out, "--json", answer)
    assert done.returncode == 0, done.stderr
    assert len(json.loads(answer.read_text())["samples"]) > 50
    assert (out / "report.html").is_file()
    assert [path.name for path in out.rglob("*.part")] == []


def test_all_photographs_refused_is_status_3(tmp_path):
    for name in ("a.jpg", "b.jpg"):
        (tmp_path / name).write_bytes(b"no")
    done = run("measure", tmp_path / "a.jpg", tmp_path / "b.jpg", *TOLD, "--json", "-")
    assert done.returncode == 3
    assert [photo["state"] for photo in json.loads(done.stdout)["photos"]] == ["refused", "refused"]


@pytest.mark.parametrize("units", ["in", "mm"])
def test_the_table_speaks_in_words_and_the_units_asked_for(units):
    done = run("measure", PLAIN, *TOLD, "--units", units)
    assert done.returncode == 0
    assert "short " in done.stdout
    assert (" mm" in done.stdout) == (units == "mm")
    assert not [line for line in done.stdout.splitlines() if line.lstrip().startswith("-0.")], "never a bare sign"


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read anything")
def test_a_photograph_that_may_not_be_read_is_a_wrong_call(tmp_path):
    photo = tmp_path / "fit.jpg"
    photo.write_bytes(b"x")
    photo.chmod(0)
    assert run("measure", photo, *TOLD).returncode == 2
