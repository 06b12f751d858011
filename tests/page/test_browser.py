"""The flows in a real Chromium, at phone and at laptop size; answers are of photographs that were really measured."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time

import pytest

from fitcheck.page import jobs
from tests.fitlog.made import made_hull
from tests.page.browser import PHONE, let_in, served
from tests.page.checks import clash, fits, sound
from tests.page.measured_hull import HULL
from tests.page.pretended import pretended
from tests.page.test_line import sent, until
from tests.samples import PLAIN, ROOT, SHADOW

EVERY = [
    *("/", "/enter", "/phone", "/plank?plank=4+port", "/plank?plank=6+port", "/settings"),
    *("/photograph?plank=4+port&kind=edge", "/photograph?plank=4+port&kind=gap"),
    *("/by-hand?plank=4+port", "/sign?plank=4+port", "/fit?plank=4+port&fit=1"),
    *("/beside?plank=4+port", "/twin?plank=4+port"),
]


@pytest.fixture
def answer(phone, shop_in_browser, measured):
    """The answer of 4 port's edge on the phone, as it was measured."""
    phone.goto(f"{shop_in_browser.doors.here}/job/{measured.edge}")
    phone.wait_for_selector("article")
    return phone


def test_from_the_list_to_the_job_with_a_thumb(phone, shop_in_browser):
    phone.goto(shop_in_browser.doors.here)
    phone.click("text=4 port")
    phone.click("text=The edge, square-on")
    phone.set_input_files("#photos", str(PLAIN))
    assert phone.inner_text("#chosen") == "1 photograph chosen."
    phone.fill("#at", "3ft")
    phone.click("button:has-text('Measure')")
    phone.wait_for_url("**/job/*")
    phone.wait_for_selector("text=/What was shown of these|measuring/")
    job = jobs.job(shop_in_browser.db_path, int(phone.url.rpartition("/")[2]))
    assert (job.plank, job.kind, job.told["at"], job.photos) == ("4 port", "edge", "3ft", ("photo-1.jpg",))


def test_the_answer_on_the_phone(answer):
    assert answer.inner_text("h1") in ("PLANE", "GOOD", "LOOK AGAIN", "SHORT", "SLIDE FIRST", "RECUT")
    assert "Recorded as fit 1 of 4 port" in answer.inner_text("main")
    assert answer.locator("svg .trace.edge").count() >= 1
    assert clash(answer) == []


def test_the_picture_is_enlarged_at_the_worst_place_and_by_keys(answer):
    def view():
        return [float(part) for part in answer.get_attribute("figure .window > svg", "viewBox").split()]

    whole = view()
    answer.click("text=Worst place")
    near = view()
    assert near[2] == pytest.approx(whole[2] / 6)
    ring = answer.locator("circle.worst")
    u, v = float(ring.get_attribute("cx")), float(ring.get_attribute("cy"))
    assert near[0] <= u <= near[0] + near[2]
    assert near[1] <= v <= near[1] + near[3]
    assert "full-0-1.jpg" in answer.get_attribute("svg image", "href")
    answer.focus(".window")
    answer.keyboard.press("+")
    assert view()[2] < near[2]
    answer.click("text=Whole picture")
    assert view() == whole


def test_what_a_finger_touches_along_the_line_is_what_is_measured_again(answer, shop_in_browser):
    """That it is then measured so, said and taken back is tested with the real measuring."""
    answer.click("text=Edge or line taken wrongly")
    answer.check("input[value=line]")
    box = answer.locator(".window").bounding_box()
    wide = float(answer.get_attribute("figure.viewer", "data-wide"))
    points = answer.get_attribute("svg .trace.line", "points").split()
    touched = [points[len(points) // 4], points[3 * len(points) // 4]]
    for at in touched:
        u, v = (float(part) * box["width"] / wide for part in at.split(","))
        answer.mouse.move(box["x"] + u, box["y"] + v)
        answer.mouse.down()
        assert answer.is_visible(".lens svg image")
        answer.mouse.up()
    assert answer.is_hidden(".lens")
    assert "Marked: 2 on the lap line." in answer.inner_text("form.point [role=status]")
    sound(answer, "pointing")
    before = answer.url
    answer.click("form.point button[type=submit]")
    answer.wait_for_url(lambda url: url != before)
    job = jobs.job(shop_in_browser.db_path, int(answer.url.rpartition("/")[2]))
    assert job.told["pointed"] is True
    for (u, v), at in zip(job.told["line_at"], touched, strict=True):
        assert [u, v] == pytest.approx([float(part) for part in at.split(",")], abs=1.5 * wide / box["width"])


def test_every_page_at_phone_and_laptop_size(phone, laptop, shop_in_browser, measured):
    """The checker reads what a screen reader meets, which is the same at both sizes."""
    answers = [one for one in (measured.edge, measured.refused, measured.edge_on) if one is not None]
    for path in [*EVERY, *(f"/job/{one}" for one in answers)]:
        assert phone.goto(shop_in_browser.doors.here + path).status == 200, path
        sound(phone, path)
        assert laptop.goto(shop_in_browser.doors.here + path).status == 200, path
        fits(laptop, path)


@pytest.mark.parametrize("state", ["open", "failed", "cancelled"])
def test_a_job_s_page_in_every_state(phone, shop_in_browser, state):
    job_id = jobs.open_job(shop_in_browser.db_path, plank="4 port", kind="edge", who=None, told={})
    if state != "open":
        jobs.change(shop_in_browser.db_path, job_id, to=state, among=("open",), said="cannot be measured so")
    assert phone.goto(f"{shop_in_browser.doors.here}/job/{job_id}").status == 200
    sound(phone, state)


def test_by_the_keyboard_alone(laptop, shop_in_browser):
    laptop.goto(shop_in_browser.doors.here)
    laptop.keyboard.press("Tab")
    assert laptop.evaluate("document.activeElement.className") == "skip"
    laptop.keyboard.press("Enter")
    for _ in range(30):
        laptop.keyboard.press("Tab")
        if "4 starboard" in laptop.evaluate("document.activeElement.textContent"):
            break
    assert laptop.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    laptop.keyboard.press("Enter")
    laptop.wait_for_url("**/plank?plank=4%20starboard")


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
            sound(one, "measuring")
            sound(other, "waiting")
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


def test_a_page_that_is_killed_with_a_job_in_hand_loses_nothing_and_does_it_once(tmp_path):
    """The page's process and what measures beside it end with no word; the page that is started next takes it up."""
    hull = made_hull(tmp_path, HULL)
    code = (
        "import sys, time; from pathlib import Path; from tests.page.browser import served;"
        "from tests.page.pretended import pretended\n"
        "with served(Path(sys.argv[1]), target=pretended): time.sleep(600)"
    )
    first, second = (sent(hull, note) for note in ("slow", ""))
    page = subprocess.Popen(
        [sys.executable, "-c", code, str(hull.path)], cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    try:
        until(hull, first, "measuring", seconds=120)
        time.sleep(0.5)
    finally:
        page.send_signal(signal.SIGKILL)
        page.wait()
    assert {job.id: job.state for job in jobs.in_hand(hull.db_path)} == {first: "measuring", second: "waiting"}
    with served(hull.path, target=pretended) as shop:
        for job_id in (first, second):
            until(hull, job_id, "measured", seconds=120)
            assert (shop.job_folder(job_id) / "recorded").read_text() == "+"


def test_markup_in_a_note_stays_text(browser, shop_in_browser):
    with let_in(browser, shop_in_browser, PHONE, name="<img src=x>") as page:
        assert "<img src=x>" in page.inner_text("header")
        assert page.locator("img[src=x]").count() == 0
