"""Cards on made wood: found in any colour, measured to a few thousandths, refused where they are another card."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from fitcheck.calibration.camera import Camera
from fitcheck.ground.refusal import Refused
from fitcheck.reference.card.card import all_cards, find_card
from fitcheck.reference.card.card_find import card_candidates, unlike_candidates
from fitcheck.reference.card.card_kind import CARDS, CardKind, card_named
from fitcheck.reference.card.card_sides import U_DARK_RIM_MM
from tests.reference.flat_scene import CAMERA, Drawing, View, grain, photograph, view
from tests.scenes import draw_scene, render
from tests.scenes.cameras import CAMERAS

PER_MM = 6.0
WOOD_MM = (330.0, 230.0)
#: Light, blue green red.
CARD_COLOURS = {
    "white": (0.75, 0.78, 0.80),
    "black": (0.02, 0.02, 0.02),
    "blue": (0.45, 0.20, 0.06),
    "kraft": (0.18, 0.30, 0.42),
    "red": (0.05, 0.05, 0.40),
}
GROUNDS = {
    "cedar": (0.08, 0.15, 0.27),
    "larch": (0.17, 0.31, 0.50),
    "mahogany": (0.03, 0.06, 0.14),
    "grey paint": (0.32, 0.32, 0.31),
    "white paint": (0.60, 0.62, 0.62),
}
#: Every colour on two grounds, light on dark and dark on light, and the nearest that a person still tells apart.
LAID = (
    *(("white", "cedar"), ("white", "grey paint"), ("black", "larch"), ("black", "mahogany"), ("blue", "cedar")),
    *(("blue", "white paint"), ("kraft", "mahogany"), ("kraft", "cedar"), ("red", "larch"), ("red", "white paint")),
)


def wood(ground: str = "cedar", *, depth: float = 0.18, seed: int = 3) -> np.ndarray:
    shape = (int(WOOD_MM[1] * PER_MM), int(WOOD_MM[0] * PER_MM))
    streaks = grain(shape, PER_MM, light=0.5, depth=0.0 if "paint" in ground else depth, seed=seed) / 0.5
    return np.asarray(streaks[..., None] * GROUNDS[ground], np.float32)


def lay(light: np.ndarray, kind: CardKind, colour: str, *, at=(0.0, 0.0), turn_deg=4.0, radius_mm=3.18) -> np.ndarray:
    """The card with rounded corners, cut clean, its middle ``at`` (x, y) mm of the wood."""
    fine = 4
    half = np.array([kind.width_mm, kind.height_mm]) / 2
    canvas = np.zeros((light.shape[0] * fine, light.shape[1] * fine), np.uint8)
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    to_px = Drawing(canvas, PER_MM * fine).px_of_mm() @ np.array([[c, -s, at[0]], [s, c, at[1]], [0, 0, 1.0]])
    arc = np.radians(np.arange(0, 91, 5))
    outline = []
    for sign_x, sign_y, start in ((1, 1, 0), (-1, 1, 90), (-1, -1, 180), (1, -1, 270)):
        middle = (half - radius_mm) * (sign_x, sign_y)
        turn = arc + np.radians(start)
        outline.append(middle + radius_mm * np.column_stack([np.cos(turn), np.sin(turn)]))
    seen = cv2.perspectiveTransform(np.concatenate(outline)[None], to_px)[0]
    cv2.fillPoly(canvas, [np.round(seen * 16).astype(np.int32)], (255,), shift=4)
    cover = cv2.resize(canvas, light.shape[1::-1], interpolation=cv2.INTER_AREA)[..., None] / 255.0
    return np.asarray(light * (1.0 - cover) + cover * np.array(CARD_COLOURS[colour]), np.float32)


def seen_from(**stand: float) -> View:
    return view(**({"away_mm": 400.0, "tilt_deg": 9.0, "toward_deg": -6.0, "turn_deg": 2.0} | stand))


def scale_of(pose, seen: View, kind: CardKind) -> float:
    """How large 80 mm on the card's own level reads, relative."""
    ends = seen.px_of(np.array([[-40.0, 0.0], [40.0, 0.0]]), CAMERA)
    return float(np.linalg.norm(np.diff(pose.face_from_px(ends, kind.thickness_mm), axis=0))) / 80.0


@pytest.mark.parametrize(("colour", "ground"), LAID)
def test_a_card_of_any_colour_is_found_and_its_scale_is_right(colour, ground):
    kind, seen = CARDS["id1"], seen_from(at=(12.0, -8.0))
    picture = photograph(Drawing(lay(wood(ground), kind, colour), PER_MM), seen)
    sighting, pose = find_card(picture, CAMERA, kind)
    assert sighting.kind == "id1"
    # A drawn card throws no shadow; a dark one is taken to, within its doubt.
    assert scale_of(pose, seen, kind) == pytest.approx(1.0, abs=max(0.003, 1.96 * sighting.u_scale))


