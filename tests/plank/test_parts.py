"""A plank with one of its eight photographs blurred, left out or of another plank: parts by themselves, none shifted.

The photographs are the project's samples; their truth lies beside those that FITCHECK_PHOTOS names.
"""

from __future__ import annotations

import json
from itertools import pairwise
from types import SimpleNamespace

import cv2
import numpy as np
import pytest

from fitcheck.advice.planing.advice_in_parts import with_advice
from fitcheck.advice.planing.planing_advice import advise
from fitcheck.picture.photo import load_photo
from fitcheck.plank import photo_groups
from fitcheck.plank.connected_parts import Earlier, Known, with_earlier
from fitcheck.plank.joint.card_views import read_views
from fitcheck.plank.plank_edge import measure_views
from tests.plank import spoilt_planks
from tests.plank.spoilt_planks import EIGHT, SETTINGS, TRUTH, camera, photo, spoilt, view
from tests.samples import repainted

#: How far one cut may go beyond the wood that is there: 97.5 % of places are surely past, and the truth is struck by
#: hand to so much.
STRUCK_MM = 0.1


@pytest.fixture(autouse=True)
def _looked_at_once(monkeypatch):
    """The same photographs of one run look the same in every test: they are looked at once."""
    monkeypatch.setattr(photo_groups, "_run", spoilt_planks.run_once)


def measured(views, known_mm=None, earlier=()):
    found = measure_views(views, camera(), SETTINGS, known_mm or {}, earlier=earlier).measurement
    assert found, found.reasons
    told = {"limit_mm": SETTINGS.limit_mm, "lap_mm": SETTINGS.lap_mm, "may_slide_mm": 0.0}
    return with_advice(found, lambda samples, length_mm: advise(samples, plank_length_mm=length_mm, **told))


def beside(number, other=None):
    """A photograph's neighbours, and ``other`` in its place."""
    near = [view(k) for k in (number - 1, number + 1) if k in EIGHT]
    return near if other is None else [*near, other]


def truth():
    if not TRUTH.is_dir():
        pytest.skip("FITCHECK_PHOTOS names no photographs")
    return spoilt_planks.truth()


def assert_no_cut_lies_where_none_is_due(answer):
    for cut in answer.planing["cuts"]:
        card = cut.get("from_card") or 0
        for at, depth in cut["profile"]:
            assert depth <= max(0.0, truth().at(at, card)) + STRUCK_MM, (card, at, depth)
    cards = truth().cards_mm
    seen = [s for s in answer.samples if s.past_line_mm is not None and 0 <= s.plank_mm + cards[s.from_card] <= 2411]
    inside = [abs(s.past_line_mm - truth().at(s.plank_mm, s.from_card)) <= s.u95_mm for s in seen]
    assert np.mean(inside) > 0.85, "the places are those of the card they say"


def blurred(number, folder, by_px):
    path = repainted(photo(number), folder / f"blurred{number}.jpg", lambda px: cv2.GaussianBlur(px, None, by_px))
    return read_views([path], camera())[0]


def card_picture(number, px_per_mm=10):
    """A station card as the contract draws it: four markers of 20 mm, 4 mm from the edges of 90 x 60 mm."""
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    card = np.full((60 * px_per_mm, 90 * px_per_mm), 255, np.uint8)
    for k, (x, y) in enumerate([(4, 4), (66, 4), (66, 36), (4, 36)]):
        marker = cv2.aruco.generateImageMarker(book, 4 * number + k, 20 * px_per_mm)
        card[y * px_per_mm : (y + 20) * px_per_mm, x * px_per_mm : (x + 20) * px_per_mm] = marker
    return card


def another_planks(number, folder):
    """A photograph of another plank whose cards have the numbers of photograph ``number``: one of elsewhere, its cards
    painted over."""
    source = view((number + 2) % 8 + 1)
    flat = np.array([[0, 0], [899, 0], [899, 599], [0, 599]], np.float32)

    def paint(pixels):
        pixels = pixels.copy()
        for card, new in zip(source.cards, view(number).numbers, strict=True):
            onto = cv2.getPerspectiveTransform(flat, card.outline_px.astype(np.float32))
            size = pixels.shape[1::-1]
            soft = cv2.GaussianBlur(card_picture(new), None, 1.5)
            drawn = cv2.warpPerspective(soft, onto, size, flags=cv2.INTER_AREA)
            mask = cv2.warpPerspective(np.full_like(soft, 255), onto, size) > 250
            pixels[mask] = (30 + 0.8 * drawn[mask, None]).astype(np.uint8)
        return pixels

    path = repainted(source.photo.path, folder / f"p{number:02d}.jpg", paint)
    found = read_views([path], camera())[0]
    assert found.numbers == view(number).numbers, "the painted cards are read"
    return found


