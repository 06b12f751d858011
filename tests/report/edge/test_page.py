"""The page holds everything itself, escapes what comes from outside, and carries the cautions."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser

import pytest

from fitcheck.ground.refusal import Reason
from fitcheck.report.drawing.cautions import CAUTIONS
from fitcheck.report.edge.edge_chart import chart
from fitcheck.report.edge.page import page_html
from tests.report import invented

VOID = {"meta", "img", "br", "link", "input"}


class Reader(HTMLParser):
    """Collects tags, addresses and words, and fails on tags that do not close in order."""

    def __init__(self):
        super().__init__()
        self.open, self.tags, self.addresses, self.words = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.addresses += [value for name, value in attrs if name in ("src", "href", "action", "srcset")]
        self.words += [value for name, value in attrs if name == "alt"]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)


def read(html):
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


def full_page(**changes):
    fit = invented.one_photo(**changes)
    return read(page_html(fit, pictures=[("lap_01.jpg", b"\xff\xd8")], charts=[chart(fit)], date="2026-05-02"))


def test_the_page_asks_nothing_of_a_network():
    page = full_page()
    assert page.addresses
    assert all(address.startswith("data:") for address in page.addresses)
    assert not {"script", "link", "iframe", "base"} & set(page.tags)


def test_the_page_says_the_answer():
    said = " ".join(full_page().words).replace("\u00a0", " ").replace("\u2011", "-")
    for needed in ("SHORT", "plane 3/64 in at the deepest", "4 port (invented)", "past 3/32 in ± 1/64", "2026-05-02"):
        assert needed in said
    assert "The bevel was not told; a usual one is assumed" in said


@pytest.mark.parametrize("make", [invented.one_photo, invented.refused, invented.whole_plank])
def test_every_page_carries_the_cautions(make):
    said = " ".join(read(page_html(make())).words)
    for caution in CAUTIONS:
        assert caution.split(".")[0].split(":")[0] in said


def test_what_comes_from_outside_is_escaped():
    hostile = "<script>alert(1)</script>\"'&"
    fit = invented.one_photo(plank=hostile)
    fit = type(fit)(**{**vars(fit), "photos": ({"name": hostile},), "warnings": (Reason("photo-soft", hostile),)})
    page = read(page_html(fit, pictures=[(hostile, b"\xff\xd8")]))
    assert "script" not in page.tags
    assert hostile in page.words


def test_a_refusal_is_a_page_too():
    page = read(page_html(invented.refused()))
    said = " ".join(page.words)
    assert "NOT MEASURED" in said
    assert "No lap line is in sight" in said
    assert "table" not in page.tags


def test_the_table_has_headers_for_those_who_listen():
    page = full_page()
    assert page.tags.count("th") > 10
    assert {"caption", "thead", "tbody", "h1", "main"} <= set(page.tags)


def test_long_advice_is_summed_up_before_the_picture_and_told_whole_after_it():
    """At most three lines before the picture; a photograph not used is named among them."""
    short = [{"from_mm": 100.0 * k, "to_mm": 100.0 * k + 50, "most_mm": 1.9} for k in range(5)]
    lost = {"name": "b.jpg", "state": "refused", "reasons": [{"code": "no-line", "text": "No line in b.jpg."}]}
    fit = replace(invented.whole_plank(), planing={"verdict": "recut", "cuts": [], "short": short, "warnings": []})
    fit = replace(fit, photos=(*fit.photos, lost))
    page = page_html(fit, whole=b"\xff\xd8").replace("\u00a0", " ")
    before, after = page.split('<figure class="plank">')
    assert before.count("<li>") <= 3
    assert "short in 5 places" in before
    assert "not used: b.jpg" in before
    assert after.count("<li>short by up to ") == 5
    assert "No line in b.jpg." in after


def test_few_lines_all_stand_in_the_answer():
    page = page_html(replace(invented.whole_plank(), planing={"verdict": "good", "cuts": [], "short": []}))
    assert "What to do, from where to where" not in page
