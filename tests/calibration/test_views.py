"""Looking at photographs of the board on disk: names, orientation tags, repeats, and what is left out by name."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from fitcheck.calibration.views import look_at
from fitcheck.ground.refusal import WrongCall
from tests.calibration.board_scene import BOARD, lens, picture, pose

SIZE = (640, 480)


@pytest.fixture(scope="module")
def board() -> np.ndarray:
    return picture(lens(size_px=SIZE), pose(15, 10, 8, (0, 0, 400)))


def save(path: Path, gray: np.ndarray, orientation: int = 1) -> Path:
    exif = Image.Exif()
    exif[0x0112] = orientation
    Image.fromarray(gray).convert("RGB").save(path, quality=95, exif=exif)
    return path


def test_the_orientation_tag_does_not_move_the_corners(tmp_path: Path, board: np.ndarray) -> None:
    """The same stored pixels under every tag give the same corners: a camera file describes the pixels as stored."""
    paths = [save(tmp_path / f"{tag}.jpg", board, tag) for tag in range(1, 9)]
    seen = look_at(paths, BOARD)
    assert [one.orientation for one in seen] == list(range(1, 9))
    first = seen[0].corners
    assert first is not None
    for one in seen[1:]:
        assert one.size_px == SIZE
        assert one.corners is not None
        np.testing.assert_allclose(one.corners.points_px, first.points_px, atol=1e-6)


def test_each_photograph_left_out_says_why(tmp_path: Path, board: np.ndarray) -> None:
    blurred = cv2.GaussianBlur(board, (0, 0), 3.5)
    paths = []
    for at in range(4):
        paths.append(save(tmp_path / f"sound{at}.jpg", np.clip(board.astype(int) + at, 0, 255).astype(np.uint8)))
    paths.append(save(tmp_path / "soft.jpg", blurred))
    paths.append(save(tmp_path / "again.jpg", board))
    text = tmp_path / "notes.jpg"
    text.write_text("strake 4, fit 2")
    counts: list[tuple[int, int]] = []
    seen = look_at([*paths, text], BOARD, lambda done, of: counts.append((done, of)))
    why = {one.name: one.reason.code for one in seen if one.reason is not None}
    assert why == {"soft.jpg": "board-blurred", "again.jpg": "board-repeated", "notes.jpg": "photo-kind"}
    assert counts == [(done, 7) for done in range(1, 8)]
    assert [one.name for one in seen] == [path.name for path in [*paths, text]]


def test_a_missing_photograph_is_a_wrong_call_before_any_is_read(tmp_path: Path) -> None:
    with pytest.raises(WrongCall, match=r"none\.jpg"):
        look_at([tmp_path / "none.jpg"], BOARD, lambda done, of: pytest.fail("a photograph was read"))
