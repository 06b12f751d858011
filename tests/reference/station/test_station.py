"""Station cards: found in photographs, read whole and in part, doubled, foreign; and on the plank of known places."""

from __future__ import annotations

import itertools
import json
import os
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.calibration.camera import Camera
from fitcheck.ground.bounds import MOST_CARDS
from fitcheck.reference.sighting import Sighting
from fitcheck.reference.station.station import find_station_cards, read_station_cards
from fitcheck.reference.station.station_layout import marker_corners_mm
from tests.reference.flat_scene import CAMERA, Drawing, View, grain, photograph, view

PER_MM = 7.0
WOOD_MM = (340.0, 220.0)
PHOTOS = os.environ.get("FITCHECK_PHOTOS")


def wood_with(*cards: tuple[int, float, float, float], bleed_mm: float = 0.0) -> Drawing:
    """Cards as (number, x mm, y mm, turn degrees) on wood; by ``bleed_mm`` every marker has grown on each side."""
    light = grain((int(WOOD_MM[1] * PER_MM), int(WOOD_MM[0] * PER_MM)), PER_MM, light=0.3, depth=0.1, seed=1)
    px_of_mm = Drawing(light, PER_MM).px_of_mm()
    for number, x, y, turn in cards:
        face = _card_face(number, bleed_mm)
        c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        laid = np.array([[c, -s, x], [s, c, y], [0, 0, 1.0]])
        placed = px_of_mm @ laid @ np.linalg.inv(Drawing(face, 20.0).px_of_mm())
        size = light.shape[::-1]
        seen = cv2.warpPerspective(face, placed, size, flags=cv2.INTER_AREA)
        cover = cv2.warpPerspective(np.ones_like(face), placed, size, flags=cv2.INTER_AREA)
        light = light * (1.0 - cover) + seen
    return Drawing(light, PER_MM)


def _card_face(number: int, bleed_mm: float) -> np.ndarray:
    """The card by the written layout alone, 20 px/mm: 20 mm markers inset 4 mm, clockwise from the top left."""
    face = np.full((1200, 1800), 0.8)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    grown = round(bleed_mm * 20)
    for place, (left, top) in enumerate([(80, 80), (1320, 80), (1320, 720), (80, 720)]):
        bits = cv2.aruco.generateImageMarker(dictionary, 4 * number + place, 7)
        black = cv2.resize(bits, (400, 400), interpolation=cv2.INTER_NEAREST) == 0
        black = cv2.dilate(np.pad(black.astype(np.uint8), 20), np.ones((2 * grown + 1, 2 * grown + 1), np.uint8)) > 0
        face[top - 20 : top + 420, left - 20 : left + 420][black] = 0.05
    return face


def truth_px(sighting: Sighting, x: float, y: float, turn: float, seen: View) -> np.ndarray:
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return seen.px_of(sighting.points_mm[:, :2] @ np.array([[c, s], [-s, c]]) + (x, y), CAMERA)


def test_corners_stand_where_the_layout_says() -> None:
    """The layout of the station card, with cards lying askew; corners of 20 mm markers, clockwise from the top left."""
    seen = view(away_mm=330, tilt_deg=-14, toward_deg=9, turn_deg=3)
    laid = [(0, -90.0, 10.0, 4.0), (11, 60.0, -20.0, -170.0)]
    cards = find_station_cards(photograph(wood_with(*laid), seen), CAMERA)
    assert [card.number for card in cards] == [0, 11]
    for card, (_, x, y, turn) in zip(cards, laid, strict=True):
        error = card.points_px - truth_px(card, x, y, turn, seen)
        assert card.points_mm.shape == (16, 3)
        assert card.flags == ()
        assert np.sqrt((error**2).mean()) < 0.05
        assert np.abs(error / card.u_px[:, None]).max() < 2.5


@pytest.mark.parametrize("bleed_mm", [0.1, 0.2])
def test_ink_that_has_spread_does_not_change_the_scale(bleed_mm: float) -> None:
    seen = view(away_mm=330, tilt_deg=-6, turn_deg=3)
    card = find_station_cards(photograph(wood_with((3, 5.0, 8.0, 2.0), bleed_mm=bleed_mm), seen), CAMERA)[0]
    error = card.points_px - truth_px(card, 5.0, 8.0, 2.0, seen)
    assert np.sqrt((error**2).mean()) < 0.06