def test_a_dark_card_s_own_side_and_shadow_do_not_make_the_lap_smaller():
    """A card is 0.76 mm thick (ISO/IEC 7810); its dark side and its shadow look like more card."""
    off = np.array([_scale_of_scene(number) for number in range(6)])
    assert abs(off.mean()) < 0.0025, off
    assert np.abs(off).max() < 1.96 * U_DARK_RIM_MM / 85.6 + 0.003, off


def _scale_of_scene(number: int) -> float:
    """How much too large the lap reads along itself near a dark card, relative."""
    scene = draw_scene(
        np.random.default_rng([8161, number]),
        kind="keel",
        camera=CAMERAS["sedge"],
        reference="id1",
        reference_style="dark",
        distance_mm=400.0,
        strake_wood="spruce",
        strake_paint=None,
        radius_mm=float("inf"),
        twist_deg_per_m=0.0,
        light_slant_deg=10.0 + 10.0 * number,
        light_share=0.5,
    )
    made = render(scene)
    camera = Camera(np.array(made.camera.matrix), np.array(made.camera.distortion), tuple(made.truth["size"]))
    _, pose = find_card(made.pixels, camera, CARDS["id1"])
    near = [sample for sample in made.truth["samples"] if abs(sample["along_mm"]) <= 60.0]
    ends = pose.face_from_px(np.array([near[0]["line_px"], near[-1]["line_px"]]))
    return float(np.linalg.norm(ends[1] - ends[0]) / (near[-1]["along_mm"] - near[0]["along_mm"]) - 1.0)


@pytest.mark.parametrize("name", [*CARDS, "88.6x50.7mm"])
def test_every_kind_of_card(name):
    kind, seen = card_named(name), seen_from()
    radius = 3.18 if name == "id1" else 0.2
    picture = photograph(Drawing(lay(wood(), kind, "white", radius_mm=radius), PER_MM), seen)
    _, pose = find_card(picture, CAMERA, kind)
    assert scale_of(pose, seen, kind) == pytest.approx(1.0, abs=0.003)


@pytest.mark.parametrize(("tilt_deg", "turn_deg"), [(-24.0, 0.0), (0.0, 35.0), (24.0, 35.0), (24.0, 90.0)])
def test_slant_and_turn_do_not_matter_and_the_tilt_is_told_within_its_doubt(tilt_deg, turn_deg):
    kind, seen = CARDS["id1"], seen_from(tilt_deg=tilt_deg, toward_deg=5.0)
    picture = photograph(Drawing(lay(wood(), kind, "white", turn_deg=turn_deg), PER_MM), seen)
    _, pose = find_card(picture, CAMERA, kind)
    assert scale_of(pose, seen, kind) == pytest.approx(1.0, abs=0.003)
    # The drawing's z points at the camera as the face's does; the card's turn lies within the plane.
    apart = np.arccos(np.clip(pose.rotation[:, 2] @ seen.rotation[:, 2], -1.0, 1.0))
    assert apart < 3.0 * np.sqrt(pose.covariance[0, 0] + pose.covariance[1, 1])


@pytest.mark.parametrize(
    ("lies", "told"), [("id1", "card-us"), ("card-us", "id1"), ("id1", "card-jp"), ("card-jp", "id1")]
)
def test_another_card_is_refused_by_its_shape_and_said_by_name(lies, told):
    radius = 3.18 if lies == "id1" else 0.2
    picture = photograph(Drawing(lay(wood(), CARDS[lies], "white", radius_mm=radius), PER_MM), seen_from())
    with pytest.raises(Refused) as caught:
        find_card(picture, CAMERA, CARDS[told])
    assert caught.value.reason.code == "reference-aspect"
    assert f"looks like {lies}" in caught.value.reason.text


def test_a_kind_that_does_not_fit_either_is_not_named():
    """A card of 80 x 60 mm leaned back until its sides look like a bank card's: its shape in the round is another."""
    lies = card_named("80x60mm")
    tilt_deg = float(np.degrees(np.arccos(lies.aspect / CARDS["id1"].aspect)))
    picture = photograph(Drawing(lay(wood(), lies, "white", radius_mm=0.2), PER_MM), seen_from(tilt_deg=tilt_deg))
    with pytest.raises(Refused) as caught:
        find_card(picture, CAMERA, CARDS["card-us"])
    assert caught.value.reason.code == "reference-aspect"
    assert "look like" not in caught.value.reason.text
    assert "looks like" not in caught.value.reason.text


