"""The printed board, measured from the PDF rendered at 600 dots an inch: sizes are what they say, to 0.1 mm."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest

from fitcheck.calibration.board import FOOT_MM, PAPERS_MM, board_pdf, write_board
from fitcheck.calibration.board_corners import find_corners
from fitcheck.calibration.target import Board
from fitcheck.ground.refusal import WrongCall

DPI = 600
MM = 25.4 / DPI
BOARD = Board(9, 6, 25.0, 25.0)


def page(data: bytes) -> np.ndarray:
    """The first page as grey levels (H, W)."""
    return np.asarray(pypdfium2.PdfDocument(data)[0].render(scale=DPI / 72, grayscale=True).to_pil().convert("L"))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_squares_and_bar_are_true(paper: str) -> None:
    """Papers: ISO 216 A4, 210 x 297 mm; North American letter, 8.5 x 11 in."""
    gray = page(board_pdf(BOARD, paper=paper))
    assert gray.shape[1] * MM == pytest.approx({"a4": 297.0, "letter": 279.4}[paper], abs=0.1)
    assert gray.shape[0] * MM == pytest.approx({"a4": 210.0, "letter": 215.9}[paper], abs=0.1)
    dark = gray < 128
    squares, foot = np.split(dark, [-int(FOOT_MM / MM)])
    assert extent_mm(squares.any(axis=1)) == pytest.approx(7 * 25.0, abs=0.1)
    assert extent_mm(squares.any(axis=0)) == pytest.approx(10 * 25.0, abs=0.1)
    assert longest_run(foot) * MM == pytest.approx(100.0, abs=0.1)


def test_the_two_pitches_are_printed_each_its_own_way() -> None:
    gray = page(board_pdf(Board(9, 6, 25.0, 24.5)))
    squares = gray[: -int(FOOT_MM / MM)] < 128
    assert extent_mm(squares.any(axis=1)) == pytest.approx(7 * 24.5, abs=0.1)
    assert extent_mm(squares.any(axis=0)) == pytest.approx(10 * 25.0, abs=0.1)


def test_the_finder_finds_the_print() -> None:
    gray = cv2.resize(page(board_pdf(BOARD)), None, fx=0.2, fy=0.2, interpolation=cv2.INTER_AREA)
    corners = find_corners(cv2.copyMakeBorder(gray, 40, 40, 40, 40, cv2.BORDER_CONSTANT, value=140), BOARD)
    assert corners.used.all()
    steps = np.diff(corners.points_px.reshape(6, 9, 2), axis=1)[..., 0] * MM * 5
    np.testing.assert_allclose(steps, 25.0, atol=0.02)


def test_the_printer_is_asked_for_full_size_and_the_file_is_always_the_same() -> None:
    data = board_pdf(BOARD)
    assert b"/PrintScaling /None" in data
    assert data == board_pdf(BOARD)
    assert len(pypdfium2.PdfDocument(data)) == 1


def test_the_words_are_on_the_sheet() -> None:
    text = pypdfium2.PdfDocument(board_pdf(BOARD))[0].get_textpage().get_text_range()
    expected = ("Print at 100 %", "100 mm", "long way over 10 squares", "short way over 7 squares", "--corners 9x6")
    assert [words for words in expected if words not in text] == []


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_a_board_that_does_not_fit_is_a_wrong_call(tmp_path: Path, paper: str) -> None:
    with pytest.raises(WrongCall, match="does not fit"):
        write_board(tmp_path / "board.pdf", Board(12, 8, 25.0, 25.0), paper=paper)
    assert not list(tmp_path.iterdir())


def test_another_paper_is_a_wrong_call() -> None:
    with pytest.raises(WrongCall, match="a4, letter"):
        board_pdf(BOARD, paper="foolscap")


def extent_mm(dark: np.ndarray) -> float:
    """From the first dark to the last, inclusive."""
    at = np.flatnonzero(dark)
    return float((at[-1] + 1 - at[0]) * MM)


def longest_run(dark: np.ndarray) -> int:
    """The longest unbroken run of dark along any row."""
    best = 0
    for row in dark[dark.any(axis=1)]:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
        best = max(best, int((edges[1::2] - edges[::2]).max(initial=0)))
    return best