@pytest.mark.parametrize("number", EIGHT)
def test_a_photograph_left_out_leaves_each_part_its_own_cards(number):
    answer = measured(beside(number))
    parts = [one.part for one in answer.each_part()]
    low, high = (number - 2, number - 1), (number, number + 1)
    assert [part.cards for part in parts] == [cards for cards in (low, high) if min(cards) >= 0 and max(cards) <= 8]
    for part, one in zip(parts, answer.each_part(), strict=True):
        assert part.from_card == part.cards[0]
        assert {s.from_card for s in one.samples} == {part.from_card}
        assert one.stations[0]["number"] == part.from_card
        assert one.stations[0]["plank_mm"] == 0.0
    assert_no_cut_lies_where_none_is_due(answer)


@pytest.mark.parametrize("number", EIGHT)
def test_a_photograph_too_blurred_to_read_is_named_and_keeps_the_plank_from_being_good(number, tmp_path):
    lost = blurred(number, tmp_path, 14.0)
    answer = measured(beside(number, lost))
    (told,) = [one for one in answer.photos if one["state"] == "refused"]
    assert told["name"] == f"blurred{number}.jpg"
    assert told["part"] is None
    assert [reason["code"] for reason in told["reasons"]] == ["photo-soft"]
    assert "take this photograph again" in told["reasons"][0]["text"]
    assert answer.samples == measured(beside(number)).samples
    assert answer.planing["verdict"] != "good"


def test_a_photograph_a_little_blurred_shifts_nothing(tmp_path):
    answer = measured(beside(4, blurred(4, tmp_path, 3.0)))
    assert_no_cut_lies_where_none_is_due(answer)


@pytest.mark.parametrize("number", EIGHT)
def test_a_photograph_of_another_plank_shifts_nothing(number, tmp_path):
    foreign = another_planks(number, tmp_path)
    # At an end the two next to it, so that more speaks for them than for the stranger.
    answer = measured([*beside(number, foreign), *([view(3)] if number == 1 else [view(6)] if number == 8 else [])])
    told = {one["name"]: [reason["code"] for reason in one["reasons"]] for one in answer.photos}
    assert told.pop(foreign.name) in (["other-plank"], ["cards-elsewhere"])
    assert not any(told.values())
    assert answer.planing["verdict"] != "good"
    assert all(foreign.name not in sample.photos for sample in answer.samples)
    assert_no_cut_lies_where_none_is_due(answer)


def test_the_whole_plank_without_its_fourth_photograph():
    """The three before it are not dropped, and what lies beyond counts from card 4, not from card 0."""
    answer = measured([view(number) for number in EIGHT if number != 4])
    assert [one.part.from_card for one in answer.parts] == [0, 4]
    assert {one["name"]: one["part"] for one in answer.photos} == {
        f"p{number:02d}.jpg": 1 if number < 4 else 2 for number in EIGHT if number != 4
    }
    assert [one.code for one in answer.warnings].count("parts-apart") == 1
    (text,) = [one.text for one in answer.warnings if one.code == "parts-apart"]
    assert "How card 3 and card 4 lie to each other is not known" in text
    told = answer.as_json()
    json.dumps(told, allow_nan=False)
    assert [(one["part"], one["from_card"]) for one in told["parts"]] == [(1, 0), (2, 4)]
    assert {(one["part"], one["from_card"]) for one in told["samples"]} == {(1, 0), (2, 4)}
    assert all(cut["from_card"] == 4 for cut in told["planing"]["cuts"])
    assert told["planing"]["cuts"], "the last foot of this plank is past its line"
    assert answer.planing["verdict"] == "plane"
    assert_no_cut_lies_where_none_is_due(answer)


@pytest.mark.parametrize(
    ("kind", "number"),
    [("swapped", 4), ("blurred", 4), ("swapped", 1), ("left out", 1), ("blurred", 6), ("left out", 6)],
)
def test_the_whole_plank_with_one_photograph_spoilt(kind, number):
    """End, middle and inner photograph; ``python -m tests.plank.study_parts`` does all, with a table."""
    truth()
    answer = spoilt_planks.advised(spoilt(kind, number))
    lost = {one["name"] for one in answer.photos if one["state"] == "refused"}
    stranger = spoilt_planks.another_planks(number).name
    assert lost == {"swapped": {stranger}, "blurred": {f"blurred{number}.jpg"}, "left out": set()}[kind]
    assert all(stranger not in sample.photos for sample in answer.samples)
    assert answer.planing["cuts"]
    assert_no_cut_lies_where_none_is_due(answer)


