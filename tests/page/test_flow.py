"""From a photograph to its answer and onto the record, with the real measuring, as requests without a browser."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing

import pytest

from fitcheck.fitlog import queries
from fitcheck.fitlog.chain import check
from fitcheck.fitlog.store import reading
from fitcheck.hull.plank_name import PlankName
from fitcheck.page import jobs
from tests.page.measured_hull import NOTE, done
from tests.page.phone import text_of
from tests.page.test_receiving import opened, picture, sent
from tests.samples import PLAIN

FOUR = PlankName(4, "port")


@pytest.fixture
def served(measured):
    """The page with its line at work, and a phone that is let in."""
    return measured.shop, measured.phone


@pytest.fixture
def measured_job(measured):
    """A photograph of 4 port sent and measured: the job's number and its page."""
    return measured.edge, measured.phone.get(f"/job/{measured.edge}")


def answered(phone, job_id):
    """The job's page once there is an answer."""
    assert phone.post(f"/job/{job_id}/send").status_code == 303
    return done(phone, job_id)


def test_the_answer_says_what_to_do_in_the_report_s_words(served, measured_job):
    shop, phone = served
    job_id, page = measured_job
    said = text_of(page)
    found = json.loads((shop.job_folder(job_id) / "answer.json").read_bytes())["answers"][0]
    assert found["measured"]
    assert found["headline"] in said
    assert found["asks"] in said
    assert found["worst"]["edge"].replace(" in", "\u00a0in").split("\u00a0")[0] in said
    assert "Recorded as fit 1 of 4 port" in said
    assert 'class="trace edge"' in page.text
    assert 'class="trace line"' in page.text
    assert f"/job/{job_id}/picture/full-0-1.jpg" in page.text
    assert phone.get(f"/job/{job_id}/picture/small-0-1.jpg").headers["content-type"] == "image/jpeg"


def test_the_same_is_on_record_as_from_the_command_line(served, measured_job):
    shop, _ = served
    with reading(shop.db_path) as connection:
        fit = queries.fit(connection, FOUR)
        assert (fit.number, fit.who, fit.note) == (1, "A. Builder", NOTE)
        ((frame, samples),) = queries.edge_takes(connection, fit.id)
        assert frame == "plank"
        assert len(samples) > 50
        assert check(connection) == []


def test_the_worst_place_lies_on_the_drawn_edge(served, measured_job):
    shop, _ = served
    found = json.loads((shop.job_folder(measured_job[0]) / "answer.json").read_bytes())["answers"][0]
    u, v = found["worst"]["at_px"]
    (photo,) = found["photos"]
    gaps = [abs(u - at[0]) + abs(v - at[1]) for path in photo["edge"] for at in path]
    assert min(gaps) < 3
    assert 0 < u < photo["wide_px"]
    assert 0 < v < photo["high_px"]


def test_papers_to_print_come_after_the_answer(served, measured_job):
    _, phone = served
    answer = phone.get(f"/job/{measured_job[0]}/paper/report_ticket.pdf")
    assert answer.content.startswith(b"%PDF")
    assert "Ticket to print" in text_of(phone.get(f"/job/{measured_job[0]}"))


def test_a_refusal_says_what_was_seen_and_what_to_do(served, measured):
    shop, phone = served
    page = phone.get(f"/job/{measured.refused}")
    assert jobs.job(shop.db_path, measured.refused).state == "refused"
    said = text_of(page)
    assert "NOT MEASURED" in said
    assert 'role="alert"' in page.text
    assert " --" not in said
    assert "no fit of plank" in text_of(phone.get("/fit?plank=6+port"))


def test_the_same_photograph_again_is_on_record_once(served, measured_job):
    """As after a crash between recording and telling of it, or a phone that sends twice."""
    shop, phone = served
    job_id = opened(phone, at="3ft", note=NOTE)
    sent(phone, job_id, PLAIN.read_bytes())
    assert "On record already as fit 1 of 4 port" in text_of(answered(phone, job_id))
    with closing(sqlite3.connect(shop.db_path)) as connection:
        takes = connection.execute("SELECT count(*) FROM takes WHERE kind = 'edge'").fetchone()[0]
    assert takes == 1


def test_a_job_that_cannot_be_is_told_with_the_reason(served):
    shop, phone = served
    job_id = opened(phone, at="90ft")
    sent(phone, job_id, picture())
    page = answered(phone, job_id)
    assert jobs.job(shop.db_path, job_id).state == "failed"
    assert "beyond" in text_of(page)
    assert "Place" in text_of(page)


def test_what_was_shown_may_be_cleared_and_the_record_stands(served, measured_job):
    shop, phone = served
    path = shop.job_folder(measured_job[0]) / "answer.json"
    kept = path.read_bytes()
    path.unlink()
    try:
        assert "on record of the plank stands" in text_of(phone.get(f"/job/{measured_job[0]}"))
    finally:
        path.write_bytes(kept)
    assert "fit 1" in text_of(phone.get("/plank?plank=4+port"))


def test_a_finger_on_the_line_is_measured_again_said_and_taken_back(served, measured_job):
    """The photograph's own line pointed at: the answer joins the same fit, says so on record, and can be undone."""
    shop, phone = served
    job_id, _ = measured_job
    (photo,) = json.loads((shop.job_folder(job_id) / "answer.json").read_bytes())["answers"][0]["photos"]
    path = max(photo["line"], key=len)
    pointed = " ".join(f"{u},{v}" for u, v in (path[len(path) // 4], path[3 * len(path) // 4]))
    answer = phone.post(f"/job/{job_id}/again", photo="photo-1.jpg", line_at=pointed)
    assert answer.status_code == 303
    again = int(answer.headers["location"].rsplit("/", 1)[1])
    page = answered(phone, again)
    assert "pointed out by hand" in text_of(page)
    assert "Recorded as fit 1 of 4 port" in text_of(page)
    assert flags_on_record(shop) == {"by-hand"}
    assert phone.post(f"/job/{again}/undo").headers["location"] == f"/job/{job_id}"
    assert flags_on_record(shop) == set()
    assert phone.post(f"/job/{again}/undo").status_code == 400


def flags_on_record(shop):
    """Whether the places that count were pointed out by hand, by their flags."""
    with reading(shop.db_path) as connection:
        assert check(connection) == []
        rows = connection.execute(
            "SELECT s.flags FROM samples s JOIN standing_takes t ON t.id = s.take_id JOIN fits f ON f.id = t.fit_id"
            " JOIN planks p ON p.id = f.plank_id WHERE p.strake = 4 AND s.past_line_mm IS NOT NULL"
        ).fetchall()
        assert len(rows) > 50
        return {flag for row in rows for flag in json.loads(row["flags"]) if flag == "by-hand"}


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, "nothing was pointed at"),
        ({"line_at": "1"}, "two numbers"),
        ({"line_at": "a,b"}, "two numbers"),
        ({"line_at": "nan,1"}, "two numbers"),
        ({"edge_at": "1,2 " * 41}, "at most 40"),
        ({"keel": "sideways"}, "down or up"),
        ({"photo": "../secret", "line_at": "1,2"}, "not among those"),
    ],
)
def test_what_is_no_pointing_is_told(served, measured_job, told, said):
    answer = served[1].post(f"/job/{measured_job[0]}/again", **{"photo": "photo-1.jpg", **told})
    assert answer.status_code == 400
    assert said in text_of(answer)
