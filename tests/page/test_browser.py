"""The flows in a real Chromium, at phone and at laptop size, with real photographs."""

from __future__ import annotations

import re

import pytest

from fitcheck.page import jobs
from tests.fitlog.made import made_hull
from tests.page.browser import LAPTOP, PHONE, chromium, let_in, serious, served, too_small, too_wide
from tests.page.pretended import pretended
from tests.page.test_flow import HULL
from tests.samples import PLAIN, SHADOW

EVERY = [
    "/",
    "/enter",
    "/phone",
    "/plank?plank=4+port",
    "/photograph?plank=4+port&kind=edge",
    "/photograph?plank=4+port&kind=gap",
]
LATER = ["/by-hand?plank=4+port", "/sign?plank=4+port", "/settings", "/fit?plank=4+port&fit=1", "/job/1"]


@pytest.fixture(scope="module")
def browser():
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("browser")
    with served(made_hull(folder, HULL).path) as found:
        yield found


def sound(page, path=""):
    """No serious finding of the checker, nothing too small to touch, nothing to be moved sideways."""
    assert serious(page) == [], path
    assert too_small(page) == [], path
    assert not too_wide(page), path


@pytest.fixture(scope="module")
def answered(browser, shop):
    """4 port photographed with a phone: what the page said on the way, and its address."""
    with let_in(browser, shop, PHONE) as page:
        page.click("text=4 port")
        page.click("text=The edge, square-on")
        page.set_input_files("#photos", str(PLAIN))
        assert page.inner_text("#chosen") == "1 photograph chosen."
        page.fill("#at", "3ft")
        page.click("button:has-text('Measure')")
        page.wait_for_url("**/job/*")
        page.wait_for_selector("article")
        sound(page, "answer")
        yield page


def test_from_the_list_to_the_answer_with_a_thumb(answered):
    assert answered.inner_text("h1") in ("PLANE", "GOOD", "LOOK AGAIN", "SHORT", "SLIDE FIRST", "RECUT")
    assert "Recorded as fit 1 of 4 port" in answered.inner_text("main")
    assert answered.locator("svg .trace.edge").count() >= 1


def test_the_picture_is_enlarged_at_the_worst_place_and_by_keys(answered):
    def view():
        return [float(part) for part in answered.get_attribute("svg[viewBox]", "viewBox").split()]

    whole = view()
    answered.click("text=Worst place")
    near = view()
    assert near[2] == pytest.approx(whole[2] / 6)
    ring = answered.locator("circle.worst")
    u, v = float(ring.get_attribute("cx")), float(ring.get_attribute("cy"))
    assert near[0] <= u <= near[0] + near[2]
    assert near[1] <= v <= near[1] + near[3]
    assert "full-0-1.jpg" in answered.get_attribute("svg image", "href")
    answered.focus(".window")
    answered.keyboard.press("+")
    assert view()[2] < near[2]
    answered.click("text=Whole picture")
    assert view() == whole


