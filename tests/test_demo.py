"""The demo: the main job on the sample photographs, once, and what it leaves in its folder."""

from __future__ import annotations

import json
import os
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest

from fitcheck.calibration.camera import load_camera
from fitcheck.calibration.frame import difference_px
from tests.samples import TEAL
from tests.test_cli import run

PLANKS = {
    **dict.fromkeys(("4-port", "5-port", "2-starboard", "3-port"), "measured"),
    "6-port": "refused",
}
PHOTOS = os.environ.get("FITCHECK_PHOTOS")
#: Which of the photographs with known geometry the samples are.
SAMPLE_OF = {"4-port": "t01", "5-port": "t04", "2-starboard": "t06"}


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> tuple[Path, subprocess.CompletedProcess]:
    folder = tmp_path_factory.mktemp("demo") / "out"
    return folder, run("demo", "--out", folder)


def answer(folder: Path, plank: str) -> dict:
    return json.loads((folder / plank / "report.json").read_text(encoding="utf-8"))


def test_it_ends_well_and_says_where_the_report_is(demo):
    folder, done = demo
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    assert str(folder) in done.stdout.splitlines()[-1]
    assert done.stdout.count("(invented)") == len(PLANKS)


def test_every_plank_has_its_page_and_its_answer(demo):
    folder, _ = demo
    assert {path.name for path in folder.iterdir() if path.is_dir()} == set(PLANKS)
    for plank, state in PLANKS.items():
        assert answer(folder, plank)["state"] == state
        page = (folder / plank / "report.html").read_text(encoding="utf-8")
        assert not re.findall(r'(?:src|href)="(?!data:|#)[^"]', page), "one file, no outside requests"
        assert (folder / plank / "report_ticket.pdf").read_bytes().startswith(b"%PDF")
    assert not list(folder.rglob("*.part"))


def test_the_refused_one_says_why_and_what_to_do(demo):
    folder, done = demo
    (reason,) = answer(folder, "6-port")["reasons"]
    assert reason["code"] == "line-hidden"
    told = " ".join(done.stdout.split())
    assert " ".join(reason["text"].split()[:8]) in told


def test_its_camera_is_the_one_the_project_keeps(demo):
    """The same board photographs give the camera file in calib/, to a twentieth of a pixel over the frame."""
    found, kept = load_camera(demo[0] / "camera.json"), load_camera(TEAL)
    assert difference_px(found.parameters(), kept.parameters(), kept.size_px).max() < 0.05


@pytest.mark.skipif(not PHOTOS, reason="FITCHECK_PHOTOS names no photographs")
@pytest.mark.parametrize("plank", SAMPLE_OF)
def test_its_numbers_are_right(demo, plank):
    truth = json.loads((Path(PHOTOS) / "laps" / f"{SAMPLE_OF[plank]}.json").read_text())["samples"]
    at, past = [s["along_mm"] for s in truth], [s["past_line_mm"] for s in truth]
    got = [s for s in answer(demo[0], plank)["samples"] if s["past_line_mm"] is not None]
    got = [s for s in got if at[0] <= s["along_mm"] <= at[-1]]
    error = np.array([s["past_line_mm"] - np.interp(s["along_mm"], at, past) for s in got])
    assert np.percentile(np.abs(error), 95) <= 0.45
    assert np.mean(np.abs(error) <= [s["u95_mm"] for s in got]) >= 0.85


def test_without_its_photographs_it_says_so(tmp_path):
    done = run("demo", "--samples", tmp_path, "--out", tmp_path / "out")
    assert done.returncode == 2
    assert done.stderr.startswith("fitcheck: the sample photographs are not here")
    assert not (tmp_path / "out").exists()
