"""The report folder is whole, ours in every name, and never mixes old paper with new; the drawing reads back in mm."""

from __future__ import annotations

import io
import json
import os
from dataclasses import replace

import cv2
import ezdxf
import numpy as np
import pytest

from fitcheck.advice.cut_depth import told_cut
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.candidates import candidate, lettered
from fitcheck.ground.refusal import WrongCall
from fitcheck.report.edge import write as writing
from fitcheck.report.edge.dxf import dxf_bytes
from fitcheck.report.edge.one_of_many import WIDEST_PX, of_photo, worth_showing
from fitcheck.report.edge.write import write_report
from tests.report import invented


def test_a_report_is_a_whole_folder(tmp_path):
    paths = write_report(invented.one_photo(), invented.picture(), tmp_path / "fit", date="2026-05-02")
    assert paths[0].name == "report.html"
    assert sorted(path.name for path in paths) == sorted(os.listdir(tmp_path / "fit"))
    names = {path.suffix for path in paths}
    assert names == {".html", ".jpg", ".svg", ".pdf", ".dxf", ".json"}
    told = json.loads((tmp_path / "fit" / "report.json").read_text(encoding="utf-8"))
    assert told["planing"]["verdict"] == "plane"
    picture = cv2.imread(str(tmp_path / "fit" / "report_picture_1.jpg"))
    assert picture.shape[1] == 1640


def test_names_of_photographs_are_never_paths(tmp_path):
    fit = invented.one_photo()
    evil = Measurement(**{**vars(fit), "photos": ({"name": "../../etc/x.jpg"},)})
    inside = tmp_path / "a" / "b"
    paths = write_report(evil, invented.picture(), inside)
    assert {path.parent for path in paths} == {inside}
    assert os.listdir(tmp_path) == ["a"]


def test_several_photographs_and_one_not_shown(tmp_path):
    fit = invented.one_photo()
    many = Measurement(**{**vars(fit), "photos": ({"name": "a.jpg"}, {"name": "b.jpg"}, {"name": "c.jpg"})})
    write_report(many, [invented.picture(), None, invented.picture()], tmp_path)
    assert [name for name in sorted(os.listdir(tmp_path)) if name.endswith("jpg")] == [
        "report_picture_1.jpg",
        "report_picture_3.jpg",
    ]


def test_a_plank_shows_the_photographs_not_used_with_what_was_found_and_no_more_than_six(tmp_path):
    lost = [
        {"name": f"b{k}.jpg", "state": "refused", "reasons": [{"code": "no-line", "text": f"No line {k}."}]}
        for k in range(8)
    ]
    again = {"name": "c.jpg", "state": "refused", "reasons": [{"code": "photo-repeated", "text": "The same."}]}
    path = np.array([[200.0, 420.0], [700.0, 425.0], [1400.0, 430.0]])
    found = tuple(replace(one, photo="b0.jpg") for one in lettered([candidate("edge", path)]))
    fit = invented.whole_plank()
    fit = replace(fit, photos=(again, {**fit.photos[0], "state": "measured"}, *lost), candidates=found)
    shown = worth_showing(fit)
    assert shown == [2, 3, 4, 5, 6, 7]
    on_first, at = of_photo(fit, 2)
    assert (bool(on_first), at, on_first.reasons[0].text, on_first.candidates) == (False, 0, "No line 0.", found)
    assert not of_photo(fit, 3)[0].candidates
    pixels = [invented.picture() if index in shown else None for index in range(len(fit.photos))]
    write_report(fit, pixels, tmp_path, date="2026-05-02")
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert page.count("not used: what was found in it</figcaption>") == 6
    assert "b7.jpg" in page, "the others are named"
    with_path, without = (cv2.imread(str(tmp_path / f"report_picture_{n}.jpg")) for n in (3, 4))
    assert with_path.shape[1] == WIDEST_PX
    assert len(with_path) > len(without), "the lap magnified, and the legend of the letters"


