"""Ticket and cut strip are true to size: measured on the page rendered at 600 dots an inch."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

from fitcheck.contract.measurement import Measurement
from fitcheck.ground.refusal import WrongCall
from fitcheck.report.drawing.keel_side import rises_right
from fitcheck.report.drawing.palette import EDGE, LOOKS
from fitcheck.report.drawing.sheet import LONGEST_PAGE_MM, Sheet
from fitcheck.report.edge.strip_pdf import cut_strip_pdf
from fitcheck.report.edge.ticket import ticket_pdf
from tests.report import invented

DPI = 600
PX_MM = DPI / 25.4


def pages(pdf):
    document = pypdfium2.PdfDocument(pdf)
    yield from document
    document.close()


def sizes_mm(pdf):
    return [tuple(round(side / 72 * 25.4, 1) for side in page.get_size()) for page in pages(pdf)]


def words(pdf):
    return " ".join(page.get_textpage().get_text_bounded() for page in pages(pdf))


def rendered(pdf, page=0, dpi=DPI):
    document = pypdfium2.PdfDocument(pdf)
    picture = document[page].render(scale=dpi / 72).to_numpy()[..., 2::-1].astype(np.int16)
    document.close()
    return picture


def coloured(picture, colour, tolerance=40):
    return (np.abs(picture - colour) <= tolerance).all(axis=2)


def printed_unscaled(pdf):
    return b"/PrintScaling /None" in pdf


@pytest.mark.parametrize(("paper", "size"), [("A4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
@pytest.mark.parametrize("make", [invented.one_photo, invented.whole_plank, invented.refused])
def test_a_ticket_is_one_page_of_the_paper_asked_for(make, paper, size):
    pdf = ticket_pdf(make(), paper=paper, date="2026-05-02", fit="3")
    assert sizes_mm(pdf) == [size]
    assert printed_unscaled(pdf)


def test_a_ticket_says_plank_date_fit_verdict_depths_and_cautions():
    said = words(ticket_pdf(invented.whole_plank(), date="2026-05-02", fit="3")).replace("\r\n", " ")
    for needed in (
        "SHORT",
        "4 port (invented)",
        "fit 3",
        "2026-05-02",
        "card 1: 11-3/4 in",
        "1/64 in",
        "loaded spring",
    ):
        assert needed in said
    assert "On means surely within 1/32 in" in said
    assert "Before you unclamp: tick the stations" in said
    assert "Depth drawn 10 times full size" in said


def test_nothing_of_a_ticket_runs_off_its_paper():
    for paper in ("A4", "letter"):
        for fit in (invented.one_photo("up", units="mm"), invented.whole_plank(plank="x" * 200)):
            picture = rendered(ticket_pdf(fit, paper=paper), dpi=100)
            margin = round(8 / 25.4 * 100)
            inner = picture[margin:-margin, margin:-margin]
            assert (picture < 250).any(axis=2).sum() == (inner < 250).any(axis=2).sum()


def test_a_refused_measurement_has_a_ticket_that_says_why():
    said = words(ticket_pdf(invented.refused()))
    assert "NOT MEASURED" in said
    assert "No lap line is in sight" in said


def test_the_check_bar_is_a_hundred_millimetres():
    sheet = Sheet((210.0, 297.0), "bar")
    sheet.check_bar((20.0, 30.0))
    picture = rendered(sheet.data())
    # The two end strokes are the only ink 1.5 mm under the bar.
    columns = np.flatnonzero((picture[round(31.5 * PX_MM)] < 128).all(axis=1))
    ends = [group.mean() for group in np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)]
    assert len(ends) == 2
    assert (ends[1] - ends[0]) / PX_MM == pytest.approx(100.0, abs=0.1)
    assert (ends[0] + 0.5) / PX_MM == pytest.approx(20.0, abs=0.1)


def one_cut(from_mm, to_mm, deepest):
    at = np.linspace(from_mm, to_mm, 101)
    depth = deepest * np.sin(np.pi * (at - from_mm) / (to_mm - from_mm))
    cut = {"from_mm": from_mm, "to_mm": to_mm, "deepest_mm": deepest, "profile": np.column_stack([at, depth]).tolist()}
    return Measurement(
        "measured", invented.settings(units="mm"), planing={"cuts": [cut], "short": [], "verdict": "plane"}
    )


@pytest.mark.parametrize("paper", ["A4", "letter", "roll"])
def test_a_cut_is_printed_at_full_size(paper):
    picture = rendered(cut_strip_pdf(one_cut(100.0, 300.0, 4.0), paper=paper))
    edge = coloured(picture, EDGE)
    rows, columns = np.nonzero(edge)
    assert (columns.max() - columns.min() + 1) / PX_MM == pytest.approx(200.0, abs=0.1)
    # The cut is 4 mm above the edge line's middle at its deepest.
    cut_rows = np.nonzero(coloured(picture, LOOKS["plane"].colour))[0]
    edge_middle = (rows.max() + rows.min()) / 2
    half_line_px = 0.1 * PX_MM
    assert (edge_middle - cut_rows.min() - half_line_px) / PX_MM == pytest.approx(4.0, abs=0.1)


def test_a_long_cut_is_tiled_without_a_gap_and_every_piece_is_registered():
    pdf = cut_strip_pdf(one_cut(0.0, 1000.0, 3.0), paper="A4")
    assert sizes_mm(pdf) == [(297.0, 210.0)] * 2
    lengths = []
    for number in range(2):
        edge = coloured(rendered(pdf, number), EDGE)
        rows = np.flatnonzero(edge.any(axis=1))
        for group in np.split(rows, np.flatnonzero(np.diff(rows) > 5) + 1):
            columns = np.flatnonzero(edge[group].any(axis=0))
            lengths.append((columns.max() - columns.min() + 1) / PX_MM)
    assert sum(lengths) == pytest.approx(1000.0, abs=0.1 * len(lengths))
    said = words(pdf)
    assert [f"piece {n} of 4" in said for n in (1, 2, 3, 4)] == [True] * 4
    assert said.count("100 mm: lay a rule") == 2


def test_a_roll_is_one_page_until_a_page_may_be_no_longer():
    (size,) = sizes_mm(cut_strip_pdf(one_cut(0.0, 5000.0, 3.0), paper="roll"))
    assert 5000 < size[0] <= LONGEST_PAGE_MM
    pdf = cut_strip_pdf(one_cut(0.0, 6000.0, 3.0), paper="roll")
    assert len(sizes_mm(pdf)) == 2
    assert max(size[0] for size in sizes_mm(pdf)) <= LONGEST_PAGE_MM
    assert printed_unscaled(pdf)


def test_station_cards_are_marked_where_they_lie():
    fit = invented.whole_plank()
    picture = rendered(cut_strip_pdf(fit, paper="roll"))
    edge = coloured(picture, EDGE)
    left = np.nonzero(edge)[1].min()
    row = np.nonzero(edge)[0].min() - round(11.8 * PX_MM)
    dark = np.flatnonzero((picture[row - 3 : row + 4] < 100).all(axis=2).any(axis=0))
    start = fit.planing["cuts"][0]["from_mm"]
    places = {round((column - left) / PX_MM + start) for column in dark}
    assert {300, 600} <= places


@pytest.mark.parametrize(("keel", "sense", "right"), [("down", 1, True), ("down", -1, False), ("up", -1, True)])
def test_the_strip_is_never_a_mirror_image(keel, sense, right):
    """Laid on the outer face with the plank above, places must rise as they do on the hull."""
    fit = invented.one_photo()
    samples = tuple(
        type(s)(**{**vars(s), "edge_px": (800 + sense * s.along_mm, 400.0) if s.edge_px else None}) for s in fit.samples
    )
    turned = Measurement("measured", {**fit.settings, "keel": keel}, samples=samples, planing=fit.planing)
    assert rises_right(turned) == right


def test_no_cut_no_strip_and_no_such_paper():
    with pytest.raises(WrongCall, match="no cut"):
        cut_strip_pdf(invented.refused())
    for make in (ticket_pdf, cut_strip_pdf):
        with pytest.raises(WrongCall, match="A4 or letter"):
            make(invented.one_photo(), paper="A3")


def test_the_same_measurement_gives_the_same_paper():
    fit = invented.one_photo()
    assert ticket_pdf(fit, date="2026-05-02") == ticket_pdf(fit, date="2026-05-02")
    assert cut_strip_pdf(fit) == cut_strip_pdf(fit)
