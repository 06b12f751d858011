"""The marked photograph and the chart: drawn where the samples say, nothing drawn where there is nothing to say."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import cv2
import numpy as np
import pytest

from fitcheck.contract.measurement import Measurement
from fitcheck.report.drawing.palette import EDGE, LINE, LOOKS
from fitcheck.report.edge.detail import axis_of
from fitcheck.report.edge.edge_chart import chart
from fitcheck.report.edge.marked import marked
from fitcheck.report.edge.overlay import LONGEST_SIDE_PX, overlay
from tests.report import invented

GREY_GROUND = np.full((1230, 1640, 3), 128, np.uint8)


def near(picture, colour, tolerance=6):
    """Where the picture (BGR) has a colour (RGB)."""
    return (np.abs(picture.astype(int) - colour[::-1]) <= tolerance).all(axis=2)


def photo_top(picture, ground=GREY_GROUND):
    """The row at which the photograph begins under its header."""
    return int(np.flatnonzero((picture == ground[0, 0]).all(axis=2).mean(axis=1) > 0.9)[0])


@pytest.mark.parametrize("keel", ["down", "up"])
def test_edge_and_line_are_drawn_where_they_were_seen(keel):
    fit = invented.one_photo(keel)
    drawn = overlay(GREY_GROUND, fit)
    part = drawn[photo_top(drawn) :][:1230]
    edge, line = near(part, EDGE), near(part, LINE)
    for sample in fit.samples:
        if sample.edge_px is None:
            continue
        u, v = (round(x) for x in sample.edge_px)
        assert edge[v - 3 : v + 4, u - 3 : u + 4].any()
    # Dashed: the line shows along most of its places where it is clear of the edge, and nowhere far from them.
    clear = [s.line_px for s in fit.samples if s.line_px and abs(s.past_line_mm) > 1.2]
    shown = [line[round(v) - 3 : round(v) + 4, round(u) - 12 : round(u) + 13].any() for u, v in clear]
    assert np.mean(shown) > 0.9
    assert np.abs(np.argwhere(line)[:, 0] - invented.LAP_V_PX).max() < 10


@pytest.mark.parametrize(("keel", "side"), [("down", -1), ("up", 1)])
def test_the_plane_here_ribbon_lies_on_the_plank_over_the_cut(keel, side):
    fit = invented.one_photo(keel)
    drawn = overlay(GREY_GROUND, fit)
    part = drawn[photo_top(drawn) :][:1230]
    rows, columns = np.nonzero(near(part, LOOKS["plane"].colour))
    assert ((rows - invented.LAP_V_PX) * side > 0).mean() == 1.0
    (cut,) = fit.planing["cuts"]
    ends = sorted(invented.to_px(at, 0, keel)[0] for at in (cut["from_mm"], cut["to_mm"]))
    assert columns.min() == pytest.approx(ends[0], abs=12)
    assert columns.max() == pytest.approx(ends[1], abs=12)


def test_no_line_is_drawn_where_it_is_hidden_and_no_edge_under_a_clamp():
    fit = invented.one_photo()
    drawn = overlay(GREY_GROUND, fit)
    part = drawn[photo_top(drawn) :][:1230]
    hidden = slice(round(invented.to_px(288, 0)[0]), round(invented.to_px(320, 0)[0]))
    covered = slice(round(invented.to_px(25, 0)[0]), round(invented.to_px(55, 0)[0]))
    assert not near(part, LINE)[:, hidden].any()
    assert not near(part, EDGE)[:, covered].any()


def test_the_photograph_given_is_not_touched_and_a_large_one_is_made_smaller():
    photo = np.full((3024, 4032, 3), 128, np.uint8)
    before = photo.copy()
    drawn = overlay(photo, invented.one_photo())
    assert (photo == before).all()
    assert drawn.shape[1] == LONGEST_SIDE_PX
    assert drawn.flags["C_CONTIGUOUS"]


def test_a_refusal_keeps_the_photograph_and_says_why():
    photo = invented.picture()
    drawn = overlay(photo, invented.refused())
    assert drawn.shape[0] > photo.shape[0]
    assert (drawn[-photo.shape[0] :] == photo).all()


def test_of_many_photographs_each_shows_its_own_places():
    fit = invented.one_photo()
    photos = ({"name": "a.jpg"}, {"name": "b.jpg"})
    samples = tuple(
        type(s)(**{**vars(s), "photos": ("a.jpg",) if s.along_mm < 0 else ("b.jpg", "a.jpg")}) for s in fit.samples
    )
    both = Measurement("measured", fit.settings, photos=photos, samples=samples, planing=fit.planing)
    assert {s.along_mm < 0 for s in marked(both, 0).samples} == {True}
    assert {s.along_mm < 0 for s in marked(both, 1).samples} == {False}
    part = overlay(GREY_GROUND, both, photo_index=1)
    assert not near(part[:1200], EDGE)[:, : round(invented.CENTRE_PX[0]) - 60].any()


def test_the_straightened_lap_is_straight_and_true():
    fit = invented.one_photo()
    mark = marked(fit)
    axis = axis_of(mark)
    points = mark.edge_px[np.isfinite(mark.edge_px).all(axis=1)]
    straight = axis.straight(points)
    back = axis.pixels(straight[:, 0], straight[:, 1])
    assert np.abs(back - points).max() < 1e-6
    assert (np.diff(straight[:, 0]) > 0).all()


@pytest.mark.parametrize("angle_deg", [-25, 10])
def test_a_slanting_lap_is_straightened_too(angle_deg):
    turn = np.deg2rad(angle_deg)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    fit = invented.one_photo()
    samples = tuple(
        type(s)(**{**vars(s), "edge_px": tuple(np.array(s.edge_px) @ spin) if s.edge_px else None, "line_px": None})
        for s in fit.samples
    )
    axis = axis_of(marked(Measurement("measured", fit.settings, samples=samples)))
    direction = np.degrees(np.arctan2(axis.along[1], axis.along[0]))
    assert direction == pytest.approx(angle_deg, abs=1.0)


@pytest.mark.parametrize("make", [invented.one_photo, invented.whole_plank])
def test_the_chart_is_one_picture_that_names_what_it_shows(make):
    svg = chart(make()).decode()
    ET.fromstring(svg)
    words = " ".join(re.findall(r">([^<>]+)</text>", svg))
    for needed in ("edge to line", "on the line", "lap line", "95 in 100", "plane off", "not measured: covered"):
        assert needed in words
    assert not re.search(r'(?:href|src)="https?:', svg)


def test_the_chart_is_the_same_twice_and_png_on_request():
    assert chart(invented.one_photo()) == chart(invented.one_photo())
    png = cv2.imdecode(np.frombuffer(chart(invented.one_photo(), kind="png"), np.uint8), cv2.IMREAD_COLOR)
    assert png.shape[1] >= 1200


def test_the_chart_breaks_where_nothing_was_measured():
    # The curve is one path for each stretch measured: three stretches of the invented plank lie between clamps and gap.
    from matplotlib.figure import Figure

    from fitcheck.report.edge.edge_chart import _draw
    from fitcheck.report.edge.wording import Wording

    fit = invented.whole_plank()
    axes = Figure().add_subplot()
    _draw(axes, fit, Wording.of(fit))
    drawn = [line.get_xdata() * 25.4 for line in axes.lines if len(line.get_xdata()) > 2]
    spans = [(round(float(x[0])), round(float(x[-1]))) for x in drawn]
    assert spans == [(0, 475), (535, 1695), (1755, 2050), (2130, 2400)]


def test_nothing_measured_has_no_chart():
    with pytest.raises(ValueError, match="no chart"):
        chart(invented.refused())
