"""The report of an edge-on view, and the command: what is said, what is written, and how it exits."""

import json
import re
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from typer import Typer
from typer.testing import CliRunner

from fitcheck.answering.gap_answers import joined_gap_json
from fitcheck.cli.gap import gap
from fitcheck.contract.gap_measurement import GAP_STATES, GapMeasurement, GapSample
from fitcheck.ground.candidates import candidate, lettered
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import Reason, WrongCall
from fitcheck.picture.photo import Photo
from fitcheck.report.edge.brief import MOST_EACH, MOST_LINES
from fitcheck.report.gap.gap_chart import gap_chart
from fitcheck.report.gap.gap_overlay import gap_overlay
from fitcheck.report.gap.gap_page import gap_page_html
from fitcheck.report.gap.gap_wording import gap_wording
from fitcheck.report.gap.gap_words import brief_gap_lines, gap_lines, table_rows
from fitcheck.report.gap.gap_write import write_gap_report


def invented(**more):
    """An invented lap: closed, then open, then not to be told, then under a clamp."""
    samples = []
    for number, place in enumerate(np.arange(-100.0, 101.0, 5.0)):
        state = ("closed", "open", "unsure", "covered")[min(number // 10, 3)]
        gap = {"closed": 0.0, "open": 0.5, "unsure": 0.2, "covered": None}[state]
        doubt = None if gap is None else 0.12
        step = None if gap is None else 9.5
        pixel = (300.0 + 3 * place, 200.0)
        samples.append(GapSample(float(place), gap, doubt, step, None if step is None else 0.4, pixel, state))
    settings = {"units": "mm", "keel": "down", "plank": "4 port (invented)"}
    known = {"samples": tuple(samples), "least_gap_mm": 0.18, "reference": {"kind": "id1"}}
    return GapMeasurement("measured", settings, **{**known, **more})


def test_a_closed_lap_is_closed_under_something_never_nothing():
    text = "\n".join(gap_lines(invented()))
    assert re.search(r"closed, under 0\.12 mm", text)
    assert "In half of the places a gap of 0.18 mm or more would surely have shown" in text


def test_where_the_corner_is_eased_a_feeler_decides_at_those_places_and_is_asked_for_once():
    """Unsure from 0 to 45 mm and closed from -65 to -55 mm, all of it over an eased corner."""
    known = invented()
    eased = [
        replace(one, flags=("corner-eased",)) if one.state == "unsure" or -65.0 <= one.along_mm <= -55.0 else one
        for one in known.samples
    ]
    text = " ".join(" ".join(gap_lines(replace(known, samples=tuple(eased)))).split())
    assert "a feeler decides here: " in text
    assert "open there by up to 0.32 mm" in text  # 0.2 and 0.12 at the unsure places
    assert "try a feeler there" not in text
    assert "try a feeler there" in " ".join(gap_lines(known))
    assert "a feeler decides" not in " ".join(gap_lines(known))
    assert len(brief_gap_lines(replace(known, samples=tuple(eased)), most=MOST_LINES)) <= MOST_LINES


def test_what_cannot_be_seen_from_outside_is_said():
    assert "inside" in " ".join(gap_lines(invented()))


def test_a_refusal_says_what_to_do():
    reason = Reason("no-edge", "No edge is in sight. Look up along the face.")
    refused = GapMeasurement("refused", {}, reasons=(reason,))
    assert gap_lines(refused)[1] == "NOT MEASURED"
    assert "Look up along the face" in " ".join(gap_lines(refused))
    assert not refused


def test_the_page_is_whole_in_itself_and_escapes_what_comes_from_outside():
    page = gap_page_html(invented(), chart_svg=gap_chart(invented()))
    assert "http" not in re.sub(r'src="data:[^"]*"', "", page)
    assert "<script>" not in gap_page_html(GapMeasurement("refused", {"plank": "<script>"}))


def test_the_picture_shows_every_state_apart_from_the_wood():
    blank = np.full((400, 600, 3), 120, np.uint8)
    drawn = gap_overlay(blank, invented())
    assert drawn.shape[1] == 600
    assert drawn.shape[0] > 400
    assert (drawn[:, :, 1] == 158).any()  # the green of closed


def test_the_report_folder_is_written_whole(tmp_path):
    photo = Photo(np.full((400, 600, 3), 120, np.uint8), Path("a.jpg"), "", 1, (600, 400))
    paths = write_gap_report(invented(), [(photo, invented())], tmp_path / "out", date="2000-01-01")
    names = ["gap.html", "gap_picture_1.jpg", "gap_chart.svg", "gap_ticket.pdf", "gap.json"]
    assert [path.name for path in paths] == names
    told = json.loads(paths[-1].read_text())
    assert {sample["state"] for sample in told["samples"]} == set(GAP_STATES)
    assert cv2.imread(str(paths[1])) is not None


def test_of_many_photographs_not_used_six_are_drawn_lettered_and_named(tmp_path):
    photo = Photo(np.full((400, 600, 3), 120, np.uint8), Path("a.jpg"), "", 1, (600, 400))
    edge = lettered([candidate("edge", np.array([[50.0, 200.0], [300.0, 205.0], [550.0, 210.0]]))])
    lost = GapMeasurement("refused", {}, reasons=(Reason("no-edge", "No edge."),), candidates=edge)
    names = [f"b{k}.jpg" for k in range(8)]
    photos = [(photo, invented()), *((replace(photo, path=Path(name)), lost) for name in names)]
    several = invented(photos=({"name": "a.jpg"}, *({"name": name} for name in names)))
    write_gap_report(several, photos, tmp_path, date="2000-01-01")
    assert len(list(tmp_path.glob("gap_picture_*.jpg"))) == 7
    drawn = cv2.imread(str(tmp_path / "gap_picture_2.jpg")).astype(int)
    assert ((drawn[:, :, 0] - drawn[:, :, 2]) > 60).any(), "the edge that was found is drawn blue"
    page = (tmp_path / "gap.html").read_text(encoding="utf-8")
    assert "Photograph b0.jpg, not used: what was found in it" in page
    assert "--edge-at" not in page


def test_of_several_photographs_one_measured_is_measured():
    refused = GapMeasurement("refused", {}, reasons=(Reason("no-edge", "none"),), photos=({"name": "a.jpg"},))
    joined = joined_gap_json([refused, invented(photos=({"name": "b.jpg"},))])
    assert joined["state"] == "measured"
    assert len(joined["measurements"]) == 2
    assert [photo["state"] for photo in joined["photos"]] == ["refused", "measured"]


@pytest.fixture
def app():
    made = Typer()
    made.command("gap")(gap)
    made.callback()(lambda: None)
    return made


def camera_file(folder):
    from fitcheck.calibration.camera import Camera, save_camera

    matrix = np.array([[800.0, 0, 320], [0, 800, 240], [0, 0, 1]])
    return save_camera(Camera(matrix, np.zeros(5), (640, 480)), folder / "c.json")


def test_the_command_refuses_bare_paper_and_still_writes_json(app, tmp_path):
    cv2.imwrite(str(tmp_path / "bare.png"), np.full((480, 640, 3), 200, np.uint8))
    call = ["gap", str(tmp_path / "bare.png"), "--camera", str(camera_file(tmp_path)), "--thickness", "9.5mm"]
    done = CliRunner().invoke(app, [*call, "--json", str(tmp_path / "answer.json")])
    assert done.exit_code == 3, done.output
    answer = json.loads((tmp_path / "answer.json").read_text())
    assert answer["state"] == "refused"
    assert answer["reasons"][0]["text"]


@pytest.mark.parametrize("more", [["--thickness", "lots"], ["--thickness", "9.5mm", "--bevel", "80deg"], []])
def test_a_wrong_call_is_one(app, tmp_path, more):
    cv2.imwrite(str(tmp_path / "bare.png"), np.full((480, 640, 3), 200, np.uint8))
    done = CliRunner().invoke(app, ["gap", str(tmp_path / "bare.png"), "--camera", str(camera_file(tmp_path)), *more])
    assert isinstance(done.exception, WrongCall)


@pytest.mark.parametrize("most", [MOST_LINES, MOST_EACH])
def test_the_terminal_gets_a_short_answer_that_counts_what_it_leaves_out(most):
    """Twelve open stretches find no room: those told and those counted are all there are."""
    samples = tuple(
        GapSample(5.0 * i, 0.5 if i % 12 < 6 else 0.0, 0.05, 9.5, 0.2, (0.0, 0.0), "open" if i % 12 < 6 else "closed")
        for i in range(144)
    )
    measured = replace(invented(), samples=samples)
    lines = brief_gap_lines(measured, most=most)
    assert len(lines) <= most
    assert lines[1].startswith("OPEN")
    assert any(line.endswith("more: --all") for line in lines)
    everything = gap_lines(measured)
    assert sum(line.startswith("  open ") for line in everything) == 12
    assert lines[2] in everything


def test_places_of_a_lap_are_the_tapes_once_it_is_told_where_the_card_lay():
    settings = {**invented().settings, "at_mm": 1219.2, "along_sign": -1, "tape": "feet"}
    rising = [parse_length(place) for place, _, _ in table_rows(*of_tape(settings))]
    assert rising == sorted(rising)
    measured, wording = of_tape(settings)
    text = " ".join("\n".join(gap_lines(measured)).split())
    assert not re.search(r"in (left|right)\b", text)
    assert "the reference's middle lies at 1219 mm." in text
    for sample in measured.samples[::20]:
        assert parse_length(wording.place(sample.place_mm())) == pytest.approx(1219.2 - sample.place_mm(), abs=0.5)


def of_tape(settings):
    measured = replace(invented(), settings=settings, reference={"kind": "id1"})
    return measured, gap_wording(measured)


def test_what_was_seen_is_said_of_what_and_never_rounded_up():
    samples = tuple(
        GapSample(5.0 * i, None if i == 7 else 0.0, None if i == 7 else 0.05, None, None, (0.0, 0.0), "closed")
        for i in range(250)
    )
    text = "\n".join(gap_lines(replace(invented(), samples=samples)))
    assert re.search(r"Seen: 99 % of the .* of lap photographed\.", text)
