"""Two fits, or two sides, side by side: what surely differs is said, what may be noise is not."""

from __future__ import annotations

import math
import random
import re

import numpy as np
import pytest

from fitcheck.advice.states import state_of
from fitcheck.fitlog.by_hand import record_advised_cuts, record_cut
from fitcheck.fitlog.compare import compare
from fitcheck.fitlog.differ import changed, differences
from fitcheck.fitlog.fit_profile import Sample, merge
from fitcheck.fitlog.judged_by import Terms, terms_of
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.twin import twin
from fitcheck.ground.refusal import Refused, WrongCall
from fitcheck.hull.plank_name import PlankName
from fitcheck.report.record.between_lines import compare_lines, twin_lines
from tests.fitlog.made import HULL, cut, made_hull, measured

FOUR = PlankName(4, "port")


@pytest.fixture
def hull(tmp_path):
    return made_hull(tmp_path)


def put(hull, measurement, plank="4 port", **told):
    return record(measurement, db_path=hull.db_path, plank=plank, hull=hull, **told)


def compared(hull, plank=FOUR, **which):
    with reading(hull.db_path) as connection:
        return compare(connection, plank, terms_of(plank, hull), **which)


def noisy(source: np.random.Generator, u_mm: float, kind: str, places: np.ndarray) -> list[Sample]:
    """One profile of an edge that lies on the line, measured with errors of standard deviation ``u_mm``."""
    if kind == "white":
        error = source.normal(0, u_mm, len(places))
    elif kind == "common":
        error = np.full(len(places), source.normal(0, u_mm))
    else:  # each photograph, 400 mm wide, errs by itself by an offset and a tilt
        error = np.zeros(len(places))
        for start in range(0, 3000, 400):
            inside = (places >= start) & (places < start + 400)
            along = (places[inside] - start - 200) / 200
            error[inside] = u_mm * (source.normal() * math.sqrt(0.5) + source.normal() * along * math.sqrt(0.5))
    u95 = 1.96 * u_mm
    return [Sample(float(x), float(e), u95, state_of(float(e), u95, 0.8)) for x, e in zip(places, error, strict=True)]


@pytest.mark.parametrize("kind", ["white", "common", "photographs"])
def test_noise_is_called_no_change(kind):
    """Of 200 pairs of fits that differ by their stated noise alone, at most one in twenty is called changed.

    The band is 5 % and three standard deviations of that share among 200.
    """
    source = np.random.default_rng(7)
    places = np.arange(0, 3000, 5.0)
    wrong = 0
    for _ in range(200):
        first, second = (noisy(source, 0.15, kind, places) for _ in range(2))
        wrong += bool(changed(differences(first, second)))
    assert wrong <= 200 * (0.05 + 3 * math.sqrt(0.05 * 0.95 / 200))


@pytest.mark.parametrize("kind", ["white", "common", "photographs"])
def test_a_change_well_beyond_the_noise_is_found_where_it_is(kind):
    """A stretch of 300 mm moved by 1.2 mm, four half-widths of the difference, is found in 95 of 100 at least."""
    source = np.random.default_rng(8)
    places = np.arange(0, 3000, 5.0)
    found = 0
    for _ in range(100):
        first, second = (noisy(source, 0.1, kind, places) for _ in range(2))
        second = [
            Sample(s.place_mm, s.past_line_mm - (1.2 if 1000 <= s.place_mm <= 1300 else 0.0), s.u95_mm, s.state)
            for s in second
        ]
        hits = [stretch for stretch in changed(differences(first, second)) if stretch.from_mm < 1150 < stretch.to_mm]
        found += bool(hits) and abs(hits[0].from_mm - 1000) < 60 and abs(hits[0].to_mm - 1300) < 60
    assert found >= 95


def test_planed_as_asked_is_told_from_less_and_more(hull):
    asked = [cut(100, 300, 1.0), cut(400, 600, 1.0), cut(700, 900, 1.0)]
    put(hull, measured(1.5, u95_mm=0.1, planing={"verdict": "plane", "cuts": asked}))
    record_advised_cuts(hull.db_path, FOUR)
    # 1/32 in is told of 1 mm: what is compared is what the builder was told.
    taken = {100: 0.75, 400: 0.3, 700: 1.6}
    off = lambda x: next((depth for start, depth in taken.items() if start <= x <= start + 200), 0.0)  # noqa: E731
    put(hull, measured(lambda x: 1.5 - off(x), u95_mm=0.1))
    found = compared(hull)
    assert [planed.word for planed in found.planed] == ["as asked", "less than asked", "more than asked"]
    assert [round(planed.taken_mm, 2) for planed in found.planed] == [0.75, 0.3, 1.6]
    assert not found.movement.sure
    lines = [line for line in compare_lines(found, hull) if line.startswith("planed ")]
    told = [re.search(r"asked (.+) on average, reported (.+?);", line) for line in lines]
    assert all(one and one[1] == one[2] for one in told)
    assert {planed.asked_mm == planed.reported_mm for planed in found.planed} == {True}
    assert "as asked" in lines[0]


def test_a_plank_clamped_lower_is_not_called_planed(hull):
    """The whole plank slid 0.6 mm toward the keel and swung 0.5 mm over its metre; 0.8 mm came off in between."""
    put(hull, measured(0.5, u95_mm=0.1, planing={"verdict": "plane", "cuts": [cut(400, 600, 0.8)]}))
    record_advised_cuts(hull.db_path, FOUR)
    put(hull, measured(lambda x: 0.5 + 0.6 + 0.5 * (x - 500) / 1000 - (0.8 if 400 <= x <= 600 else 0.0), u95_mm=0.1))
    found = compared(hull)
    assert found.movement.sure
    assert found.movement.slide_mm == pytest.approx(0.6, abs=0.02)
    assert found.movement.swing_mm_per_m == pytest.approx(0.5, abs=0.05)
    (planed,) = found.planed
    assert planed.taken_mm == pytest.approx(0.8, abs=0.03)
    assert planed.word == "as asked"
    assert "toward the keel" in "\n".join(compare_lines(found, hull))


