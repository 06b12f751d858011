"""The report folder is whole, ours in every name, and never mixes old paper with new; the drawing reads back in mm."""

from __future__ import annotations

import io
import json
import os

import cv2
import ezdxf
import numpy as np
import pytest

from fitcheck.advice.cut_depth import told_cut
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.refusal import WrongCall
from fitcheck.report.edge import write as writing
from fitcheck.report.edge.dxf import dxf_bytes
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
