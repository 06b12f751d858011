"""One cut has one number: the same rounded-down depth on every paper, screen and in the record. Invented planks."""

from __future__ import annotations

import io
import re

import ezdxf
import numpy as np
import pypdfium2
import pytest

from fitcheck.advice.cut_depth import format_depth, told_depth_mm
from fitcheck.advice.planing import advise
from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.fitlog import queries
from fitcheck.fitlog.by_hand import record_advised_cuts
from fitcheck.fitlog.listing import standings_at
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.hull.plank_name import PlankName
from fitcheck.report.edge.dxf import dxf_bytes
from fitcheck.report.edge.page import page_html
from fitcheck.report.edge.strip_pdf import cut_strip_pdf
from fitcheck.report.edge.table import table_lines
from fitcheck.report.edge.ticket import ticket_pdf
from fitcheck.report.edge.wording import Wording
from fitcheck.report.record import fit_lines, record_lines
from fitcheck.report.record.history_page import write_plank_history
from tests.fitlog.made import HULL, made_hull
from tests.report import invented

FOUR = PlankName(4, "port")


def fit(units, off_mm):
    """A metre of plank, past all along by ``off_mm`` more than may stay: an even cut of that depth."""
    past_mm = invented.LIMIT - 0.2 + off_mm
    samples = [
        Sample(None, past_mm, 0.2, state_of(past_mm, 0.2, invented.LIMIT), plank_mm=5.0 * i, edge_px=(5.0 * i, 400.0))
        for i in range(201)
    ]
    return Measurement(
        "measured",
        invented.settings(reference="station", units=units, plank="4 port"),
        samples=tuple(samples),
        planing=advise(samples, limit_mm=invented.LIMIT, units=units),
    )


def pdf_words(pdf):
    document = pypdfium2.PdfDocument(pdf)
    words = " ".join(page.get_textpage().get_text_bounded() for page in document)
    document.close()
    return words.replace("\r\n", " ")


def deepest_drawn_mm(measurement):
    """How deep the drawing's cut lies under its edge, at the deepest."""
    drawing = ezdxf.read(io.StringIO(dxf_bytes(measurement).decode()))
    (cut,) = (line for line in drawing.modelspace().query("LWPOLYLINE") if line.dxf.layer == "CUT")
    past = {sample.place_mm(): sample.past_line_mm for sample in measurement.samples}
    return max(y + past[x] for x, y, *_ in cut.get_points())


# 1.156 mm is 2.9/64 in: the nearest mark would be deeper than the plank is surely past its line.
@pytest.mark.parametrize(
    ("units", "off_mm", "depth", "deeper"),
    [("in", 1.156, "1/32 in", ["3/64 in"]), ("mm", 1.156, "1.1 mm", ["1.2 mm", "1.16 mm", "1.15 mm"])],
)
def test_every_output_tells_the_same_depth_for_the_same_cut(tmp_path, units, off_mm, depth, deeper):
    measured = fit(units, off_mm)
    (cut,) = measured.planing["cuts"]
    assert format_depth(cut["deepest_mm"], units) == depth
    hull = made_hull(tmp_path, f'units = "{units}"\n{HULL}')
    record(measured.as_json(), db_path=hull.db_path, plank="4 port", hull=hull)
    said = {
        "ticket": pdf_words(ticket_pdf(measured)),
        "strip": pdf_words(cut_strip_pdf(measured)),
        "page": page_html(measured).replace("\u00a0", " ").replace("\u2011", "-"),
        "terminal": "\n".join(table_lines(measured, Wording.of(measured))),
        "log show": shown(hull),
        "log list": "\n".join(record_lines.standing_lines(standings_at(hull), hull)),
        "report": write_plank_history(hull, FOUR, tmp_path / "h.html").read_text(encoding="utf-8"),
    }
    made = record_advised_cuts(hull.db_path, FOUR, units=units)
    said["log show after the cut"] = shown(hull)
    said["report after the cut"] = write_plank_history(hull, FOUR, tmp_path / "h.html").read_text(encoding="utf-8")
    for name, words in said.items():
        assert re.search(rf"(?<![\d/.-]){re.escape(depth)}", words), name
        for wrong in deeper:
            assert not re.search(rf"(plane|deepest|asked|depth)[^\n.]*{re.escape(wrong)}", words), name
    assert "planed after it" in said["log show after the cut"]
    told_mm = told_depth_mm(cut["deepest_mm"], units)
    assert made[0]["deepest_mm"] == pytest.approx(told_mm, abs=1e-5)
    assert max(deep for _, deep in made[0]["profile"]) == pytest.approx(told_mm, abs=1e-5)
    assert deepest_drawn_mm(measured) == pytest.approx(told_mm, abs=1e-5)


def shown(hull):
    from fitcheck.fitlog.judged_by import terms_of
    from fitcheck.fitlog.summary import summary_of

    with reading(hull.db_path) as connection:
        fit_on_record = queries.fit(connection, FOUR)
        summary = summary_of(connection, fit_on_record.id, terms_of(FOUR, hull))
        return "\n".join(fit_lines.show_lines(connection, fit_on_record, summary, hull))


def test_a_cut_under_the_finest_mark_is_a_shaving_everywhere(tmp_path):
    measured = fit("in", 0.35)  # 0.9/64 in
    hull = made_hull(tmp_path)
    record(measured.as_json(), db_path=hull.db_path, plank="4 port", hull=hull)
    assert "a shaving" in pdf_words(ticket_pdf(measured))
    assert "a shaving" in "\n".join(table_lines(measured, Wording.of(measured)))
    assert "asked to plane: 0 in to 3 ft 3-3/8 in, a shaving at the deepest" in shown(hull)
    record_advised_cuts(hull.db_path, FOUR)
    assert "a shaving deep" in shown(hull)


@pytest.mark.parametrize("units", ["in", "mm"])
def test_what_is_drawn_is_never_deeper_than_what_is_told_nor_shallower_elsewhere(units):
    measured = fit(units, 1.3)
    (cut,) = measured.planing["cuts"]
    told_mm = told_depth_mm(cut["deepest_mm"], units)
    made = np.array([min(deep, told_mm) for _, deep in cut["profile"]])
    assert told_mm <= cut["deepest_mm"]
    assert made.max() == pytest.approx(told_mm)
    assert deepest_drawn_mm(measured) == pytest.approx(told_mm, abs=1e-5)
