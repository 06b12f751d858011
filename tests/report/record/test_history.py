"""Pictures and pages of the history: whole in themselves, and true to the record."""

from __future__ import annotations

import base64
import io
import re
from html.parser import HTMLParser

import pytest
from PIL import Image

from fitcheck.fitlog.by_hand import record_advised_cuts
from fitcheck.fitlog.history import history
from fitcheck.fitlog.listing import STATES, Standing, standings_at
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.twin import twin
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from fitcheck.report.record import record_lines
from fitcheck.report.record.history_chart import history_chart, twin_chart, worst_chart
from fitcheck.report.record.history_page import write_plank_history
from fitcheck.report.record.hull_page import STANDING_LOOKS, hull_html, hull_sheet, write_hull_sheet
from tests.fitlog.made import cut, made_hull, measured
from tests.report.drawing.test_found import LEAST_LETTER_PX, PHONE_PX

FOUR = PlankName(4, "port")
NOTE = '<script>alert("planed & sanded")</script>'


@pytest.fixture
def hull(tmp_path):
    hull = made_hull(tmp_path)
    planing = {"verdict": "plane", "cuts": [cut(100, 400, 1.0)]}
    record(measured(1.5, planing=planing), db_path=hull.db_path, plank="4 port", hull=hull, note=NOTE, who="<b>A</b>")
    record_advised_cuts(hull.db_path, FOUR)
    record(measured(0.4, covered=[(500, 540)]), db_path=hull.db_path, plank="4 port", hull=hull)
    record(measured(lambda x: 0.3 if x < 500 else -1.0), db_path=hull.db_path, plank="4 starboard", hull=hull)
    return hull


