"""Where to stand for a second look: drawn and said where an answer is refused for edge, line or keel, or is wide."""

from __future__ import annotations

import json
import re

import pytest

from fitcheck.contract.codes import REFUSALS, WARNINGS, codes_of
from fitcheck.page import jobs
from fitcheck.page.edge_shown import SECOND_LOOK
from fitcheck.page.shop import ANSWER_SCHEMA
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
