"""The lap edge-on on a phone: a photograph of known geometry, measured for real, as the page shows it."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.page.checks import clash, sound
from tests.page.measured_hull import EDGE_ON
from tests.page.phone import text_of

pytestmark = pytest.mark.skipif(not EDGE_ON.is_file(), reason="FITCHECK_PHOTOS names no photographs")


@pytest.fixture(scope="module")
def answer(phone, shop_in_browser, measured):
    """The answer's page on the phone."""
    phone.goto(f"{shop_in_browser.doors.here}/job/{measured.edge_on}")
    phone.wait_for_selector("article")
    return phone


def truth():
    """Of the photograph: places in it, (N, 2) px, from left to right, and the true gap there in mm."""
    samples = json.loads(EDGE_ON.with_suffix(".json").read_bytes())["samples"]
    rows = np.array([[*one["edge_px"], one["gap_mm"]] for one in samples])
    return rows[np.argsort(rows[:, 0])]


def test_the_widest_place_is_told_large_and_lies_where_the_lap_stands_open(answer, measured):
    found = measured.answer(measured.edge_on)
    assert answer.inner_text("h1") == "OPEN"
    large = answer.inner_text(".huge")
    assert "open" not in large
    told_mm, doubt_mm = (25.4 * float(part.split()[0]) for part in large.split("±"))
    u, v = found["worst"]["at_px"]
    rows = truth()
    assert abs(v - np.interp(u, rows[:, 0], rows[:, 1])) < 4
    assert "±\u00a0" in large
    assert abs(told_mm - np.interp(u, rows[:, 0], rows[:, 2])) < doubt_mm
    assert "at the widest" in answer.inner_text(".verdict")


def test_open_stretches_are_drawn_where_the_lap_is_open_and_closed_ones_where_it_is_not(measured):
    (photo,) = measured.answer(measured.edge_on)["photos"]
    rows = truth()
    for run in photo["stretches"]:
        u = [at[0] for at in run["outline"]]
        inside = rows[(rows[:, 0] > min(u)) & (rows[:, 0] < max(u)), 2]
        if run["look"] == "plane":
            assert inside.max() > 0.2
        if run["look"] == "on":
            assert inside.max() < 0.3
    assert {run["look"] for run in photo["stretches"]} == {"plane", "on", "unsure"}


def test_what_to_do_next_is_said_and_leads_there(answer):
    said = answer.inner_text(".verdict .next")
    assert "Plane more bevel on the strake below" in said
    assert answer.is_visible("text=A feeler's reading")
    assert "line" not in answer.inner_text("details.right summary")


def test_every_look_of_a_stretch_has_its_mark_in_the_legend(answer):
    legend = answer.locator("figcaption .key:has(.swatch)")
    assert sorted(one.strip() for one in legend.all_inner_texts()) == ["closed", "open", "unsure"]
    assert max(legend.nth(nth).locator(".swatch").bounding_box()["height"] for nth in range(3)) < 30


def test_words_lie_beside_the_edge_and_whole_in_the_picture(answer):
    assert clash(answer) == []
    answer.click("text=Worst place")
    assert clash(answer) == []
    answer.click("text=Whole picture")


def test_the_answer_is_sound_for_finger_and_screen_reader(answer):
    sound(answer, "edge-on")


def test_without_a_card_the_plank_s_thickness_is_chosen_for_the_scale(measured):
    page = measured.phone.get("/photograph?plank=7+port&kind=gap")
    assert "the plank's thickness tells the scale" in text_of(page).replace("&#39;", "'")
    assert "thickness tells" not in text_of(measured.phone.get("/photograph?plank=7+port&kind=edge"))
