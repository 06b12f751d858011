"""One photograph measured: turned every way it can be held, told rightly and wrongly, and refused with the reason."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.calibration.camera import load_camera
from fitcheck.contract.flags import FLAGS
from fitcheck.contract.hints import Hints
from fitcheck.contract.measurement import STATES_WITH_VALUE, STATES_WITHOUT_VALUE, Measurement
from fitcheck.ground.refusal import WrongCall
from fitcheck.one_photo.edge import measure_photo
from fitcheck.one_photo.open_lap import measure_gap
from fitcheck.one_photo.seam import measure_seam
from tests.samples import HIDDEN, PLAIN, SETTINGS, SHADOW, TEAL, repainted, retagged

WIDTH, HEIGHT = load_camera(TEAL).size_px
MIRRORED = (2, 4, 5, 7)


def values(answer: Measurement) -> dict[float, float]:
    assert answer, answer.reasons
    return {s.along_mm: s.past_line_mm for s in answer.samples if s.past_line_mm is not None}


@pytest.fixture(scope="module")
def plain() -> Measurement:
    return measure_photo(PLAIN, TEAL, SETTINGS)


def tagged(folder: Path, orientation: int) -> Path:
    return retagged(PLAIN, folder / f"{orientation}.jpg", lambda exif: exif.__setitem__(0x0112, orientation))


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_however_the_camera_was_held_the_numbers_are_the_same(orientation, plain, tmp_path):
    """The same stored pixels with each tag of EXIF that turns them (JEITA CP-3451): the camera turns with the picture.

    Grids of the picture fall otherwise on the wood, so hundredths remain.
    """
    one, other = values(plain), values(measure_photo(tagged(tmp_path, orientation), TEAL, SETTINGS))
    both = sorted(one.keys() & other.keys())
    assert len(both) > 0.9 * len(one)
    apart = np.array([one[at] - other[at] for at in both])
    assert np.percentile(np.abs(apart), 95) < 0.06
    assert np.ptp([one[at] for at in both]) > 0.8, "an even fit would not show a mirrored one"
    wrong_way = [one[at] - other[-at] for at in both if -at in other]
    assert np.percentile(np.abs(wrong_way), 95) > 0.5


@pytest.mark.parametrize("orientation", MIRRORED)
@pytest.mark.parametrize("measured", [measure_photo, measure_gap, measure_seam])
def test_a_picture_shown_as_in_a_mirror_is_refused(orientation, measured, tmp_path):
    """Nobody can tell whether its left is the builder's left: places would be mirrored about the card."""
    settings = replace(SETTINGS, hints=Hints(edge_at_px=((300.0, 500.0), (1400.0, 520.0))))
    answer = measured(tagged(tmp_path, orientation), TEAL, settings)
    assert [reason.code for reason in answer.reasons] == ["photo-mirrored"]
    assert "left and right" in answer.reasons[0].text


def test_a_hull_lying_keel_up_has_the_same_values_at_mirrored_pixels(plain, tmp_path):
    turned = measure_photo(tagged(tmp_path, 3), TEAL, SETTINGS)
    assert (plain.settings["keel"], turned.settings["keel"]) == ("down", "up")
    there = {s.along_mm: s for s in turned.samples}
    pairs = [(s, there[s.along_mm]) for s in plain.samples if s.line_px and s.along_mm in there]
    pairs = [(here, other) for here, other in pairs if other.line_px]
    assert len(pairs) > 100
    for here, other in pairs:
        for name in ("edge_px", "line_px"):
            both = np.add(getattr(here, name), getattr(other, name))
            assert both == pytest.approx([WIDTH - 1, HEIGHT - 1], abs=1.0)


@pytest.mark.parametrize("keel", ["down", "up"])
def test_the_keel_told_wrongly_never_gives_these_numbers(keel, plain):
    answer = measure_photo(PLAIN, TEAL, replace(SETTINGS, hints=Hints(keel=keel)))
    if keel == "down":
        assert values(answer) == values(plain)
    else:
        assert not answer


def test_every_sample_is_whole(plain):
    json.dumps(plain.as_json(), allow_nan=False)
    along = [s.along_mm for s in plain.samples]
    assert np.diff(along) == pytest.approx(5.0)
    assert any(at < -100 for at in along)
    assert any(at > 100 for at in along)
    limit = SETTINGS.limit_mm
    for s in plain.samples:
        assert set(s.flags) <= set(FLAGS)
        assert (s.past_line_mm is None) == (s.state in STATES_WITHOUT_VALUE)
        if s.state not in STATES_WITH_VALUE:
            continue
        low, high = s.past_line_mm - s.u95_mm, s.past_line_mm + s.u95_mm
        on = max(abs(low), abs(high)) <= limit
        assert s.state == ("past" if low > limit else "short" if high < -limit else "on" if on else "unsure")
        assert 0.05 < s.u95_mm < 3.0
        assert all(0 <= u < WIDTH and 0 <= v < HEIGHT for u, v in (s.edge_px, s.line_px))