def test_a_photograph_of_a_plank_with_a_long_ambiguous_stretch_is_shown_a_short_one_is_not():
    def torn(long_mm):
        samples = [
            Sample(None, None, None, "ambiguous", plank_mm=x, photos=("p.jpg",))
            if 300 <= x <= 300 + long_mm
            else Sample(None, 0.0, 0.2, "on", plank_mm=x, photos=("q.jpg",))
            for x in np.arange(0.0, 1000.0, 5.0)
        ]
        return Measurement("measured", {}, samples=tuple(samples), photos=({"name": "q.jpg"}, {"name": "p.jpg"}))

    assert worth_showing(torn(150.0)) == [1]
    assert worth_showing(torn(60.0)) == []


def test_a_refusal_is_reported_too(tmp_path):
    paths = write_report(invented.refused(), invented.picture(), tmp_path)
    assert {path.name for path in paths} == {"report.html", "report_picture_1.jpg", "report_ticket.pdf", "report.json"}


def test_no_old_cut_strip_is_left_beside_a_new_report(tmp_path):
    mine = tmp_path / "report_notes.txt"
    mine.write_text("the builder's own")
    write_report(invented.one_photo(), invented.picture(), tmp_path)
    assert (tmp_path / "report_cut_strip.pdf").exists()
    good = Measurement(
        "measured", invented.settings(), samples=(Sample(0.0, 0.0, 0.1, "on"), Sample(5.0, 0.0, 0.1, "on"))
    )
    write_report(good, None, tmp_path)
    assert not (tmp_path / "report_cut_strip.pdf").exists()
    assert not (tmp_path / "report_picture_1.jpg").exists()
    assert mine.exists()


def test_nothing_is_written_where_a_part_cannot_be_made(tmp_path, monkeypatch):
    def broken(*_, **__):
        raise ValueError("no ticket")

    monkeypatch.setattr(writing, "ticket_pdf", broken)
    with pytest.raises(ValueError, match="no ticket"):
        write_report(invented.one_photo(), invented.picture(), tmp_path / "fit")
    assert not (tmp_path / "fit").exists()


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "fit").write_text("a file in the way")
    with pytest.raises(WrongCall, match="cannot write"):
        write_report(invented.refused(), None, tmp_path / "fit")


def read_dxf(fit):
    drawing = ezdxf.read(io.StringIO(dxf_bytes(fit).decode("utf-8")))
    assert not drawing.audit().has_errors
    return drawing


def lines_on(drawing, layer):
    return [np.array(line.get_points("xy")) for line in drawing.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')]


def test_the_drawing_is_in_millimetres_at_full_size():
    fit = invented.whole_plank()
    drawing = read_dxf(fit)
    # DXF reference, header variables: $INSUNITS 4 is millimetres; AC1024 is release 2010.
    assert drawing.header["$INSUNITS"] == 4
    assert drawing.dxfversion == "AC1024"
    (line,) = lines_on(drawing, "LINE")
    assert line.tolist() == [[0, 0], [2400, 0]]
    stations = drawing.modelspace().query('LINE[layer=="STATIONS"]')
    assert [round(mark.dxf.start.x) for mark in stations] == [300 * n for n in range(9)]


def test_the_edge_is_drawn_as_measured_and_broken_where_it_was_not():
    fit = invented.whole_plank()
    edges = lines_on(read_dxf(fit), "EDGE")
    assert [(edge[0, 0], edge[-1, 0]) for edge in edges] == [(0, 475), (535, 1695), (1755, 2050), (2130, 2400)]
    past = {s.plank_mm: s.past_line_mm for s in fit.samples}
    for edge in edges:
        assert np.allclose(edge[:, 1], [-past[x] for x in edge[:, 0]])


def test_the_cut_lies_inside_the_plank_by_its_depth():
    fit = invented.whole_plank()
    past = {s.plank_mm: s.past_line_mm for s in fit.samples}
    cuts = lines_on(read_dxf(fit), "CUT")
    assert len(cuts) == len(fit.planing["cuts"]) == 2
    for drawn, cut in zip(cuts, fit.planing["cuts"], strict=True):
        depth = drawn[:, 1] + [past[x] for x in drawn[:, 0]]
        told = [deep for _, deep in told_cut(cut, "in")["profile"]]
        assert np.allclose(depth, told, atol=1e-6)
        assert all(0 <= deep <= most for deep, (_, most) in zip(told, cut["profile"], strict=True))
