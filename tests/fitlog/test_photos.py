"""The photograph that is kept is the one that was measured, without what it tells of people and places."""

from __future__ import annotations

import hashlib
import io
import sqlite3
from contextlib import closing
from types import SimpleNamespace

import cv2
import numpy as np
import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from fitcheck.fitlog.photos import photo_store
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.stripped import stripped
from fitcheck.ground.refusal import WrongCall
from fitcheck.picture.photo import load_photo
from tests.fitlog.made import made_hull, measured, photographs

#: Everything that must not be kept: invented, and nobody's.
SECRETS = [
    b"Nobody Atall",
    b"SER1AL-77",
    b"LENS-SER1AL",
    b"MAKERNOTE-77",
    b"secret remark",
    b"<x:xmpmeta",
    b"IPTC-PLACE",
]
SECRETS += [b"APPENDED-PREVIEW", b"2026:05:01"]  # the day the position was taken
LATITUDE = (57.0, 12.0, 34.567)


def facts() -> Image.Exif:
    """An EXIF block that tells where, who and with which device, besides what is needed."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112], exif[0x0132] = "Saltmarsh", "Teal 3", 6, "2026:04:30 08:15:00"
    exif[0x013B] = exif[0x8298] = "Nobody Atall"
    exif[0x010E] = "secret remark"
    exif[0x8825] = {1: "N", 2: LATITUDE, 3: "E", 4: (1.0, 2.0, 3.0), 29: "2026:05:01"}
    block = {0x9003: "2026:04:30 08:15:00", 0x920A: 5.7, 0xA405: 26, 0xA404: 1.0, 0xA434: "Teal wide lens"}
    block |= {0xA430: "Nobody Atall", 0xA431: "SER1AL-77", 0xA435: "LENS-SER1AL", 0x927C: b"MAKERNOTE-77"}
    exif[0x8769] = block | {0x9286: b"ASCII\0\0\0secret remark"}
    return exif


def picture() -> Image.Image:
    return Image.fromarray(np.random.default_rng(5).integers(0, 255, (300, 400, 3), np.uint8))


def jpeg(**options) -> bytes:
    held = io.BytesIO()
    picture().save(held, "JPEG", exif=facts(), quality=92, **options)
    data = held.getvalue()
    xmp = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta>Nobody Atall</x:xmpmeta>"
    extra = b"".join(
        b"\xff" + bytes([marker]) + (len(body) + 2).to_bytes(2, "big") + body
        for marker, body in ((0xE1, xmp), (0xED, b"Photoshop 3.0\0IPTC-PLACE"), (0xFE, b"secret remark"))
    )
    return data[:2] + extra + data[2:] + b"\xff\xd8\xffAPPENDED-PREVIEW Nobody Atall\xff\xd9"


def png() -> bytes:
    told = PngInfo()
    told.add_text("Author", "Nobody Atall")
    told.add_itxt("XML:com.adobe.xmp", "<x:xmpmeta>secret remark")
    held = io.BytesIO()
    picture().save(held, "PNG", exif=facts(), pnginfo=told)
    return held.getvalue() + b"APPENDED-PREVIEW"


def heic() -> bytes:
    pillow_heif = pytest.importorskip("pillow_heif")
    held = io.BytesIO()
    made = pillow_heif.from_pillow(picture())
    made.save(held, quality=80, exif=facts().tobytes(), xmp=b"<x:xmpmeta>Nobody Atall")
    video = b"APPENDED-PREVIEW SER1AL-77"
    return held.getvalue() + (8 + len(video)).to_bytes(4, "big") + b"mpvd" + video + b"MAKERNOTE-77 as a trailer"


KINDS = {
    "plain.jpg": jpeg,
    "progressive.jpg": lambda: jpeg(progressive=True, restart_marker_blocks=4),
    "p.png": png,
    "p.heic": heic,
}


@pytest.mark.parametrize("name", KINDS)
def test_location_owner_and_serial_are_gone_and_all_that_measures_stays(tmp_path, name):
    data = KINDS[name]()
    told = [secret for secret in SECRETS if secret in data]
    assert len(told) >= 4
    plain = stripped(data)
    assert [secret for secret in SECRETS if secret in plain] == []
    (tmp_path / name).write_bytes(data)
    before = load_photo(tmp_path / name)
    (tmp_path / name).write_bytes(plain)
    after = load_photo(tmp_path / name)
    assert np.array_equal(before.pixels, after.pixels)
    assert (after.orientation, after.size_stored_px) == (before.orientation, before.size_stored_px)
    assert (after.identity, after.taken) == (before.identity, before.taken)
    assert after.identity.model == "Teal 3"
    assert after.identity.focal_35mm_mm == 26
    with Image.open(io.BytesIO(plain)) if not name.endswith("heic") else _opened(plain) as seen:
        assert not dict(seen.getexif().get_ifd(0x8825))
    assert stripped(plain) == plain


def _opened(data):
    import pillow_heif

    pillow_heif.register_heif_opener()
    return Image.open(io.BytesIO(data))


def test_an_exif_block_that_is_damaged_or_absent_is_dropped():
    data = jpeg()
    at = data.index(b"Exif\0\0") + 6
    assert b"SER1AL-77" not in stripped(data[:at] + b"\xff" * 8 + data[at + 8 :])
    bare = io.BytesIO()
    picture().save(bare, "JPEG")
    assert stripped(bare.getvalue()) == bare.getvalue()


@pytest.mark.parametrize("name", KINDS)
def test_a_file_that_is_cut_off_or_mutated_is_followed_or_refused(name):
    """No mutation makes the stripping crash or keep what it was to take out of where it found it."""
    data, source = KINDS[name](), np.random.default_rng(7)
    for _ in range(200):
        harmed = bytearray(data[: source.integers(20, len(data))] if source.random() < 0.3 else data)
        for at in source.integers(0, min(len(harmed), 2500), 3):
            harmed[at] = source.integers(256)
        try:
            stripped(bytes(harmed))
        except ValueError:
            continue


def test_the_store_keeps_the_stripped_copy_and_the_digest_of_the_original(tmp_path):
    hull = made_hull(tmp_path)
    path = tmp_path / "card" / "p.jpg"
    path.parent.mkdir()
    path.write_bytes(jpeg())
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, photos=[path])
    (kept,) = photo_store(hull.db_path).glob("*/*.jpg")
    assert kept.read_bytes() == stripped(jpeg())
    assert kept.stem == hashlib.sha256(kept.read_bytes()).hexdigest()
    with closing(sqlite3.connect(hull.db_path)) as connection:
        digest, place = connection.execute("SELECT digest, place FROM photographs").fetchone()
    assert digest == hashlib.sha256(jpeg()).hexdigest()
    assert kept == photo_store(hull.db_path) / place


def test_what_is_measured_is_kept_though_the_file_has_changed_since(tmp_path):
    hull = made_hull(tmp_path)
    (path,) = photographs(tmp_path, "p.jpg", seed=1)
    loaded = SimpleNamespace(path=path, data=path.read_bytes())
    photographs(tmp_path, "p.jpg", seed=2)
    record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, photos=[loaded])
    (kept,) = photo_store(hull.db_path).glob("*/*.jpg")
    assert kept.read_bytes() == loaded.data != path.read_bytes()


def test_a_photograph_that_is_not_the_measured_one_is_not_kept_as_if_it_were(tmp_path):
    hull = made_hull(tmp_path)
    (path,) = photographs(tmp_path, "p.jpg", seed=1)
    told = measured() | {"photos": [{"name": "p.jpg", "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}]}
    photographs(tmp_path, "p.jpg", seed=2)
    with pytest.raises(WrongCall, match="is not the photograph that was measured"):
        record(told, db_path=hull.db_path, plank="4 port", hull=hull, photos=[path])
    photographs(tmp_path, "p.jpg", seed=1)
    assert record(told, db_path=hull.db_path, plank="4 port", hull=hull, photos=[path]).new


def test_a_loaded_photograph_is_looked_at_again_from_the_bytes_it_was_read_from(tmp_path):
    from dataclasses import replace

    path = tmp_path / "p.jpg"
    path.write_bytes(jpeg())
    photo = load_photo(path)
    cv2.imwrite(str(path), np.zeros((300, 400, 3), np.uint8))
    let_go = replace(photo, pixels=np.empty((0, 0, 3), np.uint8))
    assert np.array_equal(let_go.decoded(), photo.pixels)
    assert hashlib.sha256(photo.data).hexdigest() == photo.digest


def test_a_file_that_cannot_be_followed_is_left_where_it_is(tmp_path):
    hull = made_hull(tmp_path)
    path = tmp_path / "p.jpg"
    path.write_bytes(jpeg()[:2000])  # no end
    recorded = record(measured(), db_path=hull.db_path, plank="4 port", hull=hull, photos=[path])
    assert "left where it is" in recorded.warnings[0]
    assert not list(photo_store(hull.db_path).glob("*/*"))