def test_a_card_cut_off_by_the_frame_serves_in_part() -> None:
    seen = view(away_mm=330)
    card = find_station_cards(photograph(wood_with((2, 160.0, 0.0, 0.0)), seen), CAMERA)[0]
    assert card.number == 2
    assert card.flags == ("card-in-part",)
    assert set(card.points_mm[:, 0]) == {-41.0, -21.0}
    assert np.abs(card.points_px - truth_px(card, 160.0, 0.0, 0.0, seen)).max() < 0.2


def test_two_cards_with_one_number_are_both_given_and_said() -> None:
    twins = wood_with((5, -80.0, 0.0, 0.0), (5, 80.0, 0.0, 0.0))
    seen = read_station_cards(photograph(twins, view(away_mm=330)), CAMERA)
    assert [(card.number, card.flags) for card in seen.cards] == [(5, ("number-twice",))] * 2
    assert abs(seen.cards[0].points_px[:, 0].mean() - seen.cards[1].points_px[:, 0].mean()) > 400
    assert [warning.code for warning in seen.warnings] == ["number-twice"]


def test_markers_of_no_card_are_said_and_not_used() -> None:
    light = wood_with((1, -80.0, 0.0, 0.0)).light
    lone = cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250), 4 * MOST_CARDS, 7)
    light[600:840, 1500:1740] = 0.8
    light[650:790, 1550:1690] = 0.05 + 0.75 * (np.kron(lone, np.ones((20, 20))) > 0)
    seen = read_station_cards(photograph(Drawing(light, PER_MM), view(away_mm=330)), CAMERA)
    assert [card.number for card in seen.cards] == [1]
    assert [warning.code for warning in seen.warnings] == ["stray-marker"]
    assert "248" in seen.warnings[0].text


def test_a_bare_photograph_has_no_cards() -> None:
    assert find_station_cards(photograph(wood_with(), view(away_mm=330)), CAMERA) == []


def test_markers_lie_inside_the_card() -> None:
    corners = np.concatenate([marker_corners_mm(place) for place in range(4)])
    assert np.ptp(corners, axis=0).tolist() == [82.0, 52.0]


@pytest.mark.skipif(PHOTOS is None, reason="FITCHECK_PHOTOS is not set")
def test_the_plank_of_known_places() -> None:
    """Photographs of known geometry: cards found, residual under 0.1 px, neighbours as far apart as they were laid."""
    folder = Path(str(PHOTOS))
    known = json.loads((folder / "cameras.json").read_text())["teal"]
    (fx, fy), (cx, cy) = known["focal_px"], known["centre_px"]
    matrix = np.array([[fx, 0, cx], [0, fy, cy], [0, 0, 1]])
    camera = Camera(matrix, np.array(known["distortion"]), tuple(known["size_px"]))
    for path in sorted((folder / "plank").glob("p0*.jpg")):
        laid = dict(json.loads(path.with_suffix(".json").read_text())["stations"])
        gray = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
        cards = find_station_cards(gray, camera)
        assert {card.number for card in cards} <= laid.keys()
        assert len(cards) >= 2
        places = {card.number: _centre_mm(card, camera) for card in cards}
        for one, other in itertools.pairwise(sorted(places)):
            along = laid[other] - laid[one]
            assert np.linalg.norm(places[one] - places[other]) == pytest.approx(along, abs=0.4)


def _centre_mm(card: Sighting, camera: Camera) -> np.ndarray:
    flat = card.points_mm * (1, 1, 0)
    _, turn, shift = cv2.solvePnP(flat, card.points_px, camera.matrix, camera.distortion, flags=cv2.SOLVEPNP_IPPE)
    turn, shift = cv2.solvePnPRefineLM(flat, card.points_px, camera.matrix, camera.distortion, turn, shift)
    left = cv2.projectPoints(flat, turn, shift, camera.matrix, camera.distortion)[0].reshape(-1, 2) - card.points_px
    assert np.sqrt((left**2).mean()) < 0.1
    return shift.ravel()