def test_a_touch_along_the_line_is_measured_again_and_can_be_taken_back(answered, shop):
    answered.click("text=Edge or line taken wrongly")
    answered.check("input[value=line]")
    box = answered.locator(".window").bounding_box()
    wide = float(answered.get_attribute("figure.viewer", "data-wide"))
    points = answered.get_attribute("svg .trace.line", "points").split()
    for at in (points[len(points) // 4], points[3 * len(points) // 4]):
        u, v = (float(part) * box["width"] / wide for part in at.split(","))
        answered.mouse.move(box["x"] + u, box["y"] + v)
        answered.mouse.down()
        assert answered.is_visible(".lens svg image")
        answered.mouse.up()
    assert answered.is_hidden(".lens")
    assert "Marked: 2 on the lap line." in answered.inner_text("form.point [role=status]")
    before = answered.url
    answered.click("form.point button[type=submit]")
    answered.wait_for_selector("article")
    answered.wait_for_selector("text=pointed out by hand")
    sound(answered, "measured again")
    answered.click("text=Take back what was pointed out")
    answered.wait_for_url(before)


def test_every_page_at_phone_and_laptop_size(browser, shop, answered):
    for size in (PHONE, LAPTOP):
        with let_in(browser, shop, size) as page:
            for path in [*EVERY, *LATER]:
                assert page.goto(shop.doors.here + path).status == 200, path
                sound(page, path)


def test_by_the_keyboard_alone(browser, shop):
    with let_in(browser, shop, LAPTOP) as page:
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        page.keyboard.press("Enter")
        for _ in range(30):
            page.keyboard.press("Tab")
            if "4 starboard" in page.evaluate("document.activeElement.textContent"):
                break
        assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
        page.keyboard.press("Enter")
        page.wait_for_url("**/plank?plank=4%20starboard")


def test_a_connection_lost_while_sending_loses_nothing_that_came(browser, tmp_path):
    with served(made_hull(tmp_path, HULL).path, target=pretended) as shop, let_in(browser, shop, PHONE) as page:
        page.goto(f"{shop.doors.here}/photograph?plank=4+port&kind=edge")
        page.set_input_files("#photos", [str(PLAIN), str(SHADOW)])
        lost = {"still": 2}

        def on_its_way(route):
            lost["still"] -= 1
            if lost["still"] == 0:
                route.abort("connectionreset")
            else:
                route.continue_()

        page.route("**/job/*/photo", on_its_way)
        page.click("button:has-text('Measure')")
        page.wait_for_selector("text=The connection to the laptop was lost")
        assert page.get_attribute("#trouble", "role") == "alert"
        sound(page, "lost")
        (job,) = [jobs.job(shop.db_path, 1)]
        assert (job.photos, job.state) == (("photo-1.jpg",), "open")
        page.click("text=Send the rest")
        page.wait_for_url("**/job/1")
        assert jobs.job(shop.db_path, 1).photos == ("photo-1.jpg", "photo-2.jpg")


def test_two_phones_at_once_and_a_restart_in_the_middle(browser, tmp_path):
    path = made_hull(tmp_path, HULL).path
    with served(path, target=pretended) as shop:
        port = shop.doors.port
        with let_in(browser, shop, PHONE) as one, let_in(browser, shop, PHONE, name="B. Builder") as other:
            for page, plank, note in ((one, "4 port", "hang"), (other, "4 starboard", "measure")):
                page.goto(f"{shop.doors.here}/photograph?plank={plank}&kind=edge")
                page.set_input_files("#photos", str(PLAIN))
                page.click("text=More to say")
                page.fill("#note", note)
                page.click("button:has-text('Measure')")
                page.wait_for_url(re.compile(r"/job/\d+$"))
            assert [job.who for job in jobs.in_hand(shop.db_path)] == ["B. Builder", "A. Builder"]
            other.wait_for_selector("text=waiting for others")
            one.context.set_offline(True)
            one.wait_for_selector("text=The laptop cannot be reached")
            one.context.set_offline(False)
    with served(path, port=port, target=pretended) as shop, let_in(browser, shop, PHONE) as page:
        page.goto(f"{shop.doors.here}/job/1")
        page.wait_for_selector("text=measuring 1 photograph")
        page.click("text=Stop")
        page.wait_for_url("**/plank?plank=4+port")
        page.goto(f"{shop.doors.here}/job/2")
        page.wait_for_selector("text=/What was shown|measured/")
    assert (jobs.job(shop.db_path, 1).state, jobs.job(shop.db_path, 2).state) == ("cancelled", "measured")


def test_markup_in_a_note_stays_text(browser, shop, answered):
    with let_in(browser, shop, PHONE, name="<img src=x>") as page:
        assert "<img src=x>" in page.inner_text("header")
        assert page.locator("img[src=x]").count() == 0
