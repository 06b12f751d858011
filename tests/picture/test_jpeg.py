"""JPEG files damaged inside are refused; those that are sound, however written, load as another decoder reads them.

OpenCV's decoder, which says nothing to the program, is the oracle for sound files. Parts of a JPEG: ITU-T T.81.
"""

from __future__ import annotations

import io
import os
import random
import time
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from fitcheck.ground.refusal import Refused
from fitcheck.one_photo.edge import measure_photo
from fitcheck.picture.jpeg import MOST_SCANS, decode_jpeg
from fitcheck.picture.jpeg_parts import DamagedPicture, read_jpeg_parts
from fitcheck.picture.photo import load_photo
from tests.samples import PLAIN, ROOT, SETTINGS, TEAL

#: A wrong pixel is off by more than this; less is no more than wood's own grain.
LEVELS = 6


@pytest.fixture(scope="module")
def picture() -> Image.Image:
    """A part of a photograph, so that every kind of file is small."""
    with Image.open(PLAIN) as whole:
        return whole.convert("RGB").crop((300, 400, 1100, 1000))


def written(picture: Image.Image, **how: object) -> bytes:
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", **{"quality": 92, **how})
    return buffer.getvalue()


KINDS: dict[str, dict[str, object]] = {
    "4:2:0": {"subsampling": 2},
    "4:2:2": {"subsampling": 1},
    "4:4:4": {"subsampling": 0},
    "progressive": {"progressive": True},
    "own tables": {"optimize": True},
    "restarts by rows": {"restart_marker_rows": 1},
    "restarts by blocks": {"restart_marker_blocks": 7},
    "red green blue": {"keep_rgb": True},
    "strongly compressed": {"quality": 30},
    "with a note": {"comment": b"\xff\xd9 strake 4 \xff\xda"},
    "with a preview": {"exif": b"Exif\0\0" + b"\xff\xd8\xff\xe0 a small picture \xff\xd9" * 9},
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_sound_file_of_any_kind_loads(kind: str, picture: Image.Image) -> None:
    same_as_the_oracle(written(picture, **KINDS[kind]))


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_a_sound_file_of_other_colours_loads(mode: str, picture: Image.Image) -> None:
    same_as_the_oracle(written(picture.convert(mode)))


def test_what_stands_about_the_picture_is_no_damage(picture: Image.Image) -> None:
    plain = written(picture)
    same_as_the_oracle(plain + b"\xff\xd8\xff\xe1 a second picture" * 30)  # as phones append
    same_as_the_oracle(plain[:2] + b"\xff\xff\xff" + plain[2:])  # fill bytes before a marker, T.81 B.1.1.2
    revision = plain.index(b"JFIF\0") + 5
    same_as_the_oracle(plain[:revision] + b"\x09\x77" + plain[revision + 2 :])


def same_as_the_oracle(data: bytes) -> None:
    oracle = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    assert np.abs(decode_jpeg(read_jpeg_parts(data)).astype(int) - oracle).max() <= 1


@pytest.mark.parametrize("kind", ["4:2:0", "4:4:4", "progressive", "restarts by rows"])
def test_what_still_loads_after_damage_is_as_it_was(kind: str, picture: Image.Image) -> None:
    """A wrong byte either is told or changes some blocks only: a speck, and not the picture from there on."""
    sound = written(picture, **KINDS[kind])
    before = decode_jpeg(read_jpeg_parts(sound)).astype(int)
    draw, refused, wrong = random.Random(4), 0, []
    for _ in range(90):
        data = bytearray(sound)
        data[draw.randrange(700, len(data) - 2)] ^= 1 << draw.randrange(8)
        try:
            after = decode_jpeg(read_jpeg_parts(bytes(data)))
        except DamagedPicture:
            refused += 1
        else:
            wrong.append(float((np.abs(after - before).max(axis=2) > LEVELS).mean()))
    assert refused > 10
    # After damage to a coding that begins afresh each row the rest of that row, 16 of 600, may be wrong.
    assert np.mean(np.array(wrong) > (0.032 if "restarts" in kind else 0.01)) < 0.06


@pytest.mark.parametrize("levels", [-40, -8, 8, 40])
def test_a_picture_shifted_from_one_place_on_is_told(levels: int, picture: Image.Image) -> None:
    pixels = np.asarray(picture)[:, :, ::-1].astype(int)
    units = pixels[:592].reshape(37, 16, 50, 16, 3).swapaxes(1, 2).reshape(-1, 16, 16, 3).copy()
    units[50 * 12 + 31 :] += levels
    whole = units.reshape(37, 50, 16, 16, 3).swapaxes(1, 2).reshape(592, 800, 3)
    shifted = np.clip(whole, 0, 255).astype(np.uint8)
    data = written(Image.fromarray(shifted[:, :, ::-1]), subsampling=2, quality=97)
    with pytest.raises(DamagedPicture, match="from one place on"):
        decode_jpeg(read_jpeg_parts(data))


def test_level_edges_are_no_damage(picture: Image.Image) -> None:
    """A plank's edge drawn dead level, a row above and below and on the rim of a row of units."""
    for row in range(302, 308):
        light = np.where(np.arange(600) < row, 90, 150).astype(np.uint8)
        pixels = np.repeat(np.repeat(light[:, None, None], 800, axis=1), 3, axis=2)
        for blurred in (pixels, cv2.GaussianBlur(pixels, (1, 7), 0.8)):
            assert decode_jpeg(read_jpeg_parts(written(Image.fromarray(blurred)))).shape == (600, 800, 3)


def test_parts_that_do_not_follow_one_another_are_damage(picture: Image.Image) -> None:
    sound = written(picture)
    tables = sound.index(b"\xff\xdb")
    for wrong in (
        sound[:tables] + b"\0\0" + sound[tables:],
        sound[: tables + 2] + b"\0\1" + sound[tables + 4 :],
        sound[: tables + 2] + b"\xff\xff" + sound[tables + 4 :],
        sound[:2] + sound[-2:],
    ):
        with pytest.raises(DamagedPicture):
            read_jpeg_parts(wrong)


def bomb(picture: Image.Image, scans: int) -> bytes:
    """A progressive picture whose last scan is asked for again and again."""
    sound = written(picture, progressive=True)
    last = sound.rindex(b"\xff\xda")
    return sound[:-2] + sound[last:-2] * scans + sound[-2:]


def test_a_picture_of_endless_scans_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "bomb.jpg"
    path.write_bytes(bomb(Image.new("RGB", (9000, 6000), (120, 130, 90)), 300))
    start = time.process_time()
    with pytest.raises(Refused) as refused:
        load_photo(path)
    assert refused.value.reason.code == "photo-huge"
    assert time.process_time() - start < 1.0
    assert read_jpeg_parts(path.read_bytes()).scans > MOST_SCANS


def test_a_picture_of_another_size_than_the_camera_s_is_not_decoded(tmp_path: Path) -> None:
    """Its coded data are damaged; yet what is told is its size, so they were not looked at."""
    sound = written(Image.new("RGB", (640, 480), (120, 130, 90)))
    path = tmp_path / "other.jpg"
    path.write_bytes(sound[:-40] + b"\xa5" * 38 + sound[-2:])
    with pytest.raises(Refused, match="damaged"):
        load_photo(path)
    assert load_photo(path, size_px=(2048, 1536)).pixels.size == 0
    assert load_photo(path, size_px=(2048, 1536)).size_px == (640, 480)


def test_a_photograph_damaged_inside_is_refused_by_measure(tmp_path: Path) -> None:
    data = bytearray(PLAIN.read_bytes())
    data[len(data) // 2 : len(data) // 2 + 60] = bytes(60)
    path = tmp_path / "fit.jpg"
    path.write_bytes(data)
    measured = measure_photo(path, TEAL, SETTINGS)
    assert [reason.code for reason in measured.reasons] == ["photo-damaged"]


@pytest.mark.skipif(os.environ.get("FITCHECK_PHOTOS") is None, reason="FITCHECK_PHOTOS is not set")
def test_every_given_photograph_is_sound() -> None:
    photos = Path(os.environ["FITCHECK_PHOTOS"])
    folders = (photos, photos.parent / "outside", ROOT / "sample_images")
    paths = [path for folder in folders for path in folder.glob("*/*.jpg")]
    assert len(paths) > 100
    for path in paths:
        assert load_photo(path).pixels.size
