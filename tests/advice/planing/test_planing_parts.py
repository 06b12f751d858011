"""The advice for a plank in parts: what one part asks for holds the others back, and what nobody saw is not good."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.advice.planing.advice_in_parts import with_advice
from fitcheck.advice.planing.planing_advice import advise
from fitcheck.advice.states import state_of
from fitcheck.contract.measurement import Measurement, Part, Sample
from fitcheck.report.edge.answer import planing_lines, title
from fitcheck.report.edge.brief import brief_lines
from fitcheck.report.edge.part_words import frame_line
from fitcheck.report.edge.table import table_lines
from fitcheck.report.edge.wording import Wording

LIMIT = 0.8
LOST = {
    "name": "c.jpg",
    "state": "refused",
    "part": None,
    "cards": [],
    "reasons": [{"code": "photo-soft", "text": "c.jpg is blurred. Take it again."}],
}
USED = {"state": "measured", "reasons": []}


def part(number, of, from_card, past_mm, *, tied_by=None, photos=()):
    """One part of a plank, 600 mm long, whose edge lies ``past_mm`` of the place."""
    cards = (from_card, from_card + 1, from_card + 2)
    told = Part(number, of, from_card, cards, (f"{number}.jpg",), tied_by)
    samples = tuple(
        Sample(None, past_mm(x), 0.2, state_of(past_mm(x), 0.2, LIMIT), plank_mm=float(x), part=number)
        for x in range(0, 601, 5)
    )
    stations = tuple({"number": n, "plank_mm": 300.0 * k, "u95_mm": 1.0} for k, n in enumerate(cards))
    mine = {**USED, "name": f"{number}.jpg", "part": number, "cards": list(cards)}
    return Measurement(
        "measured",
        {"plank": "4 port", "limit_mm": LIMIT},
        reference={"kind": "station", "from_card": from_card},
        samples=samples,
        stations=stations,
        photos=(mine, *photos),
        part=told,
    )


def together(*parts):
    every = tuple(sample for one in parts for sample in one.samples)
    return replace(parts[0], samples=every, part=None, parts=parts)


def advised(measurement, **told):
    told = {"limit_mm": LIMIT, "lap_mm": 25.4} | told
    return with_advice(
        measurement,
        lambda samples, length_mm: advise(samples, plank_length_mm=length_mm, may_turn=length_mm is None, **told),
    )


def hump(x):
    return 2.0 - ((x - 300.0) / 150.0) ** 2


def test_a_cut_says_the_card_that_it_counts_from():
    answer = advised(together(part(1, 2, 0, lambda x: 0.0, tied_by="card 0"), part(2, 2, 4, hump)), may_slide_mm=0.0)
    assert answer.planing["verdict"] == "plane"
    assert [cut["from_card"] for cut in answer.planing["cuts"]] == [4]
    assert any(line.endswith("counted from card 4") for line in planing_lines(answer.planing, Wording()))
    assert [title(one) for one in answer.parts] == ["4 port, cards 0 to 2", "4 port, cards 4 to 6"]
    whole = "\n".join(table_lines(answer, Wording()))
    for one in answer.parts:
        assert frame_line(one.part) in whole
    assert len(brief_lines(answer, Wording())) <= 15


def test_where_one_part_asks_for_a_slide_nothing_is_planed_in_the_other():
    short = part(1, 2, 0, lambda x: -1.5 - x / 2000.0, tied_by="card 0")
    answer = advised(together(short, part(2, 2, 4, hump)))
    assert answer.planing["first"] == "slide"
    assert answer.planing["cuts"] == []
    assert [cut["from_card"] for cut in answer.planing["might_plane"] if cut["from_card"] == 4] == [4]
    assert all(one.planing["cuts"] == [] for one in answer.parts)
    assert answer.planing["slide_mm"] > 0
    # How the parts lie to each other is not known, so no swing can be told.
    assert [one.planing["swing_mm_per_m"] for one in answer.parts] == [0.0, 0.0]


def test_nothing_in_parts_is_good_as_a_whole():
    answer = advised(together(part(1, 2, 0, lambda x: 0.0, tied_by="card 0"), part(2, 2, 4, lambda x: 0.0)))
    assert [one.planing["verdict"] for one in answer.parts] == ["good", "good"]
    assert answer.planing["verdict"] == "look again"


def test_a_photograph_that_could_not_be_used_keeps_a_plank_from_being_good():
    good = advised(part(1, 1, 0, lambda x: 0.0, tied_by="card 0"))
    assert good.planing["verdict"] == "good"
    answer = advised(part(1, 1, 0, lambda x: 0.0, tied_by="card 0", photos=(LOST,)))
    assert answer.planing["verdict"] == "look again"
    assert "c.jpg could not be used" in answer.planing["warnings"][-1]["text"]
    # One whose cards lie where others saw everything takes nothing away, nor does one given twice.
    for spare in (
        {**LOST, "part": 1, "cards": [1]},
        {**LOST, "reasons": [{"code": "photo-repeated", "text": "c.jpg"}]},
    ):
        shown = advised(part(1, 1, 0, lambda x: 0.0, tied_by="card 0", photos=(spare,)))
        assert shown.planing["verdict"] == "good"


def test_an_end_that_no_photograph_shows_keeps_a_plank_from_being_good():
    seen = part(1, 1, 0, lambda x: 0.0, tied_by="card 0")
    assert advised(replace(seen, settings={**seen.settings, "ends_mm": (0.0, 650.0)})).planing["verdict"] == "good"
    missed = advised(replace(seen, settings={**seen.settings, "ends_mm": (0.0, 900.0)}))
    assert missed.planing["verdict"] == "look again"


def test_a_cut_that_runs_to_the_end_of_a_part_is_not_carried_on():
    rising = part(1, 2, 0, lambda x: x / 300.0, tied_by="card 0")
    answer = advised(together(rising, part(2, 2, 4, lambda x: 0.0)), may_slide_mm=0.0)
    assert "cut-stops-unseen" in [warning["code"] for warning in answer.planing["warnings"]]


def test_far_from_the_cards_a_place_that_is_not_surely_past_is_not_cut():
    """At the rim of a photograph a trace was 0.9 mm off where its doubt said 0.5."""
    near = [Sample(None, 0.75, 0.4, "unsure", plank_mm=float(x)) for x in range(0, 101, 5)]
    far = [replace(sample, flags=("far-from-reference",)) for sample in near]
    assert advise(near, limit_mm=LIMIT, may_slide_mm=0.0)["cuts"]
    assert not advise(far, limit_mm=LIMIT, may_slide_mm=0.0)["cuts"]
