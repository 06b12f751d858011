"""The whole calibration from corners on: which are refused and why, the verdict, and the photograph to take next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from fitcheck.calibration.adjust import adjust, first_solution
from fitcheck.calibration.board_corners import Corners
from fitcheck.calibration.calibration_lines import told
from fitcheck.calibration.coverage_chart import calibration_png
from fitcheck.calibration.frame import difference_px, spread_px
from fitcheck.calibration.from_photos import Calibration, calibrate_photos
from fitcheck.calibration.views import BoardPhoto
from fitcheck.ground.refusal import Reason
from fitcheck.picture.identity import CameraIdentity
from tests.calibration.board_scene import BOARD, lens, pose, poses, views

SIZE = (1600, 1200)
DORY = CameraIdentity("Saltmarsh", "Dory 1", "main", 4.0, 26.0)


def photos(at: np.ndarray, *, noise_px: float = 0.05, finder_px: float = 0.0, seed: int = 3) -> list[BoardPhoto]:
    """Photographs with the corners already found; the second finder has a noise of its own on top."""
    random = np.random.default_rng(seed + 100)
    made = []
    for place, view in enumerate(views(lens(), at, noise_px=noise_px, seed=seed)):
        second = view.points_px + random.normal(0, finder_px, view.points_px.shape)
        corners = Corners(view.points_px, second, view.used, 2.5)
        made.append(BoardPhoto(f"board_{place:02d}.jpg", f"{place}", SIZE, 1, DORY, corners))
    return made


def refused_code(given: Sequence[BoardPhoto]) -> str:
    calibration = calibrate_photos(tuple(given), BOARD)
    assert not calibration
    assert "Refused: " in told(calibration)
    return calibration.reasons[0].code


def test_a_sound_set_is_good_and_true() -> None:
    calibration = calibrate_photos(tuple(photos(poses(15))), BOARD)
    assert calibration.state == "good"
    assert calibration.camera is not None
    off_px = difference_px(lens().parameters(), calibration.camera.parameters(), SIZE)
    assert off_px.mean() < 0.1
    assert calibration.camera.identity == DORY


def test_the_stated_spread_holds_the_truth() -> None:
    """Over 30 sets, the error over the frame is of the size the covariance states, and seldom over twice that."""
    ratios = []
    for seed in range(30):
        calibration = calibrate_photos(tuple(photos(poses(12), seed=seed)), BOARD)
        camera = calibration.camera
        assert camera is not None
        assert camera.covariance is not None
        off_px = difference_px(lens().parameters(), camera.parameters(), SIZE)
        stated_px = spread_px(camera.parameters(), camera.covariance, SIZE)
        ratios.append(np.sqrt(np.mean(off_px**2) / np.mean(stated_px**2)))
    assert 0.6 < np.sqrt(np.mean(np.square(ratios))) < 1.1
    assert np.mean(np.array(ratios) < 2.0) >= 0.95


def test_what_two_finders_disagree_on_is_stated() -> None:
    alike = calibrate_photos(tuple(photos(poses(12))), BOARD)
    apart = calibrate_photos(tuple(photos(poses(12), finder_px=0.5)), BOARD)
    assert alike.quality is not None
    assert apart.quality is not None
    assert apart.quality.spread_px[0] > apart.quality.finders_px[0] * 0.9
    assert apart.quality.spread_px[0] > 2 * alike.quality.spread_px[0]


def test_too_few_views() -> None:
    assert refused_code(photos(poses(5))) == "too-few-views"


def test_all_head_on() -> None:
    """No lean, no depth: the focal length cannot be told from the distance."""
    assert refused_code(photos(poses(12, most_tilt_deg=4.0))) == "head-on"


def test_a_frame_not_covered() -> None:
    small = np.array([pose(*(20 * np.sin([k, 2 * k])), 5 * k, (5 * np.cos(k), 0, 1100)) for k in range(12)])
    assert "not-covered" in [reason.code for reason in calibrate_photos(tuple(photos(small)), BOARD).reasons]


def test_corners_that_do_not_fit() -> None:
    codes = [reason.code for reason in calibrate_photos(tuple(photos(poses(12), noise_px=1.2)), BOARD).reasons]
    assert "poor-fit" in codes


def test_wrong_count_and_no_board_are_told_apart() -> None:
    seen = Reason("board-count", "8 x 5 inner corners were seen and 9 x 6 were asked for. Count the inner corners.")
    none = Reason("board-none", "no board of squares stands out in it.")
    plain = [replace(photo, corners=None) for photo in photos(poses(8))]
    assert refused_code([replace(photo, reason=seen) for photo in plain]) == "board-count"
    assert refused_code([replace(photo, reason=none) for photo in plain]) == "board-none"
    few = [replace(photo, reason=seen) for photo in plain[:2]]
    assert calibrate_photos((*photos(poses(14)), *few), BOARD).state == "good"


@pytest.mark.parametrize(
    ("code", "change"),
    [
        ("mixed-sizes", {"size_px": (1200, 1600)}),
        ("mixed-cameras", {"identity": replace(DORY, model="Skiff 2")}),
        ("mixed-lenses", {"identity": replace(DORY, lens="wide")}),
        ("mixed-zooms", {"identity": replace(DORY, focal_35mm_mm=52.0)}),
    ],
)
def test_mixed_photographs_are_refused_by_name(code: str, change: dict) -> None:
    given = photos(poses(12))
    given[4] = replace(given[4], **change)
    calibration = calibrate_photos(tuple(given), BOARD)
    assert calibration.reasons[0].code == code
    assert "board_04.jpg" in calibration.reasons[0].text


def test_orientation_tags_may_differ_and_exif_may_be_missing() -> None:
    given = [replace(photo, orientation=1 + 5 * (at % 2)) for at, photo in enumerate(photos(poses(14)))]
    given[2] = replace(given[2], identity=CameraIdentity())
    calibration = calibrate_photos(tuple(given), BOARD)
    assert calibration.state == "good"
    assert calibration.camera is not None
    assert calibration.camera.identity == DORY


def test_few_views_are_usable_not_good() -> None:
    calibration = calibrate_photos(tuple(photos(poses(9))), BOARD)
    assert calibration.state == "usable"
    assert calibration.quality is not None
    assert "few-views" in [one.code for one in calibration.quality.warnings]
    assert "Verdict: usable." in told(calibration)


def test_the_picture_is_drawn_whole() -> None:
    assert calibration_png(calibrate_photos(tuple(photos(poses(9))), BOARD))[:4] == b"\x89PNG"


def lopsided() -> Calibration:
    """Every board in the upper left half of the frame."""
    at = poses(12, reach=0.35)
    at[:, 3:5] -= [60.0, 45.0]
    return calibrate_photos(tuple(photos(at)), BOARD)


@pytest.mark.parametrize(("orientation", "words"), [(1, "lower right corner"), (3, "upper left corner")])
def test_the_next_photograph_is_where_the_board_was_not(orientation: int, words: str) -> None:
    """The picture is turned as a person sees it: with the camera held upside down the empty corner is the other one."""
    from fitcheck.calibration.next_photo import next_photo

    calibration = lopsided()
    assert calibration.camera is not None
    assert calibration.solution is not None
    found = calibration.solution.adjustment
    noise_only = replace(calibration.camera, covariance=found.covariance)
    advice = next_photo(noise_only, BOARD.points_mm(), found.scale_px, orientation)
    assert words in advice.text
    assert 0.1 < advice.gain < 1.0


def test_following_the_advice_helps_as_much_as_it_says() -> None:
    """The view advised, added, lowers the lens's spread by the share foretold; a view where there are many does not."""
    calibration = lopsided()
    assert calibration.solution is not None
    assert calibration.advice is not None
    before = calibration.solution.adjustment
    gains = {}
    for name, at in (("advised", (75.0, 50.0)), ("again", (-60.0, -45.0))):
        _, back, turn = (0.0, *_lean(calibration.advice.text))
        added = views(lens(), np.array([pose(back, turn, 0, (*at, 460.0))]), noise_px=0.05, seed=9)
        seen = [*calibration.solution.views, *added]
        after = adjust(seen, first_solution(seen, BOARD.points_mm(), SIZE), with_k3=before.with_k3, release_shape=False)
        old, new = (spread_px(one.lens, one.covariance, SIZE) for one in (before, after))
        gains[name] = 1.0 - np.sqrt(np.mean(new**2) / np.mean(old**2))
    assert gains["advised"] == pytest.approx(calibration.advice.gain, abs=0.2)
    assert gains["advised"] > 2 * gains["again"]


def _lean(text: str) -> tuple[float, float]:
    leans = {"back": (-30, 0), "forward": (30, 0), "left side": (0, 30), "right side": (0, -30), "square": (0, 0)}
    return next(lean for word, lean in leans.items() if word in text.split(", ", 1)[1])
