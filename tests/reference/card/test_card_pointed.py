"""A card that is pointed at: the finger says which, the picture says where."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.reference.card.card import all_cards
from fitcheck.reference.card.card_find import joined
from fitcheck.reference.card.card_kind import CARDS
from fitcheck.reference.card.card_pointed import card_pointed_at
from fitcheck.reference.card.side_choices import likely_outlines
from fitcheck.reference.find import find_references
from tests.reference.card.test_card import CARD_COLOURS, GROUNDS, PER_MM, lay, scale_of, seen_from, wood
from tests.reference.flat_scene import CAMERA, Drawing, photograph

KIND = CARDS["id1"]
TURN_DEG = 4.0
FINGER_PX = 20.0


def corners_of(seen, *, at=(0.0, 0.0)) -> np.ndarray:
    c, s = np.cos(np.radians(TURN_DEG)), np.sin(np.radians(TURN_DEG))
    half = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * (KIND.width_mm / 2, KIND.height_mm / 2)
    return seen.px_of(half @ np.array([[c, s], [-s, c]]) + at, CAMERA)


@pytest.fixture(scope="module")
def alike() -> np.ndarray:
    """A kraft card on wood of nearly its own colour, with grain as strong as their difference."""
    light = lay(wood(depth=0.3), KIND, "kraft", turn_deg=TURN_DEG)
    kraft, cedar = np.array(CARD_COLOURS["kraft"]), np.array(GROUNDS["cedar"])
    covered = np.abs(light - kraft).max(axis=2) < 1e-4
    light[covered] = 1.1 * cedar + (0.02, 0.0, 0.0)
    return photograph(Drawing(light, PER_MM), seen_from())


def test_the_search_alone_does_not_find_it(alike):
    with pytest.raises(Refused):
        all_cards(alike, CAMERA, KIND)


@pytest.mark.parametrize("move", range(4))
def test_corners_stay_however_the_finger_moves(alike, move):
    true, rng = corners_of(seen_from()), np.random.default_rng([61, move])
    fingers = rng.permutation(true + rng.uniform(-FINGER_PX, FINGER_PX, (4, 2)))
    sighting, pose = card_pointed_at(alike, CAMERA, KIND, tuple(map(tuple, fingers)))
    apart = np.linalg.norm(sighting.outline_px[:, None] - true[None], axis=2).min(axis=1)
    assert apart.max() < 1.5
    assert scale_of(pose, seen_from(), KIND) == pytest.approx(1.0, abs=0.006)


def test_one_place_on_it_is_enough_where_a_patch_shows():
    seen = seen_from()
    picture = photograph(Drawing(lay(wood(), KIND, "blue", turn_deg=TURN_DEG), PER_MM), seen)
    place = seen.px_of(np.array([[20.0, -10.0]]), CAMERA)[0]
    found = find_references(picture, CAMERA, "id1", (tuple(place),))
    assert scale_of(found.pose, seen, KIND) == pytest.approx(1.0, abs=0.004)


def test_of_two_cards_the_one_pointed_at_is_taken():
    seen = seen_from()
    light = lay(wood(), KIND, "white", at=(-60.0, 20.0), turn_deg=TURN_DEG)
    picture = photograph(Drawing(lay(light, KIND, "blue", at=(70.0, -30.0), turn_deg=TURN_DEG), PER_MM), seen)
    there = corners_of(seen, at=(70.0, -30.0))
    sighting, _ = card_pointed_at(picture, CAMERA, KIND, tuple(map(tuple, there + 6.0)))
    assert sighting.outline_px.mean(axis=0) == pytest.approx(there.mean(axis=0), abs=3.0)


def test_bare_wood_pointed_at_is_no_card():
    picture = photograph(Drawing(wood(depth=0.3), PER_MM), seen_from())
    with pytest.raises(Refused) as caught:
        card_pointed_at(picture, CAMERA, KIND, tuple(map(tuple, corners_of(seen_from()))))
    assert caught.value.reason.code == "no-reference"
    assert "--reference-at" in caught.value.reason.text


def test_places_that_are_no_corners_and_kinds_that_are_not_pointed_at():
    picture = np.full((300, 400, 3), 90, np.uint8)
    with pytest.raises(WrongCall, match="corners"):
        card_pointed_at(picture, CAMERA, KIND, ((10.0, 10.0), (200.0, 10.0), (100.0, 40.0), (100.0, 200.0)))
    with pytest.raises(WrongCall, match="rule-mm"):
        find_references(picture, CAMERA, "rule-mm", ((10.0, 10.0),))


def test_a_card_under_a_clamp_s_bar_is_found_by_what_shows_on_both_sides():
    """The bar hides a fifth of the card's length and both long sides there; all four corners show."""
    seen = seen_from()
    light = lay(wood(), KIND, "white", turn_deg=TURN_DEG)
    middle, half = light.shape[1] // 2 + 40, int(9 * PER_MM)
    light[:, middle - half : middle + half] = (0.10, 0.09, 0.09)
    picture = photograph(Drawing(light, PER_MM), seen)
    found = find_references(picture, CAMERA, "id1")
    assert len(found.references) == 1
    assert scale_of(found.pose, seen, KIND) == pytest.approx(1.0, abs=0.005)


def test_two_patches_that_lie_apart_are_not_joined():
    near, far = (np.array([(u, 0), (u + 40, 0), (u + 40, 50), (u, 50)], float) for u in (0, 200))
    assert joined([near, far]) == []
    assert joined([near, np.add(near, (0.0, 400.0))]) == []


def test_the_likeliest_lines_are_the_card_s_sides():
    seen = seen_from(tilt_deg=18.0)
    picture = photograph(Drawing(lay(wood(), KIND, "white", turn_deg=TURN_DEG), PER_MM), seen)
    true = corners_of(seen)
    rough = true + np.random.default_rng(5).uniform(-12.0, 12.0, (4, 2))
    assert cv2.isContourConvex(rough.astype(np.float32))
    _, outline = likely_outlines(picture, rough, CAMERA, KIND, reach_px=20.0, most=1)[0]
    assert np.abs(outline - true).max() < 4.0
