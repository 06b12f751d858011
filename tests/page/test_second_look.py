"""Where to stand for a second look: drawn and said where an answer is refused for edge, line or keel, or is wide."""

from __future__ import annotations

import json
import re

import pytest

from fitcheck.contract.codes import REFUSALS, WARNINGS, codes_of
from fitcheck.page import jobs
from fitcheck.page.edge_shown import SECOND_LOOK
from fitcheck.page.shop import ANSWER_SCHEMA
from fitcheck.page.work import request_of
from tests.page.phone import text_of
from tests.page.test_receiving import opened, picture, sent


def test_its_codes_are_those_of_the_program():
    assert set(codes_of(REFUSALS)) | set(codes_of(WARNINGS)) >= SECOND_LOOK


def test_a_line_that_is_hidden_asks_for_it(measured):
    assert measured.answer(measured.refused)["reasons"][0]["code"] in SECOND_LOOK
    page = measured.phone.get(f"/job/{measured.refused}")
    assert "with the camera about 8 in lower, nearer the keel" in text_of(page)
    assert "camera 2 stands 8 in lower, nearer the keel, and looks up" in page.text


def test_an_answer_that_is_sure_asks_for_none(measured):
    codes = {one.get("code") for one in measured.answer(measured.edge)["reasons"]}
    assert not codes
    assert "A second look" not in text_of(measured.phone.get(f"/job/{measured.edge}"))


@pytest.mark.parametrize(("keel", "words"), [("down", "lower"), ("up", "higher")])
def test_the_drawing_turns_with_the_hull(measured, keel, words):
    """Where the hull lies upside down the keel's side is above: the camera goes up, and so does the drawing."""
    shop, phone = measured.shop, measured.phone
    job_id = opened(phone, plank="6 starboard")
    sent(phone, job_id, picture(shade=120))
    answer = {**measured.answer(measured.refused), "keel": keel}
    told = {"schema": ANSWER_SCHEMA, "answers": [answer], "notes": [], "not_recorded": ""}
    (shop.job_folder(job_id) / "answer.json").write_text(json.dumps(told))
    jobs.change(shop.db_path, job_id, to="refused", among=("open",))
    page = phone.get(f"/job/{job_id}")
    assert f"about 8 in {words}, nearer the keel" in text_of(page)
    at = {name: float(y) for y, name in re.findall(r'<text x="\d+" y="(\d+)"[^>]*>([12])</text>', page.text)}
    assert (at["2"] > at["1"]) is (keel == "down")


def test_a_second_photograph_joins_the_first_and_what_was_said_of_it_holds_for_both(measured):
    shop, phone = measured.shop, measured.phone
    first = measured.refused
    page = phone.get(f"/job/{first}")
    (address,) = re.findall(r'href="(/photograph[^"]*more_of=\d+)"', page.text)
    said = text_of(phone.get(address.replace("&amp;", "&")))
    assert "measured together with the photograph you sent before" in said
    assert "What lies on the strake below" not in said
    answer = phone.post("/open", plank="6 port", kind="edge", more_of=str(first))
    job_id = answer.json()["job"]
    assert sent(phone, job_id, picture(shade=70)).json() == {"name": "photo-2.jpg"}
    before, both = jobs.job(shop.db_path, first), jobs.job(shop.db_path, job_id)
    assert both.photos == ("photo-1.jpg", "photo-2.jpg")
    assert both.told["reference"] == before.told["reference"] == "card-us"
    kept = [(shop.job_folder(one) / "photo-1.jpg").read_bytes() for one in (first, job_id)]
    assert kept[0] == kept[1]
    request = request_of(shop.hull(), both, shop.job_folder(job_id))
    assert [path.name for path in request.photos] == ["photo-1.jpg", "photo-2.jpg"]


@pytest.mark.parametrize(
    ("plank", "kind", "more_of"), [("4 port", "edge", "2"), ("6 port", "gap", "2"), ("6 port", "edge", "999")]
)
def test_photographs_of_another_lap_are_not_joined(measured, plank, kind, more_of):
    assert measured.refused == 2
    assert measured.phone.post("/open", plank=plank, kind=kind, more_of=more_of).status_code == 400