def test_the_line_lies_below_an_edge_that_is_short(plain):
    """Held with the keel down, v grows toward the keel: the edge falls short, so the line is seen below it."""
    short = [s for s in plain.samples if s.state == "short"]
    assert short
    assert all(s.line_px[1] > s.edge_px[1] for s in short)


def test_the_budget_names_every_doubt(plain):
    parts = {"edge", "line", "corner", "pose and scale", "thickness", "bevel", "flatness"}
    assert parts <= set(plain.budget_mm)
    typical = np.median([s.u95_mm for s in plain.samples if s.u95_mm])
    assert 1.96 * np.sqrt(sum(part**2 for part in plain.budget_mm.values())) == pytest.approx(typical, rel=0.5)


def test_an_untold_bevel_is_said_and_widens_the_answer_from_the_sheer_side(plain):
    answer = measure_photo(PLAIN, TEAL, replace(SETTINGS, bevel_deg=None))
    assert "bevel-not-told" in [warning.code for warning in answer.warnings]
    assert all("bevel-not-told" in s.flags for s in answer.samples)
    assert answer.budget_mm["bevel"] > 2.0 * plain.budget_mm["bevel"]


def test_the_limit_moves_the_states_and_not_the_values(plain):
    wide = measure_photo(PLAIN, TEAL, replace(SETTINGS, limit_mm=8.0))
    assert values(wide) == values(plain)
    assert {s.state for s in wide.samples if s.past_line_mm is not None} == {"on"}


def test_an_unusual_lap_is_warned_of():
    answer = measure_photo(PLAIN, TEAL, replace(SETTINGS, lap_mm=60.0))
    assert "lap-unusual" in [warning.code for warning in answer.warnings]


def around_card(pixels: np.ndarray, corners: list[list[float]], grow: float) -> np.ndarray:
    """The picture with wood from beside the card copied over it."""
    low, high = np.min(corners, axis=0) - grow, np.max(corners, axis=0) + grow
    (left, top), (right, low_row) = low.astype(int), high.astype(int)
    across = right - left
    painted = pixels.copy()
    painted[top:low_row, left:right] = pixels[top:low_row, right + 5 : right + 5 + across]
    return painted


def blurred(pixels: np.ndarray) -> np.ndarray:
    return cv2.GaussianBlur(pixels, (0, 0), 12.0)


def slid_out(pixels: np.ndarray, corners: list[list[float]]) -> np.ndarray:
    """The picture slid so far that the card is cut by its rim; what comes in is plain floor."""
    far = int(np.mean(corners, axis=0)[0])
    slid = np.full_like(pixels, 70)
    slid[:, :-far] = pixels[:, far:]
    return slid


def exif_focal(exif) -> None:
    exif.get_ifd(0x8769)[0xA405] = 56


def exif_model(exif) -> None:
    exif[0x0110] = "Another"


