"""The page on a shop's network: who is let in, what other sites and other hands cannot do."""

from __future__ import annotations

import re
import stat
import time

import pytest
from starlette.routing import Route

from fitcheck.fitlog.recording import record
from fitcheck.ground.refusal import WrongCall
from fitcheck.page.doors import doors_of, opened, own_addresses
from fitcheck.page.guard import MOST_FORM_BYTES
from fitcheck.page.keys import STAYS_S, Keys, keys_in
from fitcheck.page.site import routes
from tests.fitlog.made import measured
from tests.page.phone import HERE, Phone, made_shop, text_of

#: One address of every route, its parts filled in.
READ = [re.sub(r"\{[^}]*\}", "1", one.path) for one in routes() if "GET" in (one.methods or ())]
SENT = [re.sub(r"\{[^}]*\}", "1", one.path) for one in routes() if "POST" in (one.methods or ())]
INSIDE = [path for path in READ if not path.startswith(("/enter", "/static/"))]


@pytest.fixture
def shop(tmp_path):
    return made_shop(tmp_path)


@pytest.mark.parametrize("path", [*INSIDE, "/enter"])
def test_without_the_key_there_is_no_page(shop, path):
    answer = Phone(shop, let_in=False).get(path)
    assert answer.status_code == 403
    assert "Invented dinghy" not in answer.text
    assert "Scan the QR code" in answer.text


@pytest.mark.parametrize("key", ["", "a", "0" * 32, "é", "\udcff", "' or 1=1"])
def test_a_wrong_key_lets_no_one_in(shop, key):
    phone = Phone(shop, let_in=False)
    answer = phone.client.get("/enter", params={"key": key.encode("utf-8", "replace").decode()})
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_the_key_is_changed_for_a_cookie_that_no_script_and_no_other_site_gets(shop):
    phone = Phone(shop, let_in=False)
    answer = phone.get(f"/enter?key={shop.keys.key}")
    told = answer.headers["set-cookie"].lower()
    assert {"httponly", "samesite=strict", "path=/"} <= set(told.split("; "))
    assert "secure" not in told
    assert shop.keys.key not in answer.text
    assert phone.get("/").status_code == 200


def test_over_tls_the_cookie_is_kept_to_it(tmp_path):
    doors = doors_of(8714, lan=False, tls=(tmp_path / "cert", tmp_path / "key"))
    shop = made_shop(tmp_path)
    phone = Phone(type(shop)(shop.hull_path, shop.keys, doors), let_in=False)
    assert "; secure" in phone.get(f"/enter?key={shop.keys.key}").headers["set-cookie"].lower()


@pytest.mark.parametrize(
    "cookie", ["", "a", "a.b.c", "a.0.", "..", "é.0.0", "{name}.1.{mark}", "{name}.99999999999.{mark}"]
)
def test_a_cookie_of_ones_own_making_lets_no_one_in(shop, cookie):
    name, _, mark = shop.keys.new_session().split(".")
    phone = Phone(shop, let_in=False)
    header = f"{shop.cookie}={cookie.format(name=name, mark=mark)}".encode()
    assert phone.get("/", headers={b"cookie": header}).status_code == 403


def test_a_cookie_holds_for_thirty_days_and_for_this_secret_alone():
    keys, now_s = Keys(b"a" * 32), time.time()
    cookie = keys.new_session(now_s)
    assert keys.session_of(cookie, now_s + STAYS_S - 1)
    assert keys.session_of(cookie, now_s + STAYS_S) is None
    assert Keys(b"b" * 32).session_of(cookie, now_s) is None


def test_the_secret_outlives_a_restart_and_its_owner_alone_reads_it(tmp_path):
    folder = tmp_path / "page"
    first, second = keys_in(folder), keys_in(folder)
    assert (first.secret, stat.S_IMODE((folder / "secret").stat().st_mode)) == (second.secret, 0o600)
    assert first.key != second.key
    assert keys_in(folder, forget=True).secret != first.secret
    assert [path.name for path in folder.iterdir()] == ["secret"]


def test_a_secret_cut_short_is_not_used(tmp_path):
    (tmp_path / "secret").write_bytes(b"short")
    with pytest.raises(WrongCall, match="is not the page's secret"):
        keys_in(tmp_path)


@pytest.mark.parametrize("path", SENT)
@pytest.mark.parametrize(
    ("headers", "mark"),
    [
        ({"origin": "http://elsewhere.example"}, True),
        ({"origin": "null"}, True),
        ({}, True),
        ({"origin": HERE, "sec-fetch-site": "cross-site"}, True),
        ({"origin": "http://127.0.0.1:9"}, True),
        ({"origin": HERE}, False),
    ],
)
def test_no_other_site_sends_a_form(shop, path, headers, mark):
    phone = Phone(shop)
    fields = {"mark": phone.mark if mark else "0" * 64, "plank": "4 port", "name": "Mallory"}
    answer = phone.client.post(path, data=fields, headers=headers)
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_the_mark_of_another_session_is_none(shop):
    phone, other = Phone(shop), Phone(shop)
    assert phone.mark != other.mark
    fields = {"mark": other.mark, "name": "Mallory"}
    assert phone.client.post("/who", data=fields, headers={"origin": HERE}).status_code == 403


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "127.0.0.1", "127.0.0.1:1", "localhost.:8714", "", "127.0.0.1:8714,a"]
)
def test_another_name_in_the_header_host_gets_nothing(shop, host):
    answer = Phone(shop).get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "Invented dinghy" not in answer.text