def test_what_got_worse_is_said(hull):
    put(hull, measured(0.1, u95_mm=0.1))
    put(hull, measured(lambda x: -1.4 if x > 700 else 0.1, u95_mm=0.1))
    (worse,) = compared(hull).worse
    assert worse.most_mm == pytest.approx(1.3, abs=0.05)
    assert worse.from_mm == pytest.approx(700, abs=30)
    assert "further from the line" in "\n".join(compare_lines(compared(hull), hull))


def test_nothing_changed_is_said_in_words(hull):
    put(hull, measured(0.1))
    put(hull, measured(0.2))
    assert "no change beyond the doubt" in "\n".join(compare_lines(compared(hull), hull))


def test_a_cut_made_by_the_builder_alone_is_seen_too(hull):
    put(hull, measured(1.0, u95_mm=0.1))
    record_cut(hull.db_path, FOUR, from_mm=0, to_mm=200, deepest_mm=0.8)
    put(hull, measured(lambda x: 0.2 if x <= 200 else 1.0, u95_mm=0.1))
    (planed,) = compared(hull).planed
    assert (planed.asked_mm, planed.reported_mm, planed.word) == (None, 0.8, "as reported")


def test_fits_are_named_by_number(hull):
    for value in (1.0, 0.5, 0.0):
        put(hull, measured(value))
    assert (compared(hull).old.number, compared(hull).new.number) == (2, 3)
    assert (compared(hull, old=1).old.number, compared(hull, old=1, new=2).new.number) == (1, 2)
    with pytest.raises(WrongCall, match="no fit 9"):
        compared(hull, old=9)


def test_one_fit_has_none_before_it(hull):
    put(hull, measured(1.0))
    with pytest.raises(WrongCall, match="no fit on record before fit 1: two fits are needed"):
        compared(hull)


def test_fits_without_common_places_are_refused(hull):
    put(hull, measured(places_mm=range(0, 400, 5)))
    put(hull, measured(0.1, places_mm=range(600, 1000, 5)))
    with pytest.raises(Refused, match="no measured place in common"):
        compared(hull)
    put(hull, measured(0.2, frame="along_mm"))
    with pytest.raises(Refused, match="no places along the plank"):
        compared(hull)


def test_twins_alike_and_not_alike(hull):
    shape = lambda x: 0.3 * math.sin(x / 150)  # noqa: E731
    put(hull, measured(shape, u95_mm=0.15))
    put(hull, measured(shape, u95_mm=0.15), plank="4 starboard")
    with reading(hull.db_path) as connection:
        assert "twins within the doubt" in "\n".join(twin_lines(twin(connection, FOUR, hull), hull))
    put(hull, measured(lambda x: shape(x) - (1.0 if x < 400 else 0.0), u95_mm=0.15), plank="4 starboard")
    with reading(hull.db_path) as connection:
        found = twin(connection, FOUR.twin(), hull)
    (stretch,) = found.changed
    assert stretch.by_mm == pytest.approx(-1.0, abs=0.05)
    assert stretch.to_mm == pytest.approx(400, abs=30)
    said = "\n".join(twin_lines(found, hull))
    assert "port lies" in said
    assert "starboard on the left" in said  # facing aft from the bow, starboard is on the left hand (fact of the trade)


def test_a_side_numbered_from_the_stern_is_mirrored(tmp_path):
    hull = made_hull(tmp_path, HULL + '\n[stations]\nnumbered_from = { port = "bow", starboard = "stern" }\n')
    put(hull, measured(lambda x: x / 1000, u95_mm=0.1))
    put(hull, measured(lambda x: (1000 - x) / 1000, u95_mm=0.1), plank="4 starboard")
    with reading(hull.db_path) as connection:
        found = twin(connection, FOUR, hull)
    assert len(found.raw) == 201
    assert max(abs(difference.by_mm) for difference in found.raw) < 1e-9


def test_sets_of_photographs_are_joined_with_care():
    """Two sets that agree gain nothing; two that do not carry their disagreement."""
    places = [5.0 * i for i in range(20)]
    one = [Sample(x, 0.0, 0.2, "on") for x in places]
    alike = [Sample(x, 0.1, 0.2, "on") for x in places]
    apart = [Sample(x, 1.0, 0.2, "past") for x in places]
    joined = merge([one, alike], Terms())
    assert [s.past_line_mm for s in joined] == pytest.approx([0.05] * 20)
    assert [s.u95_mm for s in joined] == pytest.approx([0.2] * 20)
    torn = merge([one, apart], Terms())
    assert {s.state for s in torn} == {"unsure"}
    assert all(s.u95_mm >= 0.5 for s in torn)


def test_samples_off_the_grid_lie_where_they_lie():
    source = random.Random(3)
    take = [Sample(4.7 * i + source.uniform(-0.3, 0.3), 0.0, 0.1, "on") for i in range(100)]
    profile = merge([take], Terms(from_mm=-50.0, to_mm=500.0))
    assert {place.state for place in profile if 0 < place.place_mm < 460} == {"on"}
    assert profile[0].state == "unseen"
    assert profile[-1].state == "unseen"