class Links(HTMLParser):
    """Everything a page would ask for, and its tags."""

    def __init__(self, text):
        super().__init__()
        self.found, self.tags = [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.found += [value for name, value in attrs if name in ("src", "href", "srcset", "data", "action")]


@pytest.fixture
def pages(hull, tmp_path):
    plank = write_plank_history(hull, FOUR, tmp_path / "plank.html")
    sheet = write_hull_sheet(hull, tmp_path / "hull.html")
    return [path.read_text(encoding="utf-8") for path in (plank, sheet)]


def test_pages_are_whole_in_themselves(pages):
    for page in pages:
        links = Links(page)
        assert links.found
        assert all(link.startswith("data:image/svg+xml;base64,") for link in links.found)
        assert "script" not in links.tags
        assert not re.search(r"@import|url\(\s*['\"]?http", page)
        for link in links.found:
            svg = base64.b64decode(link.split(",", 1)[1]).decode("utf-8")
            assert not re.search(r'(?:href|src)="(?!#)', svg)


def test_names_and_notes_are_escaped(pages):
    assert NOTE not in pages[0]
    assert "&lt;script&gt;" in pages[0]
    assert "&lt;b&gt;A&lt;/b&gt;" in pages[0]


def test_pages_say_what_is_on_record(pages):
    plank, sheet = pages
    for words in (
        "after fit 1: cut 1: 3-7/8 in to 15-3/4 in",
        "Since the fit before",
        "Beside its twin",
        '<th scope="row" data-label="Fit">2</th>',
    ):
        assert words in plank
    for words in ("0 of 8 planks signed off", "4 port", "not begun", "A clamped plank is a loaded spring"):
        assert words in sheet
    assert "@media print" in plank


def test_the_pictures_are_drawn(hull):
    with reading(hull.db_path) as connection:
        gathered, both = history(connection, FOUR, hull), twin(connection, FOUR, hull)
    pictures = [
        history_chart(gathered, hull, kind="png"),
        worst_chart(gathered, hull, kind="png"),
        twin_chart(both, hull, kind="png"),
        hull_sheet(hull, standings_at(hull), kind="png"),
    ]
    for picture in pictures:
        image = Image.open(io.BytesIO(picture)).convert("L")
        assert min(image.size) > 300
        dark = sum(image.histogram()[:100]) / (image.width * image.height)
        assert 0.005 < dark < 0.5


def test_the_charts_name_the_fits_and_the_clamp(hull):
    with reading(hull.db_path) as connection:
        svg = history_chart(history(connection, FOUR, hull), hull).decode("utf-8")
    for words in ("fit 1", "fit 2, the latest", "covered", "past 1/16 in", "limit", "Invented dinghy, plank 4 port"):
        assert words in svg


def test_the_same_record_gives_the_same_picture(hull):
    with reading(hull.db_path) as connection:
        gathered = history(connection, FOUR, hull)
    assert history_chart(gathered, hull) == history_chart(gathered, hull)


def test_fits_without_places_have_no_curve_but_a_page(hull, tmp_path):
    record(measured(0.2, frame="along_mm"), db_path=hull.db_path, plank="3 port", hull=hull)
    with reading(hull.db_path) as connection:
        assert history_chart(history(connection, PlankName(3, "port"), hull), hull) is None
    page = write_plank_history(hull, PlankName(3, "port"), tmp_path / "p.html").read_text(encoding="utf-8")
    assert "fit after fit</h2>" not in page
    assert "Look again" in page


def test_every_state_has_its_look_and_the_second_cue_tells_them_apart():
    assert set(STANDING_LOOKS) == set(STATES)
    cues = [(look.hatch, look.words) for look in STANDING_LOOKS.values()]
    assert len(set(cues)) == len(cues)
    coloured = [look.hatch for look in STANDING_LOOKS.values() if look.colour == STANDING_LOOKS["signed"].colour]
    assert len(set(coloured)) == len(coloured)


def test_the_sheet_shows_every_state(hull):
    found = [Standing(PlankName(n, "port"), 0, None, None, state, "", {}) for n, state in enumerate(STATES, 1)]
    svg = hull_sheet(hull, found).decode("utf-8")
    assert all(STANDING_LOOKS[state].words in svg for state in STATES)
    assert hull_sheet(hull, []) is None
    assert "0 of 0 planks" in hull_html(hull, [])


def test_a_plank_without_a_fit_has_no_history(hull, tmp_path):
    with pytest.raises(WrongCall, match="no fit of plank 3 starboard"):
        write_plank_history(hull, PlankName(3, "starboard"), tmp_path / "p.html")
    assert not (tmp_path / "p.html").exists()


def test_the_letters_of_every_picture_can_be_read_on_a_phone_and_none_is_turned_over_a_curve(hull):
    with reading(hull.db_path) as connection:
        gathered, both = history(connection, FOUR, hull), twin(connection, FOUR, hull)
    pictures = [
        history_chart(gathered, hull),
        worst_chart(gathered, hull),
        twin_chart(both, hull),
        hull_sheet(hull, standings_at(hull)),
    ]
    for picture in pictures:
        svg = picture.decode("utf-8")
        wide = float(re.search(r'viewBox="0 0 ([\d.]+)', svg)[1])
        sizes = [float(size) for size in re.findall(r"font(?:-size)?: (?:\w+ )*([\d.]+)px", svg)]
        assert min(sizes) * PHONE_PX / wide >= LEAST_LETTER_PX - 0.1
        # Only the name of an axis is turned.
        turned = re.findall(r"rotate\(-90[^>]*>([^<]+)</text>", svg)
        assert set(turned) <= {"edge to line"}


def test_a_row_of_a_table_is_a_card_on_a_phone_and_says_what_each_cell_is(pages):
    for page in pages:
        heads = re.findall(r'<th scope="col">([^<]+)</th>', page)
        (body,) = re.findall(r"<tbody>(.*?)</tbody>", page, re.DOTALL)
        row = body.split("</tr>")[0]
        told = re.findall(r'<t[dh][^>]* data-label="([^"]+)"', row)
        assert told in (heads, heads[1:]), "a plank's name says itself"
        assert re.search(r"@media screen and \(max-width: 480px\)", page)
        assert "content: attr(data-label)" in page


def test_a_place_before_the_tapes_0_is_said_so_and_never_with_a_bare_sign(hull):
    assert record_lines.span(-136.5, 149.0, hull) == "5-3/8 in before 0 to 5-7/8 in"
    assert record_lines.place(-0.4, hull) == record_lines.place(0.0, hull)
