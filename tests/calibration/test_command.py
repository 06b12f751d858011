"""The commands ``calibrate`` and ``print board``: files, exit status, and the photographs with known geometry."""

from __future__ import annotations

import json
import os
from pathlib import Path

import cv2
import numpy as np
import pytest
import typer
from PIL import Image
from typer.testing import CliRunner

from fitcheck.calibration.camera import load_camera
from fitcheck.calibration.frame import difference_px
from fitcheck.cli.calibrate import calibrate, print_board
from fitcheck.ground.refusal import WrongCall
from tests.calibration.board_scene import lens, picture, poses

PHOTOS = os.environ.get("FITCHECK_PHOTOS")
APP = typer.Typer()
APP.command("calibrate")(calibrate)
APP.command("board")(print_board)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve small made photographs of a board."""
    folder = tmp_path_factory.mktemp("board")
    for at, pose in enumerate(poses(12)):
        gray = picture(lens(size_px=(640, 480)), pose)
        Image.fromarray(gray).convert("RGB").save(folder / f"board_{at:02d}.jpg", quality=95)
    return folder


def test_a_camera_file_and_its_picture_are_written(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "calib" / "dory.json"
    photos = [str(path) for path in sorted(folder.iterdir())]
    done = CliRunner().invoke(APP, ["calibrate", *photos, "--out", str(out), "--json", str(tmp_path / "answer.json")])
    assert done.exit_code == 0, done.output
    camera = load_camera(out)
    off_px = difference_px(lens(size_px=(640, 480)).parameters(), camera.parameters(), (640, 480))
    assert off_px.mean() < 0.1
    assert cv2.imread(str(out.with_suffix(".png"))) is not None
    kept = json.loads(out.read_text())
    assert kept["board"] == {"corners": [9, 6], "pitch_across_mm": 25.0, "pitch_down_mm": 25.0}
    assert [one["name"] for one in kept["inputs"]] == sorted(path.name for path in folder.iterdir())
    answer = json.loads((tmp_path / "answer.json").read_text())
    assert answer["state"] in ("good", "usable")
    assert "Verdict: " in done.stdout
    assert "photograph next: the board in the " in done.stdout


def test_a_refusal_is_status_3_with_json_and_leaves_the_old_camera(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "dory.json"
    out.write_text("the camera of last year")
    args = ["calibrate", *map(str, sorted(folder.iterdir())[:3]), "--out", str(out), "--json", "-"]
    done = CliRunner().invoke(APP, args)
    assert done.exit_code == 3
    answer = json.loads(done.stdout)
    assert answer["state"] == "refused"
    assert answer["reasons"][0]["code"] == "too-few-views"
    assert "No camera file was written." in done.stderr
    assert out.read_text() == "the camera of last year"
    assert [path.name for path in tmp_path.iterdir()] == ["dory.json"]


def test_wrong_calls(folder: Path, tmp_path: Path) -> None:
    photo = sorted(folder.iterdir())[0]
    with pytest.raises(WrongCall, match="there is no such file"):
        calibrate([tmp_path / "none.jpg"], out=tmp_path / "dory.json")
    with pytest.raises(WrongCall, match="--square"):
        calibrate([photo], out=tmp_path / "dory.json", square="25mm,90mm")
    with pytest.raises(WrongCall, match="--corners"):
        calibrate([photo], out=tmp_path / "dory.json", corners="nine by six")
    with pytest.raises(WrongCall, match="--out"):
        calibrate([photo], out=tmp_path / "dory.png")


def test_the_board_is_written(tmp_path: Path) -> None:
    done = CliRunner().invoke(APP, ["board", "--out", str(tmp_path / "board.pdf"), "--paper", "letter"])
    assert done.exit_code == 0
    assert (tmp_path / "board.pdf").read_bytes().startswith(b"%PDF-")


@pytest.mark.skipif(PHOTOS is None, reason="FITCHECK_PHOTOS is not set")
@pytest.mark.parametrize(("name", "cut"), [("teal", (6, 13, 14)), ("heron", (1, 6, 8))])
def test_cameras_with_known_geometry(tmp_path: Path, name: str, cut: tuple[int, ...]) -> None:
    """Path-traced photographs from cameras that are known: over the frame 0.15 px in the mean, 0.5 px at worst."""
    photos = sorted((Path(str(PHOTOS)) / f"board-{name}").glob("*.jpg"))
    out = tmp_path / f"{name}.json"
    calibrate(photos, out=out, json_to=str(tmp_path / "answer.json"))
    answer = json.loads((tmp_path / "answer.json").read_text())
    left_out = {one["name"]: one["reason"]["code"] for one in answer["photos"] if not one["used"]}
    assert left_out == {f"board_{number:02d}.jpg": "board-cut" for number in cut}
    truth = json.loads((Path(str(PHOTOS)) / "cameras.json").read_text())[name]
    camera = load_camera(out)
    true_lens = np.array([*truth["focal_px"], *truth["centre_px"], *truth["distortion"]])
    off_px = difference_px(true_lens, camera.parameters(), camera.size_px)
    assert off_px.mean() <= 0.15
    assert off_px.max() <= 0.5
    assert answer["state"] == "good"
