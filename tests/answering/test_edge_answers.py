"""Square-on answers to a request, as any caller asks for them: measured, advised, put on record, written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fitcheck.answering.edge_answers import measure_request, write_answers
from fitcheck.answering.given import Given, GivenMove
from fitcheck.answering.on_record import record_answers
from fitcheck.answering.read_request import read_request
from fitcheck.answering.request import ForRecord, MeasurementRequest, Output
from fitcheck.contract.hints import Hints
from fitcheck.contract.settings import Settings
from fitcheck.fitlog import queries
from fitcheck.fitlog.store import reading
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.plank_name import PlankName
from tests.cli.running import run_here
from tests.fitlog.made import made_hull
from tests.samples import PLAIN, TEAL

LAP = {"reference": "id1", "thickness": "12.7mm", "lap": "25.4mm", "bevel": "6deg"}


def test_a_request_is_answered_as_the_command_line_answers_it(tmp_path):
    told = ["--camera", TEAL, "--reference", "id1", "--thickness", "12.7mm", "--lap", "25.4mm", "--bevel", "6deg"]
    done = run_here("measure", PLAIN, *told, "--may-slide", "2mm", "--json", tmp_path / "answer.json")
    assert done.returncode == 0
    shares = []
    request = read_request([PLAIN], Given(**LAP), camera=TEAL, move=GivenMove(may_slide="2mm"))
    answers = measure_request(request, shares.append)
    given = json.loads(json.dumps(answers[0].measurement.as_json()))
    assert given == json.loads((tmp_path / "answer.json").read_text())
    assert shares == [1.0]


def test_one_call_measures_records_and_writes(tmp_path):
    hull = made_hull(tmp_path)
    request = read_request(
        [PLAIN],
        Given(**LAP, plank="4 port"),
        camera=TEAL,
        hull=hull,
        record=ForRecord(who="A", note="dry", clamps="tight"),
        output=Output(folder=tmp_path / "report"),
    )
    answers = measure_request(request)
    heard = []
    read = [photo for one in answers for photo in one.read]
    kept = record_answers([one.measurement for one in answers], read, request, heard.append)
    assert [str(one) for one in heard] == list(kept.recorded) == ["recorded as fit 1 of 4 port"]
    with reading(hull.db_path) as connection:
        (fit,) = queries.fits(connection, PlankName(4, "port"))
    assert fit.number == 1
    written = write_answers(answers, request)
    assert Path(tmp_path / "report" / "report.html") in written
    assert all(path.exists() for path in written)


def test_a_request_in_mm_needs_no_text():
    settings = Settings(reference="id1", thickness_mm=12.7, hints=Hints(edge_at_px=((9000.0, 20.0),)))
    with pytest.raises(WrongCall, match="--edge-at 9000,20 lies outside"):
        measure_request(MeasurementRequest(photos=(PLAIN,), camera=TEAL, settings=settings))
