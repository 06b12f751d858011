"""Chart, ticket, strip and the whole plank's picture: where things lie in them, and that they can be read."""

import io
import itertools
import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib import rc_context
from matplotlib.figure import Figure

from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.refusal import WrongCall
from fitcheck.plank.plank_band import PIXEL_MM, Band
from fitcheck.report.drawing.canvas import Letters, text_size
from fitcheck.report.drawing.palette import EDGE
from fitcheck.report.drawing.sheet import Sheet
from fitcheck.report.edge.edge_chart import LETTERS_PT, SIZE_IN, _draw, chart
from fitcheck.report.edge.edge_drawing import draw_profile
from fitcheck.report.edge.gist import summed_up
from fitcheck.report.edge.overlay import overlay
from fitcheck.report.edge.plank_picture import ACROSS, joined, plank_picture
from fitcheck.report.edge.plank_rows import MARGIN_PX, SIZE_PX
from fitcheck.report.edge.strip_pdf import cut_strip_pdf
from fitcheck.report.edge.wording import Wording
from fitcheck.report.edge.write import write_report
from tests.report import invented
from tests.report.drawing.test_found import LEAST_LETTER_PX, PHONE_PX
from tests.report.edge.test_paper import coloured, one_cut, rendered, words
from tests.report.edge.test_pictures import GREY_GROUND, near, photo_top

#: Places of the invented photograph where its edge is furthest past and furthest short.
PAST_MM, SHORT_MM = 150.0, -170.0


def drawn_axes(fit):
    axes = Figure().add_subplot()
    _draw(axes, fit, Wording.of(fit))
    return axes


def bands_of_short_stretches():
    """A plank whose answer breaks off every few centimetres."""
    fit = invented.whole_plank()
    gone = [s.plank_mm % 150 < 40 for s in fit.samples]
    samples = tuple(
        replace(s, past_line_mm=None, u95_mm=None, state="covered" if s.plank_mm % 300 < 150 else "ambiguous")
        if out
        else s
        for s, out in zip(fit.samples, gone, strict=True)
    )
    return replace(fit, samples=samples)


def test_many_short_stretches_without_a_number_put_no_words_over_the_curve():
    axes = drawn_axes(bands_of_short_stretches())
    assert not axes.texts
    named = [one for one in axes.get_legend_handles_labels()[1] if "not measured" in one]
    assert [" ".join(one.split()) for one in named] == ["not measured: covered, ambiguous, unseen"]
    hatched = [patch for patch in axes.patches if patch.get_hatch()]
    assert len(hatched) > 15


def sides(measurement):
    """How much lower the edge is drawn where it is past than where it is short, in chart, picture and ticket."""
    axes = drawn_axes(measurement)
    turned = -1 if axes.yaxis_inverted() else 1
    picture = overlay(GREY_GROUND, measurement)
    edge = near(picture[photo_top(picture) :][: GREY_GROUND.shape[0]], EDGE)
    keel = measurement.settings["keel"]
    rows = [np.flatnonzero(edge[:, round(invented.to_px(at, 0, keel)[0])]).mean() for at in (PAST_MM, SHORT_MM)]
    sheet = Sheet((210.0, 100.0), "the drawing")
    draw_profile(sheet, measurement, Wording.of(measurement), (10.0, 10.0), 190.0)
    ink = coloured(rendered(sheet.data(), dpi=200), EDGE, 60)
    share = (np.array([PAST_MM, SHORT_MM]) + 320.0) / 640.0
    at = np.round((10.0 + 190.0 * (share if keel == "down" else 1.0 - share)) * 200 / 25.4).astype(int)
    ticket = [np.flatnonzero(ink[:, column - 2 : column + 3].any(axis=1)).mean() for column in at]
    return -turned, rows[0] - rows[1], ticket[0] - ticket[1]


@pytest.mark.parametrize("keel", ["down", "up"])
def test_past_points_the_same_way_in_chart_picture_and_ticket(keel):
    lower = sides(invented.one_photo(keel))
    assert {bool(side > 0) for side in lower} == {keel == "down"}


def test_the_letters_of_a_chart_can_be_read_on_a_phone():
    for fit in (invented.one_photo(), invented.whole_plank(units="mm")):
        svg = chart(fit).decode()
        wide = float(re.search(r'viewBox="0 0 ([\d.]+)', svg)[1])
        sizes = [float(size) for size in re.findall(r"font(?:-size)?: (?:\w+ )*([\d.]+)px", svg)]
        assert sizes
        assert min(sizes) * PHONE_PX / wide >= LEAST_LETTER_PX - 0.1


def test_no_name_of_a_place_runs_into_the_next():
    for fit in (invented.one_photo(), invented.whole_plank(), invented.one_photo("up", units="mm")):
        figure = Figure(figsize=SIZE_IN)
        axes = figure.add_subplot()
        with rc_context({"font.size": LETTERS_PT}):
            _draw(axes, fit, Wording.of(fit))
            figure.savefig(io.BytesIO(), format="png", dpi=72)
            boxes = sorted(label.get_window_extent().extents[::2].tolist() for label in axes.get_xticklabels())
        assert all(left[1] < right[0] for left, right in itertools.pairwise(boxes))


