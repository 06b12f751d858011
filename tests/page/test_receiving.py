"""Photographs as they come: within bounds, known by their content, without what they tell of people and places."""

from __future__ import annotations

import asyncio
import gc
import io
import os
import struct
import zlib
from concurrent.futures import ThreadPoolExecutor

import pytest
from PIL import Image

from fitcheck.page import jobs
from fitcheck.page.receiving import MOST_A_MINUTE, MOST_PHOTOS
from tests.page.phone import HERE, Phone, made_shop
from tests.samples import PLAIN, retagged


@pytest.fixture
def shop(tmp_path):
    return made_shop(tmp_path)


def opened(phone, **told):
    answer = phone.post("/open", **{"plank": "4 port", "kind": "edge", **told})
    assert answer.status_code == 200, answer.text
    return answer.json()["job"]


def sent(phone, job_id, data, **headers):
    told = {"origin": HERE, "x-fitcheck-form": phone.mark, "content-type": "application/octet-stream", **headers}
    return phone.client.post(f"/job/{job_id}/photo", content=data, headers=told)


def picture(kind="JPEG", size=(400, 300), shade=90):
    held = io.BytesIO()
    Image.new("RGB", size, (shade, shade, shade)).save(held, kind)
    return held.getvalue()


def files(shop, job_id):
    return sorted(path.name for path in shop.job_folder(job_id).iterdir())


def test_photographs_are_kept_under_names_of_our_own(shop):
    phone = Phone(shop)
    job_id = opened(phone)
    assert sent(phone, job_id, picture()).json() == {"name": "photo-1.jpg"}
    assert sent(phone, job_id, picture("PNG")).json() == {"name": "photo-2.png"}
    assert files(shop, job_id) == ["photo-1.jpg", "photo-2.png"]
    assert jobs.job(shop.db_path, job_id).who == "A. Builder"


def test_a_photograph_of_a_phone_is_taken_as_heic(shop, tmp_path):
    import pillow_heif

    held = io.BytesIO()
    pillow_heif.from_pillow(Image.new("RGB", (400, 300), (90, 90, 90))).save(held)
    phone = Phone(shop)
    assert sent(phone, opened(phone), held.getvalue()).json() == {"name": "photo-1.heic"}


def test_location_and_owner_are_gone_before_it_is_kept(shop, tmp_path):
    def told(exif):
        exif[0x013B] = "A. Owner"
        exif.get_ifd(0x8825).update({1: "N", 2: (59.0, 54.0, 37.5)})
        exif[0x8825] = exif.get_ifd(0x8825)

    source = retagged(PLAIN, tmp_path / "told.jpg", told)
    assert b"A. Owner" in source.read_bytes()
    phone = Phone(shop)
    job_id = opened(phone)
    assert sent(phone, job_id, source.read_bytes()).status_code == 200
    kept = shop.job_folder(job_id) / "photo-1.jpg"
    assert b"A. Owner" not in kept.read_bytes()
    with Image.open(kept) as photo, Image.open(PLAIN) as before:
        assert not photo.getexif().get_ifd(0x8825)
        assert photo.getexif()[0x0110] == before.getexif()[0x0110]
        assert photo.tobytes() == before.tobytes()


def _huge_png():
    """A PNG whose header promises more pixels than any camera has, in a few bytes."""

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    parts = [chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(b"")), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty file"),
        (b"<html><script>alert(1)</script>", "is not a JPEG, PNG or HEIC"),
        (b"%PDF-1.7", "is not a JPEG, PNG or HEIC"),
        (b"GIF89a" + bytes(100), "is not a JPEG, PNG or HEIC"),
        (picture()[:900], "is damaged"),
        (picture("PNG")[:-20], "is damaged"),
        (picture(size=(100, 100)), "only 100 x 100 pixels"),
        (_huge_png(), "over 120 megapixels"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(50), "is damaged"),
    ],
)
def test_what_is_no_photograph_is_told_and_not_kept(shop, data, said):
    phone = Phone(shop)
    job_id = opened(phone)
    answer = sent(phone, job_id, data, **{"content-type": "image/jpeg"})
    assert answer.status_code == 400
    assert said in answer.json()["trouble"]
    assert "photo 1 " in answer.json()["trouble"]
    assert files(shop, job_id) == []
    assert jobs.job(shop.db_path, job_id).photos == ()


def test_a_photograph_too_large_is_not_taken_in(tmp_path):
    shop = made_shop(tmp_path, most_photo_bytes=100_000)
    phone = Phone(shop)
    job_id = opened(phone)

    def unannounced():
        for _ in range(200):
            yield bytes(1000)

    assert sent(phone, job_id, bytes(100_001)).status_code == 413
    answer = sent(phone, job_id, unannounced())
    assert answer.status_code == 413
    assert "at most" in answer.json()["trouble"]
    assert files(shop, job_id) == []


