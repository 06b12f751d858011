"""Finding the board's corners in made pictures whose corners are known, and telling why where it cannot be done."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from fitcheck.calibration.board_corners import find_corners, place
from fitcheck.calibration.target import Board, parse_board
from fitcheck.ground.refusal import Refused, WrongCall
from tests.calibration.board_scene import BOARD, lens, picture, pose

SIZE = (720, 540)
PLAIN = pose(18, -12, 8, (10, -8, 480))


def truth_px(at: np.ndarray, board: Board = BOARD) -> np.ndarray:
    camera = lens(size_px=SIZE)
    return cv2.projectPoints(board.points_mm(), at[:3], at[3:], camera.matrix, camera.distortion)[0].reshape(-1, 2)


def code_of(gray: np.ndarray, board: Board = BOARD) -> str:
    with pytest.raises(Refused) as refused:
        find_corners(gray, board)
    return refused.value.reason.code


@pytest.mark.parametrize("at", [PLAIN, pose(-35, 10, -75, (0, 5, 470)), pose(5, 38, 165, (-20, 0, 500))])
def test_corners_are_placed_and_ordered(at: np.ndarray) -> None:
    """Whichever way up the board is, its first corner is the same one: the first inner square is dark."""
    corners = find_corners(picture(lens(size_px=SIZE), at), BOARD)
    assert corners.used.all()
    off = corners.points_px - truth_px(at)
    assert np.sqrt(np.mean(off**2)) < 0.05  # noise 1.5 levels on 185 of contrast
    assert np.abs(off.mean(axis=0)).max() < 0.015  # no half-pixel or other shift of the whole grid
    assert np.sqrt(np.mean((corners.second_px - corners.points_px) ** 2)) < 0.2


def test_a_corner_at_the_rim_is_not_used() -> None:
    at = pose(0, 0, 0, (0, 0, 400))
    for _ in range(6):  # lower the board until its last row lies 6 pixels inside the picture
        at[4] += (SIZE[1] - 1 - 6 - truth_px(at)[:, 1].max()) * 400 / lens(size_px=SIZE).matrix[1, 1]
    _, used = place(picture(lens(size_px=SIZE), at), truth_px(at), BOARD.size)
    assert not used[-9:].all()
    assert used[:-9].all()


def test_a_board_running_out_is_told() -> None:
    assert code_of(picture(lens(size_px=SIZE), pose(10, 5, 3, (190, 0, 420)))) == "board-cut"


@pytest.mark.parametrize("asked", [Board(8, 5, 25, 25), Board(11, 8, 25, 25)])
def test_another_count_of_corners_is_told(asked: Board) -> None:
    gray = picture(lens(size_px=SIZE), pose(12, 5, 3, (0, 0, 560)))
    with pytest.raises(Refused, match="9 x 6") as refused:
        find_corners(gray, asked)
    assert refused.value.reason.code == "board-count"


def test_a_blurred_board_and_none_are_told_apart() -> None:
    gray = picture(lens(size_px=SIZE), PLAIN)
    assert code_of(cv2.GaussianBlur(gray, (0, 0), 12.0)) == "board-blurred"
    wood = np.random.default_rng(2).normal(130, 6, (SIZE[1], SIZE[0])).astype(np.uint8)
    assert code_of(wood) == "board-none"


def test_the_rise_tells_the_blur() -> None:
    """From 10 % to 90 % a step blurred by s rises over 2.563 s (the normal distribution's 0.9 quantile is 1.2816)."""
    sharp, soft = (picture(lens(size_px=SIZE), PLAIN, blur_px=blur) for blur in (0.8, 3.0))
    assert find_corners(soft, BOARD).rise_px == pytest.approx(2.563 * 3.0, rel=0.15)
    assert find_corners(sharp, BOARD).rise_px < 4.0


def test_a_board_named_the_other_way_round_is_the_same() -> None:
    assert parse_board("6x9", "25.1mm,25mm") == parse_board("9x6", "25mm, 25.1mm") == Board(9, 6, 25.0, 25.1)
    assert parse_board(" 9 X 6 ", "1in").pitch_down_mm == 25.4


@pytest.mark.parametrize(
    ("corners", "square"),
    [("9", "25mm"), ("9x", "25mm"), ("3x3", "25mm"), ("99x6", "25mm"), ("9x6", "25"), ("9x6", "25mm,30mm"),
     ("9x6", "25mm,25mm,25mm"), ("9x6", "-25mm"), ("9x6", "0mm"), ("", ""), ("9x6", "25mm,")],
)  # fmt: skip
def test_a_board_that_cannot_be_is_a_wrong_call(corners: str, square: str) -> None:
    with pytest.raises(WrongCall):
        parse_board(corners, square)