@pytest.mark.parametrize("path", [*READ, "/nowhere"])
def test_every_answer_says_what_a_browser_may_do_with_it(shop, path):
    phone = Phone(shop)
    for answer in (phone.get(path), Phone(shop, let_in=False).get(path)):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        # A sheet of the report has its style in itself; nothing in it can run or be sent.
        assert policy.count("unsafe") == policy.count("style-src 'unsafe-inline'")
        assert "unsafe" not in policy or ("sandbox" in policy and "script-src" not in policy and path == "/sheet")
        assert answer.headers["x-frame-options"] == "DENY"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize("path", [path for path in READ if not path.startswith(("/static/", "/sheet"))])
def test_no_page_asks_for_anything_outside_or_carries_a_script_or_a_style(shop, path):
    text = Phone(shop).get(path).text
    assert not re.search(r"""(?:src|href|action)=["']?(?:https?:)?//""", text)
    assert not re.search(r"<style|<script(?![^>]*\ssrc=)|\sstyle=|\son[a-z]+=|javascript:", text)


@pytest.mark.parametrize(
    "name",
    ["../shop.py", "..%2fshop.py", "%2e%2e/shop.py", "page.css/../../keys.py", "/etc/passwd", "page.css%00", "%2e%2e"],
)
def test_no_path_leads_out_of_the_files_that_pages_are_drawn_with(shop, name):
    answer = Phone(shop).get(f"/static/{name}")
    assert answer.status_code == 404
    assert "import" not in answer.text


def test_what_is_on_record_is_text_and_never_part_of_a_page(shop):
    bad = "<script>alert(1)</script><img src=x onerror=alert(1)>"
    record(measured(), db_path=shop.hull().db_path, plank="4 port", hull=shop.hull(), who=bad, note=bad)
    phone = Phone(shop, who="Mallory")
    for path in ("/", "/plank?plank=4+port", "/fit?plank=4+port", f"/plank?plank={bad}", "/enter"):
        text = phone.get(path).text
        assert "<script>alert" not in text
        assert "<img src=x" not in text
    assert "&lt;script&gt;alert(1)" in phone.get("/fit?plank=4+port").text


def test_a_name_of_markup_is_text(shop):
    phone = Phone(shop, who="<b>bold</b>")
    assert "&lt;b&gt;bold&lt;/b&gt;" in phone.get("/").text


def test_a_form_of_any_length_is_not_read(shop):
    phone = Phone(shop)
    assert phone.post("/who", name="x" * (MOST_FORM_BYTES + 1)).status_code == 413

    def unannounced():
        for _ in range(MOST_FORM_BYTES // 1000 + 2):
            yield b"x" * 1000

    headers = {"origin": HERE, "content-type": "application/x-www-form-urlencoded"}
    assert phone.client.post("/who", content=unannounced(), headers=headers).status_code == 413


def test_a_file_in_a_form_is_not_taken(shop):
    phone = Phone(shop)
    answer = phone.client.post("/who", data={"mark": phone.mark}, files={"name": b"file"}, headers={"origin": HERE})
    assert answer.status_code == 400


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_do_nothing(shop, method):
    assert Phone(shop).client.request(method, "/", headers={"origin": HERE}).status_code == 405


def test_the_door_is_on_this_computer_alone_unless_asked_for():
    with opened(0, lan=False) as door:
        assert door.getsockname()[0] == "127.0.0.1"
    with opened(0, lan=True) as door:
        assert door.getsockname()[0] == "0.0.0.0"
    assert doors_of(8714, lan=False).lan is None


def test_addresses_are_those_of_this_computer():
    assert all(not one.startswith("127.") for one in own_addresses())
    doors = doors_of(8714, lan=True, address="Shop.local")
    assert doors.lan == "http://shop.local:8714"
    assert "shop.local:8714" in doors.hosts


@pytest.mark.parametrize("address", ["", "a b", "http://a", "a/b", "a:1", "é"])
def test_what_is_no_address_is_a_wrong_call(address):
    with pytest.raises(WrongCall, match="--address"):
        doors_of(8714, lan=True, address=address)


def test_a_port_that_is_taken_is_told():
    with opened(0, lan=False) as door, pytest.raises(WrongCall, match="is the page running already"):
        opened(door.getsockname()[1], lan=False)


def test_a_name_is_asked_for_and_kept(shop):
    phone = Phone(shop, who="")
    assert "Who works with this phone?" in text_of(phone.get("/enter"))
    assert phone.post("/who", name="  Øyvind  B. ").status_code == 303
    assert "Øyvind B." in phone.get("/").text
    assert phone.post("/who", name=" ").status_code == 400
    assert phone.post("/who", name="x" * 61).status_code == 400


def test_every_route_is_one_of_the_two_kinds():
    assert all(isinstance(one, Route) and (one.methods or set()) <= {"GET", "HEAD", "POST"} for one in routes())
