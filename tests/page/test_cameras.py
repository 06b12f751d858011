"""A camera calibrated at the page: photographs of the board, more of them, and the camera that is measured with."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
from PIL import Image

from fitcheck.calibration.camera import load_camera
from fitcheck.page import jobs
from fitcheck.page.camera_work import calibrate_job
from tests.calibration.board_scene import lens, picture, poses
from tests.page.checks import sound
from tests.page.measured_hull import BOARD
from tests.page.phone import Phone, made_shop, text_of
from tests.page.test_receiving import sent
from tests.samples import TEAL

TOLD = {"name": "dory", "corners": "9x6", "square": "25mm"}


@pytest.fixture
def shop(tmp_path):
    return made_shop(tmp_path)


@pytest.fixture(scope="module")
def boards():
    """Twelve small made photographs of a board, coded."""
    return [_coded(picture(lens(size_px=(640, 480)), pose)) for pose in poses(12)]


def _coded(gray):
    held = io.BytesIO()
    Image.fromarray(gray).convert("RGB").save(held, "JPEG", quality=95)
    return held.getvalue()


def sent_all(phone, photos, **told):
    answer = phone.post("/camera/open", **(told or TOLD))
    assert answer.status_code == 200, answer.text
    job_id = answer.json()["job"]
    for data in photos:
        assert sent(phone, job_id, data).status_code == 200
    assert phone.post(f"/job/{job_id}/send").status_code == 303
    return job_id


def worked(shop, job_id):
    """The job done as a process beside the page does it, in this one; how it went: shares, and covered shares."""
    shares, covered = [], []
    job = jobs.take_next(shop.db_path)
    assert job.id == job_id

    def progress(share):
        shares.append(share)
        covered.append(shop.grown(job_id)["covered"])

    state = calibrate_job(shop.hull_path, job, progress=progress, may_record=lambda: None)
    jobs.change(shop.db_path, job_id, to=state, among=("measuring",))
    return state, shares, covered


def test_few_photographs_are_refused_and_more_of_them_added_until_it_is_good(shop, boards, tmp_path):
    phone = Phone(shop)
    first = sent_all(phone, boards[:4])
    state, _, covered = worked(shop, first)
    assert state == "refused"
    assert covered == sorted(covered)
    said = text_of(phone.get(f"/job/{first}"))
    assert "4 photographs, and 6 are needed at least" in said
    assert "no camera file was written" in said
    assert not (tmp_path / "calib").exists()
    more = sent_all(phone, boards[4:], more_of=str(first))
    assert len(jobs.job(shop.db_path, more).photos) == 12
    state, shares, _ = worked(shop, more)
    assert state == "measured"
    assert shares == sorted(shares)
    camera = load_camera(tmp_path / "calib" / "dory.json")
    assert np.allclose(camera.matrix[0, 0], lens(size_px=(640, 480)).matrix[0, 0], rtol=0.01)
    assert (tmp_path / "calib" / "dory.png").is_file()
    said = text_of(phone.get(f"/job/{more}"))
    assert "photograph next" in said
    assert "At half a metre the lens puts things right within about" in said
    assert "Measure this hull with it" in said


def test_a_camera_is_measured_with_once_that_is_said(shop, tmp_path):
    (tmp_path / "calib").mkdir()
    (tmp_path / "calib" / "teal.json").write_bytes(TEAL.read_bytes())
    phone = Phone(shop)
    assert "No camera file is set" in text_of(phone.get("/"))
    assert "Measure with teal" in text_of(phone.get("/camera"))
    assert phone.post("/camera/use", name="teal").headers["location"] == "/camera?done=use"
    assert shop.hull().camera_path == tmp_path / "calib" / "teal.json"
    said = text_of(phone.get("/camera?done=use"))
    assert "measured with" in said
    assert "Measure with teal" not in said
    assert "No camera file is set" not in text_of(phone.get("/"))


def test_a_camera_file_that_is_none_is_told_and_not_used(shop, tmp_path):
    (tmp_path / "calib").mkdir()
    (tmp_path / "calib" / "bent.json").write_text("{}")
    phone = Phone(shop)
    said = text_of(phone.get("/camera"))
    assert "bent" in said
    assert "Measure with bent" not in said
    assert phone.post("/camera/use", name="bent").status_code == 400
    assert shop.hull().camera is None


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"name": ""}, "letters and digits"),
        ({"name": "../../secret"}, "letters and digits"),
        ({"name": "a" * 41}, "letters and digits"),
        ({"corners": "many"}, "cannot read Inner corners"),
        ({"square": "25"}, "25"),
        ({"square": "25mm,90mm"}, "differ by more than a print does"),
        ({"name": "teal"}, "a camera of the name teal already"),
        ({"more_of": "99"}, "no photographs of number 99"),
        ({"more_of": "1"}, "no photographs of the board"),
    ],
)
def test_what_cannot_be_is_told_before_anything_is_sent(shop, tmp_path, told, said):
    (tmp_path / "calib").mkdir()
    (tmp_path / "calib" / "teal.json").write_bytes(TEAL.read_bytes())
    jobs.open_job(shop.db_path, plank="4 port", kind="edge", who=None, told={})
    answer = Phone(shop).post("/camera/open", **{**TOLD, **told})
    assert answer.status_code == 400
    assert said in text_of(answer).replace("&#39;", "'")
    assert "--" not in text_of(answer)


def test_a_camera_is_replaced_where_that_is_said(shop, tmp_path):
    (tmp_path / "calib").mkdir()
    (tmp_path / "calib" / "dory.json").write_text("{}")
    phone = Phone(shop)
    assert phone.post("/camera/open", **TOLD).status_code == 400
    assert phone.post("/camera/open", **TOLD, replace="yes").status_code == 200


@pytest.mark.parametrize("name", ["", "none", "../teal", "teal/../teal"])
def test_no_other_file_is_used_as_a_camera(shop, name):
    assert Phone(shop).post("/camera/use", name=name).status_code == 400
    assert Phone(shop, who="").post("/camera/use", name="teal").status_code == 400


@pytest.mark.parametrize("paper", ["a4", "letter", "<b>"])
def test_the_board_is_there_to_print(shop, paper):
    answer = Phone(shop).get("/camera/board", params={"paper": paper})
    assert (answer.headers["content-type"], answer.content[:5]) == ("application/pdf", b"%PDF-")


def test_the_board_of_the_samples_is_calibrated_as_at_the_command_line(measured):
    """Through the line, by its process: photographs of the board, one of which runs out of the frame."""
    shop, job_id = measured.shop, measured.camera
    shown = json.loads((shop.job_folder(job_id) / "answer.json").read_bytes())["camera"]
    left_out = [photo["name"] for photo in shown["photos"] if not photo["used"]]
    assert left_out == [f"photo-{1 + nth}.jpg" for nth, path in enumerate(BOARD) if path.stem == "board_06"]
    camera, made_before = load_camera(shop.hull_path.parent / "calib" / "phone.json"), load_camera(TEAL)
    assert np.allclose(camera.matrix, made_before.matrix, rtol=0.005)
    assert camera.identity == made_before.identity
    said = text_of(measured.phone.get(f"/job/{job_id}"))
    assert "Left out: the board runs out of the picture" in said
    assert shown["covered"] == pytest.approx(np.mean(np.array(shown["cells"]) > 0), abs=0.01)


def test_the_pages_of_a_camera_are_sound(phone, laptop, measured, shop_in_browser):
    for path in ("/camera", f"/job/{measured.camera}"):
        assert phone.goto(shop_in_browser.doors.here + path).status == 200
        sound(phone, path)
        assert laptop.goto(shop_in_browser.doors.here + path).status == 200


def test_photographs_are_added_with_the_phone_and_stand_behind_the_first_ones(phone, measured, shop_in_browser):
    phone.goto(f"{shop_in_browser.doors.here}/job/{measured.camera}")
    phone.set_input_files("#photos", [str(BOARD[0]), str(TEAL.with_name("teal.png"))])
    phone.click("text=Calibrate with all of them")
    phone.wait_for_url(lambda url: not url.endswith(f"/job/{measured.camera}"))
    job = jobs.job(shop_in_browser.db_path, int(phone.url.rpartition("/")[2]))
    assert len(job.photos) == len(BOARD) + 1
    assert (job.again_of, job.told["name"], job.plank) == (measured.camera, "phone", "")
