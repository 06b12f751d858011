"""The board to print: a true-size PDF with a bar to check the printer by and a place for the measured pitches."""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.calibration.target import Board
from fitcheck.ground.files import write_bytes
from fitcheck.ground.refusal import WrongCall

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

#: Landscape, width by height.
PAPERS_MM = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
POINTS_PER_MM = 72.0 / 25.4
BAR_MM, BAR_FOOT_MM = 100.0, 15.0
#: White about the squares, which the corner finders need, and the strip at the foot for the bar and the words.
RIM_MM, FOOT_MM, SIDE_MM = 8.0, 27.0, 10.0


def write_board(out: str | os.PathLike[str], board: Board, *, paper: str = "a4") -> Path:
    """Write ``board`` as a true-size PDF at ``out``, landscape on ``paper`` ("a4" or "letter"); give the path back.

    The PDF asks the printer for 100 % (PrintScaling None). Raises :class:`WrongCall` for another paper, a board that
    does not fit on it, or a file that cannot be written.
    """
    return write_bytes(out, board_pdf(board, paper=paper))


def board_pdf(board: Board, *, paper: str = "a4") -> bytes:
    """The PDF of :func:`write_board` as bytes.

    >>> board_pdf(Board(9, 6, 25.0, 25.0))[:5]
    b'%PDF-'
    """
    if paper.lower() not in PAPERS_MM:
        raise WrongCall(f"--paper {paper!r} is not known: give one of {', '.join(PAPERS_MM)}")
    width_mm, height_mm = PAPERS_MM[paper.lower()]
    across_mm, down_mm = (board.columns + 1) * board.pitch_across_mm, (board.rows + 1) * board.pitch_down_mm
    room_mm = (width_mm - 2 * RIM_MM, height_mm - FOOT_MM - RIM_MM)
    if across_mm > room_mm[0] or down_mm > room_mm[1]:
        raise WrongCall(
            f"a board of {across_mm:g} x {down_mm:g} mm does not fit on {paper}, which has room for "
            f"{room_mm[0]:g} x {room_mm[1]:g} mm; give fewer corners or smaller squares"
        )
    from reportlab.pdfgen.canvas import Canvas

    held = io.BytesIO()
    canvas = Canvas(held, pagesize=(width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM), invariant=1)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setTitle(f"Calibration board, {board.columns} x {board.rows} inner corners")
    canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
    _draw_squares(canvas, board, ((width_mm - across_mm) / 2.0, height_mm - RIM_MM))
    _draw_bar(canvas)
    _draw_words(canvas, board, width_mm)
    canvas.save()
    return held.getvalue()


def _draw_squares(canvas: Canvas, board: Board, upper_left_mm: tuple[float, float]) -> None:
    """The dark squares as one path, so that no seam shows where they touch."""
    left, top = upper_left_mm
    across, down = board.pitch_across_mm, board.pitch_down_mm
    path = canvas.beginPath()
    for row in range(board.rows + 1):
        for column in range(row % 2, board.columns + 1, 2):
            path.rect(left + column * across, top - (row + 1) * down, across, down)
    canvas.setFillGray(0.0)
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_bar(canvas: Canvas) -> None:
    left = SIDE_MM
    canvas.rect(left, BAR_FOOT_MM, BAR_MM, 1.2, stroke=0, fill=1)
    for end in (left, left + BAR_MM - 0.3):
        canvas.rect(end, BAR_FOOT_MM, 0.3, 4.5, stroke=0, fill=1)
    canvas.setFont("Helvetica", 3.4)
    canvas.drawCentredString(left + BAR_MM / 2.0, BAR_FOOT_MM + 2.2, "this bar is 100 mm (3-15/16 in) long")


def _draw_words(canvas: Canvas, board: Board, width_mm: float) -> None:
    canvas.setFont("Helvetica", 3.4)
    canvas.setLineWidth(0.2)
    left = SIDE_MM + BAR_MM + 12.0
    ways = (("the long way", board.columns + 1, 4.0), ("the short way", board.rows + 1, -2.0))
    for way, squares, above in ways:
        foot = BAR_FOOT_MM + above
        canvas.drawString(left, foot, f"measured {way} over {squares} squares")
        canvas.line(left + 62.0, foot - 0.6, left + 86.0, foot - 0.6)
        canvas.drawString(left + 87.0, foot, f"mm  ÷ {squares} =")
        canvas.line(left + 106.0, foot - 0.6, left + 126.0, foot - 0.6)
        canvas.drawString(left + 127.0, foot, "mm")
    foot = BAR_FOOT_MM - 7.5
    canvas.setFont("Helvetica-Bold", 3.4)
    how = "Print at 100 %, check the bar, tape flat to glass, measure both ways with a steel rule."
    canvas.drawString(SIDE_MM, foot, how)
    canvas.setFont("Helvetica", 3.4)
    told = f"--corners {board.columns}x{board.rows} --square (long way),(short way)"
    canvas.drawRightString(width_mm - SIDE_MM, foot, f"Then: fitcheck calibrate ... {told}")
