"""Wood is asked off only where a lap is surely open, and the record says what the ticket says. Invented laps."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

from fitcheck.advice.bevel import bevel_advice
from fitcheck.advice.gain_run import gain_advice
from fitcheck.contract.gain import GainShape
from fitcheck.contract.gap_measurement import GapMeasurement, GapSample
from fitcheck.fitlog import queries
from fitcheck.fitlog.judged_by import terms_of
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.fitlog.summary import summary_of
from fitcheck.hull.plank_name import PlankName
from fitcheck.one_photo.seam import take_off
from fitcheck.report.edge.wording import Wording
from fitcheck.report.gap.gap_advice import advice_lines, gain_lines
from fitcheck.report.gap.gap_page import gap_page_html
from fitcheck.report.gap.gap_ticket import gap_ticket_pdf, profile_at
from fitcheck.report.gap.gap_words import gap_lines, gap_verdict, open_lines
from fitcheck.report.record.lap_on_record import lap_lines
from tests.fitlog.made import made_hull, measured

FOUR = PlankName(4, "port")
SETTINGS = {"units": "mm", "thickness_mm": 12.7, "lap_mm": 25.4}


def at(place, state="open", gap=0.6, u95=0.1, proud=12.7, proud_u95=0.3, flags=()):
    gap = {"closed": 0.0, "covered": None}.get(state, gap)
    u95 = None if gap is None else u95
    return GapSample(None, gap, u95, proud, proud_u95, (float(place), 500.0), state, flags, plank_mm=float(place))


def seen(samples, **parts):
    bevel = bevel_advice(samples, lap_mm=25.4, thickness_mm=12.7)
    parts = {"bevel": bevel, "least_gap_mm": 0.1, **parts}
    return GapMeasurement("measured", SETTINGS, samples=tuple(samples), **parts)


def words(pdf):
    document = pypdfium2.PdfDocument(pdf)
    said = " ".join(page.get_textpage().get_text_bounded() for page in document)
    document.close()
    return said.replace("\r\n", " ")


@pytest.mark.parametrize("between", ["unsure", "closed", "covered", None])
def test_no_bevel_is_asked_for_across_a_place_that_is_not_surely_open(between):
    """Two open stretches with one place, or 15 mm that no photograph saw, between them."""
    places = [*range(0, 51, 5), *range(65, 121, 5)] if between is None else range(0, 121, 5)
    samples = [at(x, between if 52 < x < 64 and between else "open") for x in places]
    runs = bevel_advice(samples, lap_mm=25.4, thickness_mm=12.7)["runs"]
    assert [(run["from_mm"], run["to_mm"]) for run in runs] == [(0.0, 50.0), (65.0, 120.0)]
    assert profile_at(runs, 57.0) == 0.0
    line = " ".join(open_lines(seen(samples)))
    assert "0 to 50 mm" in line
    assert "65 mm to 120 mm" in line
    assert "0 to 120 mm" not in line


def test_the_widest_place_told_lies_in_a_stretch_told_open():
    """A place or two by themselves are too short to be told, however wide; alone they are told as about a place."""
    wide = {120.0: 0.9, 125.0: 0.9}
    samples = [at(x, gap=wide.get(float(x), 0.5)) for x in [*range(0, 101, 5), 120, 125]]
    (line,) = open_lines(seen(samples))
    assert line.startswith("open from 0 to 100 mm, widest 0.50 mm")
    (alone,) = open_lines(seen([at(120.0, gap=0.9)]))
    assert alone.startswith("open about 120 mm, widest 0.90 mm")


def test_the_ticket_asks_no_wood_at_an_unsure_place_between_two_open_ones():
    """At 50 mm, a round place of the ticket, the lap is unsure: its row has no depth."""
    samples = [at(x, "unsure", 0.2, 0.3) if 45 <= x <= 55 else at(x) for x in range(0, 101, 5)]
    fit = seen(samples)
    assert len(fit.bevel["runs"]) == 2
    said = words(gap_ticket_pdf(fit))
    row = said[said.index(" 50 mm unsure") :].removeprefix(" 50 mm ")
    assert row.startswith("unsure, up to 0.50 mm 12.7 mm")


def test_a_gain_asks_no_wood_off_across_a_place_that_is_not_surely_too_high():
    shape = GainShape(200.0, 8.0, end_mm=100.0)
    places = np.arange(-150.0, 151.0, 5.0)
    high = np.where((places >= -60) & (places <= -10) & (places != -35.0), 1.0, 0.0)
    heights = shape.height_mm(places, 100.0) + high
    samples = [at(x, "closed", proud=float(h), proud_u95=0.2) for x, h in zip(places, heights, strict=True)]
    advice = gain_advice(samples, shape)
    assert [(run["from_mm"], run["to_mm"]) for run in advice["take_off"]] == [(-60.0, -40.0), (-30.0, -10.0)]


def test_a_seam_takes_nothing_off_across_an_open_place():
    samples = [
        GapSample(x, 0.0 if x != 25.0 else 0.8, 0.1, None, None, (0.0, 0.0), "closed" if x != 25.0 else "open")
        for x in np.arange(0.0, 51.0, 2.5)
    ]
    fit = GapMeasurement(
        "measured", SETTINGS, samples=tuple(samples), reference={"seam": True}, bevel=take_off(samples)
    )
    (line,) = advice_lines(fit)
    assert line.startswith(("it bears from 0 to 22 mm, from 28 mm to 50 mm", "it bears from 0 to 23 mm, from 28 mm"))


def test_a_step_as_doubtful_as_it_is_high_is_unsure_in_table_ticket_and_page():
    fit = seen([at(x, "closed", proud=5.4, proud_u95=6.06) for x in range(0, 201, 5)])
    for said in ("\n".join(gap_lines(fit)), words(gap_ticket_pdf(fit)), gap_page_html(fit)):
        assert "unsure: at most 11.46 mm" in said
        assert "5.4 mm" not in said
    assert "The step is unsure" in "\n".join(gap_lines(fit))
    sure = seen([at(x, "closed", proud=5.4, proud_u95=0.6) for x in range(0, 201, 5)])
    assert "5.4 mm ± 0.60 mm" in "\n".join(gap_lines(sure))


def test_whether_a_doubtful_end_comes_flush_is_unsure():
    shape = GainShape(200.0, 8.0, end_mm=100.0)
    places = np.arange(-150.0, 121.0, 5.0)
    samples = [
        at(x, "closed", proud=float(h) + 4.0, proud_u95=6.06)
        for x, h in zip(places, shape.height_mm(places, 100.0), strict=True)
    ]
    advice = gain_advice(samples, shape)
    assert advice["flush"] is None
    assert "unsure whether it comes flush" in gain_lines(advice, Wording(units="mm"))[-1]
    near = [
        at(x, "closed", proud=float(h), proud_u95=0.3)
        for x, h in zip(places, shape.height_mm(places, 100.0), strict=True)
    ]
    assert gain_advice(near, shape)["flush"] is True


@pytest.mark.parametrize(
    ("states", "needed"),
    [
        ({}, "CLOSED: The lap is closed wherever it was seen."),
        ({range(400, 500): "unsure"}, "LOOK AGAIN: Nowhere is the lap surely open, but in places it cannot be told."),
        ({range(400, 500): "open"}, "open 1 ft 3-3/4 in to"),
    ],
)
def test_the_record_says_of_the_lap_what_the_ticket_says(tmp_path, states, needed):
    samples = []
    for x in range(0, 1001, 5):
        state = next((state for span, state in states.items() if x in span), "closed")
        samples.append(at(x, state, *((0.2, 0.3) if state == "unsure" else ())))
    fit = GapMeasurement(
        "measured",
        {**SETTINGS, "units": "in"},
        samples=tuple(samples),
        reference={"kind": "station"},
        bevel=bevel_advice(samples, lap_mm=25.4, thickness_mm=12.7),
    )
    hull = made_hull(tmp_path)
    for taken in (measured(0.1), fit.as_json()):
        record(taken, db_path=hull.db_path, plank="4 port", hull=hull)
    with reading(hull.db_path) as connection:
        found = queries.fit(connection, FOUR)
        on_record = lap_lines(connection, found.id, summary_of(connection, found.id, terms_of(FOUR, hull)), hull)
    ticket = words(gap_ticket_pdf(fit))
    headline, means = gap_verdict(fit)
    assert on_record[0] == f"{headline}: {means}"
    assert means in ticket
    assert "widest gap" not in " ".join(on_record)
    assert [line for line in on_record if line.startswith("open from")] == open_lines(fit)
    asked = [line for line in on_record if "plane the lap of the strake below" in line]
    assert asked == [line for line in advice_lines(fit) if "plane the lap of the strake below" in line]
    assert all(line in ticket for line in asked)
    if not needed.startswith("open"):
        assert needed in on_record
    else:
        assert asked