def test_bare_wood_has_no_card():
    picture = photograph(Drawing(wood(), PER_MM), seen_from())
    with pytest.raises(Refused) as caught:
        find_card(picture, CAMERA, CARDS["id1"])
    assert caught.value.reason.code == "no-reference"
    assert "id1" in caught.value.reason.text


@pytest.mark.parametrize("at", [(-197.0, 0.0), (0.0, 140.0)])
def test_a_card_cut_off_by_the_frame_is_refused(at):
    light = lay(wood(), CARDS["id1"], "white", turn_deg=0.0)
    picture = photograph(Drawing(light, PER_MM), view(away_mm=380.0, at=at))
    with pytest.raises(Refused) as caught:
        find_card(picture, CAMERA, CARDS["id1"])
    assert caught.value.reason.code in ("reference-cut", "no-reference", "reference-aspect", "reference-unclear")


def test_two_cards_are_both_found():
    kind, seen = CARDS["id1"], seen_from()
    light = lay(wood(), kind, "white", at=(-60.0, 20.0))
    light = lay(light, kind, "blue", at=(70.0, -30.0), turn_deg=-12.0)
    found = all_cards(photograph(Drawing(light, PER_MM), seen), CAMERA, kind)
    middles = sorted(sighting.points_px.mean(axis=0)[0] for sighting, _ in found)
    truth = seen.px_of(np.array([[-60.0, 20.0], [70.0, -30.0]]), CAMERA)[:, 0]
    assert middles == pytest.approx(sorted(truth), abs=3.0)


def test_a_bank_card_s_chip_is_not_the_card(monkeypatch):
    """The chip stands out of card and wood alike, so it comes first of all patches, and has nearly the card's shape."""
    kind, seen = CARDS["id1"], seen_from()
    chip = CardKind("chip", 14.0, 8.83, 0.0, 0.0, 0.5)
    light = lay(wood("grey paint"), kind, "blue", turn_deg=0.0)
    light = lay(light, chip, "white", at=(-24.0, 6.0), radius_mm=0.3, turn_deg=0.0)
    half = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) / 2
    patches = [half * (14.0, 8.83) + (-24.0, 6.0), half * (kind.width_mm, kind.height_mm)]
    quads = [seen.px_of(patch, CAMERA) for patch in patches]
    monkeypatch.setattr("fitcheck.reference.card.card.card_candidates", lambda *_: quads)
    found = all_cards(photograph(Drawing(light, PER_MM), seen), CAMERA, kind)
    assert len(found) == 1
    assert scale_of(found[0][1], seen, kind) == pytest.approx(1.0, abs=0.004)


def test_a_blurred_card_says_how_much_and_what_to_do():
    kind = CARDS["id1"]
    picture = photograph(Drawing(lay(wood(), kind, "white"), PER_MM), seen_from(), blur_px=3.5)
    with pytest.raises(Refused) as caught:
        find_card(picture, CAMERA, kind)
    assert caught.value.reason.code == "photo-blurred"


def test_candidates_run_clockwise_and_lie_on_the_card():
    kind, seen = CARDS["id1"], seen_from()
    picture = photograph(Drawing(lay(wood(), kind, "white"), PER_MM), seen)
    quad = card_candidates(picture)[0]
    edges = np.roll(quad, -1, axis=0) - quad
    after = np.roll(edges, -1, axis=0)
    assert (edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0] > 0).all()
    assert quad.mean(axis=0) == pytest.approx(seen.px_of(np.zeros((1, 2)), CAMERA)[0], abs=4.0)


def test_a_card_of_two_colours_is_seen_by_being_unlike_the_wood():
    """Blue and yellow waves on brown: lighter here and darker there than the wood, so no level cuts the card out."""
    rng = np.random.default_rng(3)
    streaks = cv2.GaussianBlur(rng.normal(size=(750, 1000)).astype(np.float32), (0, 0), sigmaX=60, sigmaY=2)
    wood = np.array([70.0, 105.0, 150.0]) * (1.0 + 2.0 * streaks[..., None])
    wave = 0.5 + 0.5 * np.sin(np.arange(160) / 14.0)[None, :, None] + np.zeros((100, 1, 1))
    wood[300:400, 400:560] = wave * (40, 160, 200) + (1.0 - wave) * (130, 70, 50)
    quads = unlike_candidates(np.clip(wood, 0, 255).astype(np.uint8))
    corners = np.array([(400, 300), (559, 300), (559, 399), (400, 399)])
    assert any(np.abs(quad - corners).max() < 8.0 for quad in quads)