def test_known_places_and_an_earlier_set_make_it_one_frame():
    views = [view(3), view(5)]
    told = measured(views, {2: 611.0, 4: 1222.0})
    assert told.part.tied_by == "stations"
    assert told.part.from_card == 0
    assert [round(s["plank_mm"], -1) for s in told.stations] == [610, 900, 1220, 1510]
    places = {2: (611.0, 1.0), 3: (900.0, 1.0), 4: (1222.0, 1.0), 5: (1511.0, 1.0)}
    kept = measured(views, earlier=[Earlier("Fit 1 of 4 port", places)])
    assert kept.part.tied_by == "record"
    assert [s["plank_mm"] for s in kept.stations] == pytest.approx([611, 900, 1222, 1511], abs=2.0)
    assert [one.code for one in kept.warnings].count("places-from-record") == 1


def joint(places):
    cards = np.array([[at, 0.0, 0.0] for at in places.values()])
    return SimpleNamespace(
        numbers=tuple(places), cards=cards, place_covariance=lambda: np.diag(np.full(len(places), 0.25))
    )


def test_an_earlier_set_ties_only_cards_that_were_not_moved():
    first, second = joint({0: 0.0, 1: 322.0}), joint({4: 0.0, 5: 289.0})
    places = {n: (at, 1.0) for n, at in {0: 0.0, 1: 322.0, 4: 1222.0, 5: 1511.0}.items()}
    known = with_earlier([first, second], {}, [Earlier("Fit 2", places)])
    assert known == Known({4: 1222.0, 5: 1511.0}, "Fit 2", frozenset({4, 5}))
    assert known.tie((4, 5)) == "record"
    for wrong in ({5: (1524.0, 1.0)}, {1: (340.0, 1.0)}):
        assert with_earlier([first, second], {}, [Earlier("Fit 2", places | wrong)]).tie((4, 5)) is None
    # One card alone shows nothing of having been moved.
    lone = joint({4: 0.0})
    assert with_earlier([first, lone], {}, [Earlier("Fit 2", places)]).tie((4,)) is None
    # What is told goes before what is on record; the latest set that fits before older ones.
    assert with_earlier([first, second], {4: 1230.0}, [Earlier("Fit 2", places)]).earlier is None
    old = Earlier("Fit 1", {n: (at + (5.0 if n > 1 else 0.0), u) for n, (at, u) in places.items()})
    assert with_earlier([first, second], {}, [Earlier("Fit 2", places), old]).earlier == "Fit 2"


def test_places_rise_along_the_whole_of_every_part():
    answer = measured(beside(4))
    for one in answer.parts:
        places = [sample.plank_mm for sample in one.samples]
        assert all(before < after for before, after in pairwise(places))


def test_photographs_are_the_ones_with_known_truth():
    if TRUTH.is_dir():
        assert load_photo(photo(1)).digest == load_photo(TRUTH / "p01.jpg").digest


def test_a_refused_photograph_carries_what_was_found_in_it_lettered_by_itself(tmp_path):
    """Its cards are sharp and its wood is not: the edge and the line found there are shown, nothing is measured."""

    def paint(pixels):
        out, mask = cv2.GaussianBlur(pixels, None, 20), np.zeros(pixels.shape[:2], np.uint8)
        for card in view(6).cards:
            middle = card.outline_px.mean(axis=0)
            cv2.fillPoly(mask, [(middle + 1.15 * (card.outline_px - middle)).astype(np.int32)], 255)
        out[mask > 0] = pixels[mask > 0]
        return out

    path = repainted(photo(6), tmp_path / "soft6.jpg", paint)
    soft = read_views([path], camera())[0]
    answer = measure_views([view(5), soft, view(7)], camera(), SETTINGS, {}).measurement
    refused = {one["name"]: one["reasons"] for one in answer.photos if one["state"] == "refused"}
    assert set(refused) == {"soft6.jpg"}
    found = [one for one in answer.candidates if one.photo == "soft6.jpg"]
    assert {one.kind for one in found} == {"card", "edge", "line"}
    assert "A" in {one.letter for one in found if one.kind == "edge"}
    assert {one.letter for one in found if one.kind == "card"} == {""}
    assert all(one.photo in {"soft6.jpg", "p05.jpg", "p07.jpg"} for one in answer.candidates)
    assert [one["photo"] for one in answer.as_json()["candidates"]] == [one.photo for one in answer.candidates]


def test_a_photograph_in_which_nothing_was_found_carries_nothing(tmp_path):
    blank = repainted(photo(4), tmp_path / "dark.jpg", lambda pixels: pixels // 64)
    answer = measure_views([view(5), read_views([blank], camera())[0]], camera(), SETTINGS, {}).measurement
    assert answer
    assert not [one for one in answer.candidates if one.photo == "dark.jpg"]
