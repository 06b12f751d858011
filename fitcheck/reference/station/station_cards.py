"""Station cards for printing: a true-size PDF, several to a sheet, with cut lines and a bar to check the printer by."""

from __future__ import annotations

import io
import itertools
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from fitcheck.ground.bounds import MOST_CARDS
from fitcheck.ground.files import write_bytes
from fitcheck.ground.refusal import WrongCall
from fitcheck.reference.station.station_layout import (
    CARD_MM,
    DICTIONARY,
    MARKER_MM,
    MARKERS_ON_CARD,
    marker_corners_mm,
)

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
BAR_MM, BAR_FOOT_MM, TOP_MM, GUTTER_MM = 100.0, 12.0, 8.0, 3.0
POINTS_PER_MM = 72.0 / 25.4
NUMBER_MM, CENTRE_TICK_MM = 24.0, 4.0


@dataclass(frozen=True)
class _Sheet:
    """A paper and how many cards go on it."""

    paper_mm: tuple[float, float]
    columns: int = 2
    rows: int = 4

    def centres_mm(self) -> list[tuple[float, float]]:
        """Card centres, row by row from the top, from the paper's lower left corner."""
        step_x, step_y = CARD_MM[0] + GUTTER_MM, CARD_MM[1] + GUTTER_MM
        left = (self.paper_mm[0] - (self.columns - 1) * step_x) / 2.0
        top = self.paper_mm[1] - TOP_MM - CARD_MM[1] / 2.0
        places = itertools.product(range(self.rows), range(self.columns))
        return [(left + column * step_x, top - row * step_y) for row, column in places]


def print_cards(out: str | PathLike[str], *, count: int, first: int = 0, paper: str = "a4") -> Path:
    """Write station cards ``first`` to ``first + count - 1`` as a true-size PDF at ``out``; give the path back.

    ``paper`` is ``a4`` or ``letter``. The PDF asks the printer for 100 % (PrintScaling None); the bar on each sheet
    must measure 100 mm. Raises :class:`WrongCall` for a number no card has, another paper, or a file that cannot
    be written.
    """
    return write_bytes(out, cards_pdf(count=count, first=first, paper=paper))


def cards_pdf(*, count: int, first: int = 0, paper: str = "a4") -> bytes:
    """The PDF of :func:`print_cards` as bytes.

    >>> cards_pdf(count=2)[:5]
    b'%PDF-'
    """
    if paper.lower() not in PAPERS_MM:
        raise WrongCall(f"--paper {paper!r} is not known: give one of {', '.join(PAPERS_MM)}")
    if count < 1 or first < 0 or first + count > MOST_CARDS:
        raise WrongCall(
            f"{count} cards from number {first} were asked for: give at least one, numbered 0 to {MOST_CARDS - 1}"
        )
    from reportlab.pdfgen.canvas import Canvas

    sheet = _Sheet(PAPERS_MM[paper.lower()])
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=tuple(side * POINTS_PER_MM for side in sheet.paper_mm), invariant=1)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setTitle(f"Station cards {first} to {first + count - 1}")
    centres = sheet.centres_mm()
    numbers = range(first, first + count)
    for start in range(0, count, len(centres)):
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        for number, centre in zip(numbers[start:], centres, strict=False):
            _draw_card(canvas, number, centre)
        _draw_bar(canvas, sheet.paper_mm[0] / 2.0)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _draw_card(canvas: Canvas, number: int, centre_mm: tuple[float, float]) -> None:
    canvas.saveState()
    canvas.translate(*centre_mm)
    canvas.setLineWidth(0.15)
    canvas.setStrokeGray(0.6)
    canvas.rect(-CARD_MM[0] / 2.0, -CARD_MM[1] / 2.0, *CARD_MM)
    canvas.setStrokeGray(0.0)
    for end in (-1.0, 1.0):
        canvas.line(0.0, end * CARD_MM[1] / 2.0, 0.0, end * (CARD_MM[1] / 2.0 - CENTRE_TICK_MM))
    for place in range(MARKERS_ON_CARD):
        _draw_marker(canvas, MARKERS_ON_CARD * number + place, marker_corners_mm(place)[0])
    canvas.setFillGray(0.0)
    canvas.setFont("Helvetica-Bold", NUMBER_MM)
    canvas.drawCentredString(0.0, -0.36 * NUMBER_MM + 2.0, str(number))
    canvas.setFont("Helvetica", 3.4)
    canvas.drawCentredString(0.0, -14.0, f"station {number}")
    canvas.restoreState()


def _draw_marker(canvas: Canvas, marker: int, upper_left_mm: np.ndarray) -> None:
    """The black square, then its white cells as one path so that no seam shows between them."""
    dictionary = cv2.aruco.getPredefinedDictionary(DICTIONARY)
    cells = dictionary.markerSize + 2
    light = cv2.aruco.generateImageMarker(dictionary, marker, cells) > 0
    cell_mm = MARKER_MM / cells
    left, top = upper_left_mm
    canvas.setFillGray(0.0)
    canvas.rect(left, top - MARKER_MM, MARKER_MM, MARKER_MM, stroke=0, fill=1)
    path = canvas.beginPath()
    for row, column in np.argwhere(light):
        path.rect(left + column * cell_mm, top - (row + 1) * cell_mm, cell_mm, cell_mm)
    canvas.setFillGray(1.0)
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_bar(canvas: Canvas, middle_mm: float) -> None:
    left, right = middle_mm - BAR_MM / 2.0, middle_mm + BAR_MM / 2.0
    canvas.setFillGray(0.0)
    canvas.rect(left, BAR_FOOT_MM, BAR_MM, 1.5, stroke=0, fill=1)
    for end, inward in ((left, 1.0), (right, -1.0)):
        canvas.rect(min(end, end + 0.3 * inward), BAR_FOOT_MM, 0.3, 4.0, stroke=0, fill=1)
    canvas.setFont("Helvetica", 3.2)
    canvas.drawCentredString(
        middle_mm, BAR_FOOT_MM + 2.6, "100 mm: measure this bar. Print at 100 %, with no fitting to the page."
    )
    canvas.drawCentredString(
        middle_mm,
        BAR_FOOT_MM - 4.2,
        "Paste on thin card, cut along the grey lines, lay flat on the strake below the lap, in order.",
    )