def made_band(name, from_mm, to_mm, shade, clamp=()):
    columns = round((to_mm - from_mm) / PIXEL_MM) + 1
    values = np.full((92, columns, 3), shade, np.uint8)
    for low, high in clamp:
        values[:, round((low - from_mm) / PIXEL_MM) : round((high - from_mm) / PIXEL_MM)] = (10, 10, 10)
    return Band(name, values, np.ones(columns, bool), from_mm, 0.0)


def two_photographs():
    """Photograph a sees a clamp from 120 to 160 mm, nearer its own middle; photograph b sees past it and measured."""
    bands = (made_band("a", 0.0, 300.0, 150, [(120, 160)]), made_band("b", 100.0, 600.0, 200))
    samples = []
    for at in np.arange(0.0, 600.0, 5.0):
        photos = ("b",) if at > 110 else ("a",)
        samples.append(Sample(None, 1.2, 0.2, "past", plank_mm=float(at), photos=photos))
    advice = {"verdict": "plane", "short": [], "cuts": [], "warnings": []}
    return bands, Measurement("measured", invented.settings(), samples=tuple(samples), planing=advice)


def test_the_edge_is_drawn_in_the_photograph_that_measured_it_never_through_anothers_clamp():
    bands, fit = two_photographs()
    strip = joined(bands, 0.0, 2400, fit.samples)
    clamp = slice(round(125 / PIXEL_MM), round(155 / PIXEL_MM))
    assert (strip[:, clamp] == 200).all()
    assert (strip[:, : round(90 / PIXEL_MM)] == 150).all()


def test_the_whole_planks_picture_is_stretched_four_times_across_and_its_edge_with_it():
    bands, fit = two_photographs()
    picture = plank_picture(fit, bands)
    edge = near(picture, EDGE)[: -6 * SIZE_PX]
    top = np.flatnonzero(near(picture, (200, 200, 200), 0).mean(axis=1) > 0.3)[0]
    strip = np.flatnonzero((np.abs(picture[top : top + 400, 700].astype(int) - 200) <= 0).all(axis=1))
    assert ACROSS == 4
    # 6 mm on either side of the lap line, and the edge 1.2 mm past it.
    assert np.ptp(strip) + 1 == pytest.approx(12.0 * ACROSS / PIXEL_MM, abs=8)
    row = np.flatnonzero(edge[top : top + 400, 700]).mean() + top
    assert row - (top + 6.0 * ACROSS / PIXEL_MM) == pytest.approx(1.2 * ACROSS / PIXEL_MM, abs=2.5)
    assert SIZE_PX * PHONE_PX / picture.shape[1] >= LEAST_LETTER_PX
    assert picture.shape[1] == round(304.8 / PIXEL_MM) + 2 * MARGIN_PX


def test_the_planks_headline_is_summed_up_in_three_lines():
    fit = bands_of_short_stretches()
    many = [{"from_mm": 0, "to_mm": 10, "most_mm": 1.9} for _ in range(5)]
    cuts = [
        {"from_mm": 0, "to_mm": 9, "deepest_mm": depth, "profile": [[0, depth], [9, depth]]} for depth in (0.2, 0.9)
    ]
    said = summed_up(replace(fit, planing={"verdict": "plane", "cuts": cuts, "short": many}), Wording())
    assert len(said) == 3
    assert said[1] == "plane in 2 places, 1/32 in at the deepest"
    assert said[0].startswith("short in 5 places, by up to ")
    assert said[2].startswith("not measured: ")


def test_a_strip_of_less_than_a_shaving_is_not_printed(tmp_path):
    deep, shaving = one_cut(0.0, 100.0, 1.0).planing["cuts"][0], one_cut(300.0, 400.0, 0.06).planing["cuts"][0]
    both = replace(one_cut(0.0, 100.0, 1.0), planing={"verdict": "plane", "short": [], "cuts": [deep, shaving]})
    assert "piece 1 of 1" in words(cut_strip_pdf(both))
    only = replace(both, planing={"verdict": "plane", "short": [], "cuts": [shaving], "warnings": []})
    with pytest.raises(WrongCall, match="less than a rule can show"):
        cut_strip_pdf(only)
    written = {path.name for path in write_report(only, None, tmp_path)}
    assert "report_cut_strip.pdf" not in written
    assert "report_ticket.pdf" in written


def test_the_page_says_how_to_point_at_what_was_found():
    from fitcheck.report.edge.page import page_html
    from tests.report.drawing.test_found import found

    page = page_html(found())
    assert "B: could be the lap line, 30 in 100. If it is: <code>--line-at 800,470</code>" in page


def test_a_long_name_is_folded_never_cut_off_at_the_rim(monkeypatch):
    written = []
    keep = Letters.write
    monkeypatch.setattr(Letters, "write", lambda self, *told: (written.append(told), keep(self, *told))[1])
    named = invented.settings(plank="4 port, the after part of the fourth strake (invented)")
    bands, fit = two_photographs()
    for draw in (
        lambda: plank_picture(replace(fit, settings=named), bands),
        lambda: overlay(GREY_GROUND, replace(invented.one_photo(), settings=named)),
    ):
        written.clear()
        picture = draw()
        assert "(invented)" in " ".join(words for _, words, *_ in written)
        assert max(at[0] + text_size(words, size)[0] for at, words, size, *_ in written) <= picture.shape[1]
