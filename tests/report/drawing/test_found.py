"""What a refused or ambiguous photograph shows, and how pictures are lettered, turned and broken at clamps."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.contract.gap_measurement import GapMeasurement, GapSample
from fitcheck.contract.measurement import Measurement
from fitcheck.ground.candidates import Candidate, lettered
from fitcheck.report.drawing.canvas import Letters
from fitcheck.report.drawing.found import draw_found, found_words, pointing_words
from fitcheck.report.drawing.level import levelled
from fitcheck.report.drawing.palette import EDGE, LINE, LOOKS
from fitcheck.report.edge.overlay import overlay
from fitcheck.report.gap.gap_overlay import gap_overlay
from tests.report import invented
from tests.report.edge.test_pictures import GREY_GROUND, near, photo_top

#: How wide a page of 390 px shows a picture, and the least height of letters there.
PHONE_PX, LEAST_LETTER_PX = 371, 12
EDGE_V, FIRST_V, SECOND_V = 420, 470, 520


def path(v, low=100, high=1500):
    return tuple((float(u), float(v)) for u in range(low, high, 20))


def found(*more):
    card = Candidate("card", ((700.0, 700.0), (900.0, 700.0), (900.0, 830.0), (700.0, 830.0)))
    told = (card, Candidate("edge", path(EDGE_V)), Candidate("line", path(FIRST_V), 1, 0.3), *more)
    return replace(invented.refused(), candidates=lettered(told))


def photo_part(drawn):
    return drawn[photo_top(drawn) :][: GREY_GROUND.shape[0]]


def share_drawn(part, colour, v, low=120, high=1480):
    """Share of the columns in which a colour shows within 8 px of a row: a dashed line shows in about half of them."""
    return near(part, colour)[v - 8 : v + 9, low:high].any(axis=0).mean()


def test_a_refused_photograph_shows_card_edge_and_lines_where_they_were_found():
    part = photo_part(overlay(GREY_GROUND, found(Candidate("line", path(SECOND_V), 2))))
    assert share_drawn(part, EDGE, EDGE_V) > 0.4
    assert share_drawn(part, LINE, FIRST_V) > 0.4
    assert share_drawn(part, LINE, SECOND_V) > 0.4
    white = near(part, (255, 255, 255))
    assert white[690:711, 720:880].any(axis=0).mean() > 0.9
    assert not share_drawn(part, LINE, 620)


def test_each_candidate_has_its_letter_at_a_place_of_its_own_and_in_the_legend(monkeypatch):
    written = []
    keep = Letters.write
    monkeypatch.setattr(
        Letters, "write", lambda self, at, words, *more: (written.append((words, at)), keep(self, at, words, *more))[1]
    )
    overlay(GREY_GROUND, found(Candidate("line", path(SECOND_V), 2)))
    places = {}
    for words, at in written:
        if words in ("A", "B", "C"):
            places.setdefault(words, []).append(at)
    # In the photograph, in the straightened lap, and in the legend.
    assert {letter: len(at) for letter, at in places.items()} == {"A": 3, "B": 3, "C": 3}
    across = sorted(at[0][0] for at in places.values())
    assert np.diff(across).min() > 200
    said = [words for words, _ in written]
    assert "could be the lap line, 30 in 100" in said
    assert "taken for the plank's edge" in said


def test_short_paths_in_one_place_are_not_lettered_on_top_of_each_other(monkeypatch):
    """Three paths over the same 300 px, beside a clamp: no two letters at one place across."""
    written = []
    monkeypatch.setattr(Letters, "write", lambda self, at, words, *more: written.append((words, at[0])))
    short = [Candidate("edge", path(v, 1000, 1300), rank) for rank, v in enumerate((400, 430, 460), start=1)]
    draw_found(GREY_GROUND.copy(), lettered(short), lambda points: points, Letters(), size=40)
    across = sorted(at for _, at in written)
    assert len(across) == 3
    assert np.diff(across).min() > 50


def test_edges_on_either_side_of_the_card_are_drawn_but_not_straightened_as_one_lap():
    both = found(Candidate("edge", path(1100), 2))
    drawn = overlay(GREY_GROUND, both)
    part = photo_part(drawn)
    assert share_drawn(part, EDGE, EDGE_V) > 0.4
    assert share_drawn(part, EDGE, 1100) > 0.4
    below = drawn[photo_top(drawn) + GREY_GROUND.shape[0] :]
    assert len(below) < GREY_GROUND.shape[0] / 3


def test_the_words_for_a_letter_say_how_likely_it_is_and_how_to_point_at_it():
    refused = found(Candidate("line", path(SECOND_V), 2))
    assert found_words(refused.candidates)["C"] == "could be the lap line, less likely"
    edge, first, _ = pointing_words(refused.candidates)
    assert edge[1] == f"--edge-at 800,{EDGE_V}"
    assert first[1] == f"--line-at 800,{FIRST_V}"


@pytest.mark.parametrize("make", [invented.one_photo, found])
@pytest.mark.parametrize("wide", [640, 1640, 4032])
def test_no_letters_are_smaller_than_a_phone_can_show(make, wide, monkeypatch):
    sizes = []
    keep = Letters.write
    monkeypatch.setattr(
        Letters,
        "write",
        lambda self, at, words, size, *more: (sizes.append(size), keep(self, at, words, size, *more))[1],
    )
    drawn = overlay(np.full((round(wide * 0.75), wide, 3), 128, np.uint8), make())
    assert sizes
    assert min(sizes) * PHONE_PX / drawn.shape[1] >= LEAST_LETTER_PX - 0.3


def test_the_edge_is_not_drawn_through_a_clamp():
    fit = invented.one_photo()
    # A photograph's samples carry the edge's place under the clamp too: worked out, not seen.
    samples = tuple(
        replace(s, edge_px=invented.to_px(s.along_mm, 0.5)) if s.state == "covered" else s for s in fit.samples
    )
    part = photo_part(overlay(GREY_GROUND, replace(fit, samples=samples)))
    clamp = slice(round(invented.to_px(25, 0)[0]), round(invented.to_px(55, 0)[0]))
    assert not near(part, EDGE)[:, clamp].any()
    assert near(part, EDGE)[:, round(invented.to_px(70, 0)[0])].any()


def test_states_without_a_number_look_each_another_way():
    looks = [(LOOKS[state].colour, LOOKS[state].hatch) for state in LOOKS]
    assert len(set(looks)) == len(looks)


def upright(fit, quarters):
    """An invented fit as a camera held upright sees it: its lap runs up and down. Quarters of a turn clockwise."""
    wide, high = GREY_GROUND.shape[1], GREY_GROUND.shape[0]

    def at(point):
        u, v = point
        return (high - 1 - v, u) if quarters == 1 else (v, wide - 1 - u)

    samples = tuple(
        replace(s, edge_px=s.edge_px and at(s.edge_px), line_px=s.line_px and at(s.line_px)) for s in fit.samples
    )
    corners = [at(point) for point in fit.reference["corners_px"]]
    return replace(fit, samples=samples, reference={**fit.reference, "corners_px": corners})


@pytest.mark.parametrize("keel", ["down", "up"])
@pytest.mark.parametrize("quarters", [1, 3])
def test_a_lap_that_runs_up_and_down_is_shown_level_and_the_numbers_stay(keel, quarters):
    fit = invented.one_photo(keel)
    held = upright(fit, quarters)
    portrait = np.full((GREY_GROUND.shape[1], GREY_GROUND.shape[0], 3), 128, np.uint8)
    turned_pixels, turned = levelled(portrait, held)
    assert turned_pixels.shape == GREY_GROUND.shape
    for shown, level in zip(turned.samples, fit.samples, strict=True):
        assert shown.edge_px is None or shown.edge_px == pytest.approx(level.edge_px)
        assert shown.line_px is None or shown.line_px == pytest.approx(level.line_px)
    assert np.allclose(turned.reference["corners_px"], fit.reference["corners_px"])
    assert (overlay(portrait, held) == overlay(GREY_GROUND, fit)).all()
    assert held.as_json()["samples"][3]["edge_px"] == [round(x, 2) for x in held.samples[3].edge_px]


def test_a_refused_lap_that_runs_up_and_down_is_turned_with_its_card_below_the_edge():
    card = Candidate("card", ((700.0, 300.0), (830.0, 300.0), (830.0, 500.0), (700.0, 500.0)))
    edge = Candidate("edge", tuple((420.0, float(v)) for v in range(100, 1500, 20)))
    portrait = np.full((1640, 1230, 3), 128, np.uint8)
    pixels, turned = levelled(portrait, Measurement("refused", {}, candidates=(card, edge)))
    assert pixels.shape[:2] == (1230, 1640)
    by_kind = {one.kind: np.array(one.points_px) for one in turned.candidates}
    assert np.ptp(by_kind["edge"][:, 1]) == 0
    assert by_kind["card"][:, 1].mean() > by_kind["edge"][:, 1].mean()


def edge_on():
    """An invented edge-on photograph: a slit of 8 px from u = 800 on, a clamp from u = 400 to 500."""
    samples = []
    for u in range(60, 1580, 20):
        covered, open_ = 400 <= u <= 500, u >= 800
        gap = None if covered else 0.8 if open_ else 0.0
        state = "covered" if covered else "open" if open_ else "closed"
        slit = None if covered else (float(u), EDGE_V + (8.0 if open_ else 0.0))
        samples.append(
            GapSample(
                float(u), gap, None if covered else 0.1, None, None, (float(u), float(EDGE_V)), state, slit_px=slit
            )
        )
    return GapMeasurement("measured", invented.settings(reference="thickness"), samples=tuple(samples))


def test_an_edge_on_picture_shows_edge_and_slit_as_traced():
    part = photo_part(gap_overlay(GREY_GROUND, edge_on()))
    blue, yellow = near(part, EDGE), near(part, LINE)
    assert blue[EDGE_V - 3 : EDGE_V + 4, 100:380].any(axis=0).all()
    assert yellow[EDGE_V + 5 : EDGE_V + 12, 820:1550].any(axis=0).all()
    assert not yellow[:, :780].any()
    assert not blue[:, 425:475].any()
    assert not yellow[:, 425:475].any()


def test_the_magnified_lap_shows_edge_and_slit_apart_and_the_wood_between_the_dashes():
    drawn = gap_overlay(GREY_GROUND, edge_on())
    below = drawn[photo_top(drawn) + GREY_GROUND.shape[0] :]
    blue, yellow = near(below, EDGE, 30), near(below, LINE, 30)
    # The last of three rows is open throughout.
    tall = np.flatnonzero(yellow[: len(below) // 2, 200:].any(axis=1))
    last = slice(tall.max() - 75, tall.max() + 3)
    rows = [np.flatnonzero(part[last].any(axis=1)).mean() for part in (blue, yellow)]
    zoom = drawn.shape[1] / ((1560 - 60) // 3)
    assert rows[1] - rows[0] == pytest.approx(8 * 2 * zoom, rel=0.25)
    assert 0.2 < yellow[last].any(axis=0).mean() < 0.6
