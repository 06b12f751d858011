"""Whatever is asked of the page, it answers: never an error of its own, never anything but what may be asked."""

from __future__ import annotations

import re
import string

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.page.site import routes
from tests.page.phone import HERE, Phone, made_shop
from tests.page.test_hull_pages import PLANE, recorded
from tests.page.test_receiving import opened, picture, sent

READ = sorted({one.path for one in routes() if "GET" in (one.methods or ())})
SENT = sorted({one.path for one in routes() if "POST" in (one.methods or ()) and not one.path.endswith("/photo")})
FIELDS = [
    *("plank", "fit", "old", "new", "kind", "at", "reference", "size", "keel", "note", "name", "from", "to", "depth"),
    *("blade", "went", "one", "why", "sure", "overrule", "photo", "edge_at", "line_at", "done", "of", "key", "lap"),
]
#: What could be meant, what could be a slip, and what is neither.
VALUES = st.one_of(
    st.sampled_from(
        [
            "4 port",
            "4p",
            "5 port fore",
            "1",
            "2",
            "3ft",
            "1/2in",
            "0.1mm",
            "edge",
            "gap",
            "other",
            "id1",
            "in",
            "not",
            "yes",
        ]
    ),
    st.sampled_from(["fit 1", "cut 1", "feeler 1", "10,20 30,40", "photo-1.jpg", "down", "same", "station", "88x50mm"]),
    st.sampled_from(["-1", "1e999", "nan", "inf", "9" * 40, "../..", "%00", "\x00", "<b>", "';--", "²", "1e308,1e308"]),
    st.text(max_size=40),
    st.text(string.digits + " ./-'\"inftm,", max_size=20),
)
ANSWERS = {200, 303, 400, 403, 404, 405, 409}
MANY = settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@pytest.fixture(scope="module")
def phone(tmp_path_factory):
    """A phone let in at a hull with two fits, a job that waits and one that is open."""
    shop = made_shop(tmp_path_factory.mktemp("any"))
    recorded(shop, 2.0, planing=PLANE)
    recorded(shop, 0.0)
    phone = Phone(shop)
    for send in (True, False):
        job_id = opened(phone)
        sent(phone, job_id, picture())
        if send:
            phone.post(f"/job/{job_id}/send")
    return phone


def filled(path, part):
    return re.sub(r"\{[^}]*\}", lambda found: str(part.get(found[0], "1")), path)


parts = st.fixed_dictionaries(
    {
        "{job:int}": st.sampled_from([1, 2, 3, 0, 10**30]),
        "{name}": st.sampled_from(["page.css", "full-0-1.jpg", "%2e%2e", "é"]),
    }
)
fields = st.dictionaries(st.sampled_from(FIELDS), VALUES, max_size=8)


@MANY
@given(path=st.sampled_from(READ), part=parts, told=fields)
def test_every_page_answers(phone, path, part, told):
    answer = phone.client.get(filled(path, part), params={name: _sendable(value) for name, value in told.items()})
    assert answer.status_code in ANSWERS, (path, told, answer.text[:500])


@MANY
@given(path=st.sampled_from(SENT), part=parts, told=fields)
def test_every_form_answers(phone, path, part, told):
    answer = phone.post(filled(path, part), **{name: _sendable(value) for name, value in told.items()})
    assert answer.status_code in ANSWERS, (path, told, answer.text[:500])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    body=st.binary(max_size=300),
    kind=st.sampled_from(
        [
            "application/x-www-form-urlencoded",
            "multipart/form-data",
            "multipart/form-data; boundary=a",
            "text/plain",
            "",
        ]
    ),
)
def test_what_is_no_form_is_answered(phone, body, kind):
    headers = {"origin": HERE, **({"content-type": kind} if kind else {})}
    assert phone.client.post("/who", content=body, headers=headers).status_code in ANSWERS


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(body=st.one_of(st.binary(max_size=400), st.binary(max_size=60).map(lambda tail: picture()[:200] + tail)))
def test_whatever_is_sent_as_a_photograph_is_answered(phone, body):
    phone.client.app.app.state.rates.__init__()
    assert sent(phone, 2, body).status_code in {200, 400}


def _sendable(text):
    return text.encode("utf-8", "replace").decode("utf-8")
