"""The printed station cards: true size on the sheet, and found again from the print."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import WrongCall
from fitcheck.reference.station.station import read_station_cards
from fitcheck.reference.station.station_cards import cards_pdf, print_cards

DOTS = 600


def sheet(pdf: bytes, page: int = 0, dots: int = DOTS) -> np.ndarray:
    return np.asarray(pypdfium2.PdfDocument(pdf)[page].render(scale=dots / 72, grayscale=True).to_pil())


@pytest.mark.parametrize(("paper", "width_mm", "height_mm"), [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)])
def test_the_sheet_and_its_bar_are_true_size(paper: str, width_mm: float, height_mm: float) -> None:
    """ISO 216 A4 and ANSI Letter; 100 mm within 0.1 mm at 600 dots to the inch."""
    picture = sheet(cards_pdf(count=1, paper=paper))
    mm = 25.4 / DOTS
    assert picture.shape[1] * mm == pytest.approx(width_mm, abs=0.1)
    assert picture.shape[0] * mm == pytest.approx(height_mm, abs=0.1)
    bar = picture[-round(13.0 / mm)]
    dark = np.flatnonzero(bar < 128)
    assert (dark[-1] - dark[0] + 1) * mm == pytest.approx(100.0, abs=0.1)


def test_the_printer_is_asked_for_full_size() -> None:
    assert b"/PrintScaling /None" in cards_pdf(count=1)


def test_every_card_is_found_again_from_the_print() -> None:
    """Rendered at 150 dots to the inch and read as a photograph by a far, undistorting camera."""
    dots = 150
    pdf = cards_pdf(count=11, first=51)
    numbers = []
    for page in range(2):
        picture = sheet(pdf, page, dots)
        height, width = picture.shape
        far = Camera(np.array([[1e4, 0, width / 2], [0, 1e4, height / 2], [0, 0, 1]]), np.zeros(5), (width, height))
        seen = read_station_cards(picture, far)
        assert seen.warnings == []
        for card in seen.cards:
            numbers.append(card.number)
            apart_px = np.linalg.norm(card.points_px[:, None] - card.points_px, axis=2)
            apart_mm = np.linalg.norm(card.points_mm[:, None] - card.points_mm, axis=2)
            far_apart = apart_mm > 15
            assert np.abs(apart_px[far_apart] * 25.4 / dots / apart_mm[far_apart] - 1.0).max() < 0.002
    assert sorted(numbers) == list(range(51, 62))


def test_what_cannot_be_printed_is_a_wrong_call(tmp_path: Path) -> None:
    for count, first, paper in ((0, 0, "a4"), (1, 62, "a4"), (63, 0, "a4"), (1, -1, "a4"), (1, 0, "foolscap")):
        with pytest.raises(WrongCall):
            print_cards(tmp_path / "cards.pdf", count=count, first=first, paper=paper)
    assert not list(tmp_path.iterdir())
    assert print_cards(tmp_path / "cards.pdf", count=2).stat().st_size > 1000