def test_so_many_photographs_at_once_and_no_more(shop, monkeypatch):
    monkeypatch.setattr("fitcheck.page.receiving.MOST_PHOTOS", 2)
    phone = Phone(shop)
    job_id = opened(phone)
    for shade in (1, 2):
        assert sent(phone, job_id, picture(shade=shade)).status_code == 200
    assert "at most 2" in sent(phone, job_id, picture(shade=3)).json()["trouble"]
    assert MOST_PHOTOS == 40


def test_so_many_in_a_minute_and_no_more_of_one_phone(shop, monkeypatch):
    phone, other = Phone(shop), Phone(shop)
    job_id, others = opened(phone), opened(other)
    monkeypatch.setattr("fitcheck.page.receiving.MOST_A_MINUTE", 3)
    statuses = [sent(phone, job_id, picture(shade=shade)).status_code for shade in range(5)]
    assert statuses == [200, 200, 200, 429, 429]
    assert MOST_A_MINUTE > 50
    assert other.session != phone.session
    assert sent(other, others, picture()).status_code == 200


def test_a_phone_that_is_gone_leaves_nothing(shop):
    phone = Phone(shop)
    job_id = opened(phone)

    came, told = [{"type": "http.request", "body": picture()[:500], "more_body": True}, {"type": "http.disconnect"}], []

    async def receive():
        return came.pop(0)

    async def send(message):
        told.append(message)

    cookie = f"{shop.cookie}={phone.client.cookies[shop.cookie]}"
    headers = {"host": HERE.removeprefix("http://"), "origin": HERE, "x-fitcheck-form": phone.mark, "cookie": cookie}
    scope = {"type": "http", "method": "POST", "path": f"/job/{job_id}/photo", "query_string": b"", "root_path": ""}
    scope |= {"headers": [(name.encode(), value.encode()) for name, value in headers.items()]}
    # In a thread of its own: a browser that other tests share keeps this one's event loop.
    with ThreadPoolExecutor(1) as pool:
        pool.submit(asyncio.run, phone.client.app(scope, receive, send)).result()
    assert told[0]["status"] == 408
    assert files(shop, job_id) == []
    assert sent(phone, job_id, picture()).json() == {"name": "photo-1.jpg"}


def test_a_full_disk_is_told(shop, monkeypatch):
    monkeypatch.setattr("fitcheck.page.receiving.LEAST_FREE_BYTES", 10**18)
    phone = Phone(shop)
    answer = sent(phone, opened(phone), picture())
    assert "disk is nearly full" in answer.json()["trouble"]


@pytest.mark.parametrize(
    "headers", [{"x-fitcheck-form": "0" * 64}, {"x-fitcheck-form": ""}, {"origin": "http://a.example"}]
)
def test_no_other_site_sends_a_photograph(shop, headers):
    phone = Phone(shop)
    job_id = opened(phone)
    assert sent(phone, job_id, picture(), **headers).status_code == 403
    assert not shop.job_folder(job_id).exists()


def test_without_the_key_no_photograph_is_taken(shop):
    phone = Phone(shop)
    job_id = opened(phone)
    assert sent(Phone(shop, let_in=False), job_id, picture()).status_code == 403


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"plank": "9 port"}, "strake 9"),
        ({"kind": "other"}, "edge-on"),
        ({"at": "3"}, "3"),
        ({"reference": "id9"}, "is not known"),
        ({"reference": "other", "size": "1x"}, "is not known"),
        ({"keel": "sideways"}, "the keel lies"),
    ],
)
def test_what_cannot_be_is_told_before_anything_is_sent(shop, told, said):
    phone = Phone(shop)
    answer = phone.post("/open", **{"plank": "4 port", "kind": "edge", **told})
    assert answer.status_code == 400
    assert said in answer.text


@pytest.mark.parametrize(
    "name", ["answer.json", "photo-1.jpg", "%2e%2e", "../secret", "..%2f..%2fsecret", "full-0-1.jpg", "full-0-1.jpg%00"]
)
def test_a_folder_of_a_job_gives_out_its_pictures_and_nothing_else(shop, name):
    phone = Phone(shop)
    job_id = opened(phone)
    sent(phone, job_id, picture())
    (shop.job_folder(job_id) / "answer.json").write_text("{}")
    for what in ("picture", "paper"):
        assert phone.get(f"/job/{job_id}/{what}/{name}").status_code == 404
    (shop.job_folder(job_id) / "small-0-1.jpg").write_bytes(picture())
    answer = phone.get(f"/job/{job_id}/picture/small-0-1.jpg")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/jpeg")


def test_fifty_photographs_in_a_row_leave_memory_as_it_was(shop):
    """The pages of this process at rest after ten photographs of 12 megapixels, and after forty more."""

    def at_rest_mb():
        gc.collect()
        with open("/proc/self/statm", encoding="ascii") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6

    phone, after_ten_mb = Phone(shop), 0.0
    for number in range(50):
        if number % 25 == 0:
            job_id = opened(phone)
        assert sent(phone, job_id, picture(size=(4000, 3000), shade=number)).status_code == 200
        if number == 9:
            after_ten_mb = at_rest_mb()
    assert at_rest_mb() - after_ten_mb < 25
    assert len(jobs.job(shop.db_path, job_id).photos) == 25
