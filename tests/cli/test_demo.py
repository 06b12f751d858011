"""The demo: an invented plank through its life, once, and what it leaves in its folder."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest

from fitcheck.calibration.camera import load_camera
from fitcheck.calibration.frame import difference_px
from tests.cli.running import run
from tests.samples import ROOT, TEAL

FITS = ("4-port-fit1", "4-port-fit2", "4-port-fit3")
REFUSED = "6-port-fit1"


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> tuple[Path, subprocess.CompletedProcess]:
    folder = tmp_path_factory.mktemp("demo") / "out"
    return folder, run("demo", "--out", folder)


def answer(folder: Path, name: str) -> dict:
    return json.loads((folder / name / "report.json").read_text(encoding="utf-8"))


def test_it_ends_well_and_says_where_everything_is(demo):
    folder, done = demo
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    assert str(folder) in done.stdout.splitlines()[-1]
    assert "(invented)" in done.stdout


def test_every_fit_has_its_page_and_its_ticket(demo):
    folder, _ = demo
    for name in (*FITS, REFUSED):
        page = (folder / name / "report.html").read_text(encoding="utf-8")
        assert not re.findall(r'(?:src|href)="(?!data:|#)[^"]', page), "one file, no outside requests"
        assert (folder / name / "report_ticket.pdf").read_bytes().startswith(b"%PDF")
    assert not list(folder.rglob("*.part"))


def test_the_plank_gets_better_and_is_signed(demo):
    folder, done = demo
    assert [answer(folder, name)["planing"]["verdict"] for name in FITS] == ["plane", "plane", "good"]
    worst = [max(s["past_line_mm"] for s in answer(folder, name)["samples"] if s["past_line_mm"]) for name in FITS]
    assert worst == sorted(worst, reverse=True)
    assert "may not be signed off yet" in done.stderr
    assert "4 port signed off by the builder after fit 3" in done.stdout
    assert "signed off by the builder: may be fastened" in done.stdout
    assert "Sandpiper (invented)" in (folder / "4-port-history.html").read_text(encoding="utf-8")


def test_the_refused_one_says_why_and_what_to_do(demo):
    folder, done = demo
    (reason,) = answer(folder, REFUSED)["reasons"]
    assert reason["code"] == "line-hidden"
    assert " ".join(reason["text"].split()[:8]) in " ".join(done.stdout.split())


def test_its_camera_is_the_one_the_project_keeps(demo):
    """The same board photographs give the camera file in calib/, to a twentieth of a pixel over the frame."""
    found, kept = load_camera(demo[0] / "camera.json"), load_camera(TEAL)
    assert difference_px(found.parameters(), kept.parameters(), kept.size_px).max() < 0.05


@pytest.mark.parametrize("fit", [1, 2, 3])
def test_its_numbers_are_right(demo, fit):
    """Against the truth that the picture maker kept beside the sample photographs."""
    truth = json.loads((ROOT / "sample_images" / "life" / "truth.json").read_text())[f"fit{fit}"]
    got = [s for s in answer(demo[0], FITS[fit - 1])["samples"] if s["past_line_mm"] is not None]
    at = np.array([s["plank_mm"] for s in got])
    error = np.array([s["past_line_mm"] for s in got]) - np.interp(at, truth["plank_mm"], truth["past_line_mm"])
    assert np.percentile(np.abs(error), 95) <= 0.3
    assert np.mean(np.abs(error) <= [s["u95_mm"] for s in got]) >= 0.95


def test_no_cut_is_asked_where_none_is_due(demo):
    """Every depth asked is wood that is truly past the line, but for the witness line's own wander by hand (0.1 mm)."""
    truths = json.loads((ROOT / "sample_images" / "life" / "truth.json").read_text())
    for fit, name in enumerate(FITS, start=1):
        truth = truths[f"fit{fit}"]
        for cut in answer(demo[0], name)["planing"]["cuts"]:
            at, depth = np.array(cut["profile"]).T
            assert np.all(depth <= np.interp(at, truth["plank_mm"], truth["past_line_mm"]) + 0.1)


def test_another_hull_is_left_alone(tmp_path):
    (tmp_path / "fitcheck.toml").write_text('name = "not the demo"\n', encoding="utf-8")
    done = run("demo", "--out", tmp_path)
    assert done.returncode == 2
    assert "another hull" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["fitcheck.toml"]


def test_without_its_photographs_it_says_so(tmp_path):
    done = run("demo", "--samples", tmp_path, "--out", tmp_path / "out")
    assert done.returncode == 2
    assert done.stderr.startswith("fitcheck: the sample photographs are not here")
    assert not (tmp_path / "out").exists()
