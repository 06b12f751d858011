"""Loading photographs: every orientation, every kind, and what must be refused.

Orientation: JEITA CP-3451 (EXIF), tag 0x0112; Pillow's ``ImageOps.exif_transpose`` is the oracle.
"""

from __future__ import annotations

import io
import os
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageOps

from fitcheck.fitlog.photos import take_in
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.picture.photo import load_photo

SIZE = (400, 280)


def scene() -> Image.Image:
    """A smooth picture in which every corner differs, so that any wrong turn shows."""
    u, v = np.meshgrid(np.linspace(0, 1, SIZE[0]), np.linspace(0, 1, SIZE[1]))
    return Image.fromarray((np.stack([u, v, u * v], axis=-1) * 240).astype(np.uint8))


def exif(orientation: int | None = None) -> Image.Exif:
    block = Image.Exif()
    block[0x010F], block[0x0110] = "Saltmarsh\0", "Teal 3"
    if orientation is not None:
        block[0x0112] = orientation
    block.get_ifd(0x8769).update({0x920A: 4.1, 0xA405: 28, 0x9003: "2026:11:15 14:20:00", 0xA434: "main"})
    return block


def saved(folder: Path, kind: str, orientation: int | None = 1) -> Path:
    path = folder / f"fit.{kind}"
    if kind == "heic":
        import pillow_heif

        pillow_heif.from_pillow(scene()).save(path, quality=95, exif=exif(orientation).tobytes())
    else:
        scene().save(path, exif=exif(orientation), **({"quality": 97} if kind == "jpg" else {}))
    return path


@pytest.mark.parametrize("kind", ["jpg", "png"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_pixels_stand_as_a_person_sees_them(tmp_path: Path, kind: str, orientation: int) -> None:
    path = saved(tmp_path, kind, orientation)
    photo = load_photo(path)
    upright = np.asarray(ImageOps.exif_transpose(Image.open(path)).convert("RGB")).astype(int)
    assert np.abs(photo.pixels[:, :, ::-1] - upright).max() <= 2  # JPEG decoders may differ by a level or two
    assert (photo.orientation, photo.size_stored_px) == (orientation, SIZE)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_heic_is_turned_once_and_tells_how(tmp_path: Path, orientation: int) -> None:
    photo = load_photo(saved(tmp_path, "heic", orientation))
    block = exif(orientation)
    stored = scene()
    stored.getexif()[0x0112] = block[0x0112]
    upright = np.asarray(ImageOps.exif_transpose(stored)).astype(int)
    assert np.abs(photo.pixels[:, :, ::-1] - upright).mean() < 3
    assert (photo.orientation, photo.size_stored_px) == (orientation, SIZE)
    assert photo.identity.model == "Teal 3"


@pytest.mark.parametrize("kind", ["jpg", "heic"])
def test_what_identifies_the_camera(tmp_path: Path, kind: str) -> None:
    photo = load_photo(saved(tmp_path, kind))
    identity = photo.identity
    assert (identity.make, identity.model, identity.lens) == ("Saltmarsh", "Teal 3", "main")
    assert identity.focal_mm == pytest.approx(4.1)
    assert identity.focal_35mm_mm == 28
    assert photo.taken == "2026:11:15 14:20:00"


def test_a_picture_that_says_nothing_loads(tmp_path: Path) -> None:
    scene().save(tmp_path / "plain.png")
    photo = load_photo(tmp_path / "plain.png")
    assert photo.identity.model is None
    assert photo.orientation == 1


def test_damaged_exif_is_no_reason_to_refuse(tmp_path: Path) -> None:
    path = tmp_path / "fit.jpg"
    scene().save(path, exif=b"Exif\0\0II*\0\x08\0\0\0\xff\xff" + b"\x7f" * 40)
    assert load_photo(path).orientation == 1


@pytest.mark.parametrize(
    ("code", "content"),
    [
        ("photo-empty", b""),
        ("photo-kind", b"plank 4, port side, fit 2\n" * 40),
        ("photo-kind", b"GIF89a" + bytes(200)),
        ("photo-damaged", b"\xff\xd8\xff\xe0" + bytes(60)),
        ("photo-damaged", b"\x89PNG\r\n\x1a\n" + bytes(60)),
        ("photo-damaged", b"\x00\x00\x00\x18ftypheic" + bytes(60)),
    ],
)
def test_files_that_are_no_photograph_are_refused(tmp_path: Path, code: str, content: bytes) -> None:
    path = tmp_path / "fit.jpg"
    path.write_bytes(content)
    assert refusal_code(path) == code


@pytest.mark.parametrize("kind", ["jpg", "png", "heic"])
@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(share=st.floats(0.0, 0.97))
def test_a_cut_off_file_is_refused(tmp_path: Path, kind: str, share: float) -> None:
    whole = saved(tmp_path, kind).read_bytes()
    path = tmp_path / f"cut.{kind}"
    path.write_bytes(whole[: max(16, int(share * len(whole)))])
    assert refusal_code(path) == "photo-damaged"


def test_what_a_phone_appends_after_the_picture_is_passed_over(tmp_path: Path) -> None:
    path = saved(tmp_path, "jpg")
    path.write_bytes(path.read_bytes() + b"\xff\xd8\xff\xe1 a second picture, and a trailer" * 20)
    assert load_photo(path).size_px == SIZE


@pytest.mark.parametrize("size", [(1, 1), (900, 40)])
def test_too_small(tmp_path: Path, size: tuple[int, int]) -> None:
    Image.new("RGB", size).save(tmp_path / "dot.png")
    assert refusal_code(tmp_path / "dot.png") == "photo-small"


@pytest.mark.parametrize("kind", ["png", "jpg"])
def test_200_megapixels_are_refused_from_the_header_alone(tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"huge.{kind}"
    path.write_bytes(huge_png(16320, 12240) if kind == "png" else huge_jpeg(16320, 12240))
    assert refusal_code(path) == "photo-huge"


def test_a_missing_file_and_a_folder_are_wrong_calls(tmp_path: Path) -> None:
    for path in (tmp_path / "none.jpg", tmp_path):
        with pytest.raises(WrongCall):
            load_photo(path)


@pytest.mark.skipif(os.environ.get("FITCHECK_PHOTOS") is None, reason="FITCHECK_PHOTOS is not set")
def test_a_photograph_of_twelve_megapixels() -> None:
    photo = load_photo(Path(os.environ["FITCHECK_PHOTOS"]) / "laps" / "h01.jpg")
    assert photo.size_px == (4032, 3024)
    assert photo.identity.described() == "Saltmarsh Heron 12, 27 mm (35 mm film)"


def refusal_code(path: Path) -> str:
    with pytest.raises(Refused) as refused:
        load_photo(path)
    assert path.name in refused.value.reason.text
    return refused.value.reason.code


def huge_png(width: int, height: int) -> bytes:
    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def huge_jpeg(width: int, height: int) -> bytes:
    buffer = io.BytesIO()
    scene().save(buffer, "JPEG")
    small = struct.pack(">HH", SIZE[1], SIZE[0])
    return buffer.getvalue().replace(small, struct.pack(">HH", height, width), 1)


def test_a_pipe_given_as_a_photograph_is_refused_and_never_waited_for(tmp_path):
    pipe = tmp_path / "fit.jpg"
    os.mkfifo(pipe)
    with pytest.raises(WrongCall, match="pipe or a device"):
        load_photo(pipe)
    with pytest.raises(WrongCall, match="pipe or a device"):
        take_in([pipe], tmp_path / "fitcheck.db")