#: What is done to the photograph, what is told beside it, and the code of the answer (or any of several).
REFUSED = {
    "text": ("photo-kind", lambda to, card: to.write_text("not a photograph")),
    "empty": ("photo-empty", lambda to, card: to.write_bytes(b"")),
    "cut off": ("photo-damaged", lambda to, card: to.write_bytes(PLAIN.read_bytes()[:90_000])),
    "one pixel": ("photo-small", lambda to, card: cv2.imwrite(str(to), np.zeros((1, 1, 3), np.uint8))),
    "another size": ("camera-size", lambda to, card: repainted(PLAIN, to, lambda pixels: pixels[:-100])),
    "another zoom": ("camera-zoom", lambda to, card: retagged(PLAIN, to, exif_focal)),
    "another camera": ("camera-other", lambda to, card: retagged(PLAIN, to, exif_model)),
    "no card": ("no-reference", lambda to, card: repainted(PLAIN, to, lambda pixels: around_card(pixels, card, 14.0))),
    "card cut off": (
        ("reference-cut", "no-reference", "reference-unclear", "reference-aspect"),
        lambda to, card: repainted(PLAIN, to, lambda pixels: slid_out(pixels, card)),
    ),
    "blurred": (
        ("photo-blurred", "no-reference", "reference-unclear"),
        lambda to, card: repainted(PLAIN, to, blurred),
    ),
    "black": ("no-reference", lambda to, card: repainted(PLAIN, to, lambda pixels: pixels // 60)),
    "even": ("no-reference", lambda to, card: repainted(PLAIN, to, lambda pixels: np.full_like(pixels, 128))),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_photograph_that_cannot_be_measured_says_why(name, plain, tmp_path):
    codes, make = REFUSED[name]
    make(tmp_path / "fit.jpg", plain.reference["corners_px"])
    (path,) = tmp_path.iterdir()
    answer = measure_photo(path, TEAL, SETTINGS)
    assert not answer
    assert answer.state == "refused"
    (reason,) = answer.reasons
    assert reason.code in codes if isinstance(codes, tuple) else reason.code == codes
    assert len(reason.text.split()) > 6, "what was seen, what was needed, what to do"
    assert not answer.samples
    json.dumps(answer.as_json(), allow_nan=False)


def test_another_card_is_refused_and_named():
    answer = measure_photo(PLAIN, TEAL, replace(SETTINGS, reference="card-us"))
    assert [reason.code for reason in answer.reasons] == ["reference-aspect"]
    assert "id1" in answer.reasons[0].text


def test_a_line_hidden_behind_the_edge_is_said_so():
    answer = measure_photo(HIDDEN, TEAL, replace(SETTINGS, reference="card-us"))
    assert [reason.code for reason in answer.reasons] == ["line-hidden"]
    assert "--witness" in answer.reasons[0].text


def test_a_line_under_the_planks_shadow_is_measured():
    assert len(values(measure_photo(SHADOW, TEAL, SETTINGS))) > 60


def test_a_wrong_call_raises(tmp_path):
    with pytest.raises(WrongCall):
        measure_photo(tmp_path / "none.jpg", TEAL, SETTINGS)
    with pytest.raises(WrongCall):
        measure_photo(PLAIN, tmp_path / "none.json", SETTINGS)
    broken = tmp_path / "broken.json"
    broken.write_text("{")
    with pytest.raises(WrongCall, match="fitcheck calibrate"):
        measure_photo(PLAIN, broken, SETTINGS)


def test_the_same_photograph_gives_the_same_answer(plain):
    assert measure_photo(PLAIN, TEAL, SETTINGS).as_json() == plain.as_json()


def test_a_thickness_told_a_little_wrong_moves_the_answer_within_its_doubt(plain):
    """The outer corner stands t(sin b + cos b tan θ) from the inner: 0.32 mm for each mm of thickness here, at 12° on
    the keel side with a bevel of 6°. A plank told two uncertainties too thick moves the answer by no more than that."""
    thicker = values(measure_photo(PLAIN, TEAL, replace(SETTINGS, thickness_mm=13.1)))
    here = values(plain)
    moved = [abs(here[at] - thicker[at]) for at in here.keys() & thicker.keys()]
    assert np.median(moved) < 0.4 * 0.32 * 1.25
    assert np.median(moved) < np.median([s.u95_mm for s in plain.samples if s.u95_mm]) / 2


def test_a_card_told_too_large_lengthens_the_lap(plain):
    """Told 3 % larger than it is, the same pixels of the line lie 3 % further from the card."""
    larger = measure_photo(PLAIN, TEAL, replace(SETTINGS, reference="88.17x55.6mm"))
    seen = [(s.line_px[0], s.along_mm) for s in larger.samples if s.line_px]
    near = np.array([u for u, _ in seen])
    here = [
        (s.line_px[0], s.along_mm)
        for s in plain.samples
        if s.line_px and 60 < abs(s.along_mm) < 150 and np.abs(near - s.line_px[0]).min() < 20.0
    ]
    assert len(here) > 15
    there = np.interp([u for u, _ in here], *np.transpose(sorted(seen)))
    assert there / [along for _, along in here] == pytest.approx(1.03, abs=0.01)


def test_an_edge_hardly_plainer_than_another_is_asked_for_and_pointing_settles_it(plain, monkeypatch):
    monkeypatch.setattr("fitcheck.lap.square_on.square_look._weak", lambda gain, share: True)
    asked = measure_photo(PLAIN, TEAL, SETTINGS)
    assert [reason.code for reason in asked.reasons] == ["edge-ambiguous"]
    edge = next(s.edge_px for s in plain.samples if abs(s.along_mm) < 5.0)
    pointed = measure_photo(PLAIN, TEAL, replace(SETTINGS, hints=Hints(edge_at_px=(edge,))))
    assert np.median([s.past_line_mm for s in pointed.samples if s.past_line_mm is not None]) == pytest.approx(
        np.median([s.past_line_mm for s in plain.samples if s.past_line_mm is not None]), abs=0.1
    )
