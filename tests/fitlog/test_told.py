"""What is told to the record in words: kept as text, shown without its codes, and no formula in a table."""

from __future__ import annotations

import csv
import io
import os
import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.cli.main import run
from fitcheck.fitlog.recording import record
from fitcheck.fitlog.store import reading
from fitcheck.hull.plank_name import PlankName
from tests.fitlog.made import cut, made_hull, measured

#: What a shell hands over for bytes that are no UTF-8, and what moves a terminal's cursor or title.
NO_TEXT, CODES = "\udcff", "\x1b]0;title\x07\x1b[2J\x9b1m"
HULL = 'name = "Invented \U0001f6f6 \\u001b[31m"\nlap = "1in"\nthickness = "1/2in"\n'
HULL += '[[strakes]]\nnumber = 4\nfrom = "0mm"\nto = "1000mm"\n'


@pytest.fixture
def hull(tmp_path, monkeypatch):
    hull = made_hull(tmp_path, HULL)
    monkeypatch.chdir(tmp_path)
    planing = {"verdict": "plane", "cuts": [cut(100, 300, 1.2)]}
    told = {"who": f"A {CODES}{NO_TEXT}", "note": f"=cmd() {CODES}"}
    record(measured(1.5, planing=planing), db_path=hull.db_path, plank="4 port", hull=hull, **told)
    return hull


def said(capsys, *words):
    status = run(list(words))
    out, err = capsys.readouterr()
    assert not [sign for sign in out + err if (ord(sign) < 32 and sign not in "\n\r") or 0x7F <= ord(sign) < 0xA0]
    return status, out, err


def test_codes_in_names_and_notes_are_shown_in_letters(hull, capsys):
    assert said(capsys, "log", "list")[0] == 0
    for words in (["list", "--all"], ["show", "4 port"], ["export", "json"]):
        status, out, _ = said(capsys, "log", *words)
        assert status == 0
        assert "\\u001b" in out


@pytest.mark.parametrize(
    "words",
    [
        ["cut", "4 port", "--from", "1in", "--to", "2in", "--depth", "1mm", "--who", NO_TEXT, "--note", NO_TEXT],
        ["cut", "4 port", "--as-asked", "--who", NO_TEXT],
        ["feeler", "4 port", "--blade", "0.1mm", "--goes-in", "--at", "1in", "--who", NO_TEXT, "--note", NO_TEXT],
        ["sign", "4 port", "--who", "A", "--overrule", f"because {NO_TEXT}"],
        ["withdraw", "4 port", "--fit", "1", "--who", "A", "--why", f"wrong {NO_TEXT}"],
    ],
)
def test_what_is_no_text_is_kept_as_far_as_it_is(hull, capsys, words):
    status, _, err = said(capsys, "log", *words)
    assert status == 0, err
    with reading(hull.db_path) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


@pytest.mark.parametrize("who", ["", "  ", NO_TEXT])
def test_who_signs_has_a_name(hull, capsys, who):
    status, _, err = said(capsys, "log", "sign", "4 port", "--who", who, "--overrule", "so")
    assert status == 2
    assert "is no name" in err


@pytest.mark.parametrize("number", ["9" * 20, "-" + "9" * 20, "0", "-1"])
@pytest.mark.parametrize(
    "before", [["show", "4 port", "--fit"], ["repeat", "4 port", "--fit"], ["compare", "4 port", "--"]]
)
def test_a_fit_number_that_cannot_be(hull, capsys, before, number):
    status, _, err = said(capsys, "log", *before, number)
    assert status == 2
    assert f"no fit {number} of plank 4 port" in err


def test_a_note_of_more_than_a_page_is_refused(hull, capsys):
    long = ["cut", "4 port", "--from", "1in", "--to", "2in", "--depth", "1mm", "--note", "a" * 5000]
    status, _, err = said(capsys, "log", *long)
    assert (status, "at most 4000 letters" in err) == (2, True)


@pytest.mark.parametrize("part", ["=1+1", "+1", "-1", "@sum"])
def test_no_cell_of_the_table_is_a_formula(hull, capsys, part):
    record(measured(-0.5), db_path=hull.db_path, plank=f"4 port {part}", hull=hull)
    _, out, _ = said(capsys, "log", "export", "csv", "--plank", f"4 port {part}")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert {row["part"] for row in rows} == {f"'{part}"}
    # A number below zero is a number still.
    assert {row["past_line_mm"] for row in rows} == {"-0.5"}


@pytest.mark.parametrize("command", [["list"], ["show", "4 port"], ["export", "csv"], ["backup"]])
def test_a_pipe_in_the_place_of_the_record(tmp_path, monkeypatch, capsys, command):
    made_hull(tmp_path, HULL)
    monkeypatch.chdir(tmp_path)
    os.mkfifo(tmp_path / "fitcheck.db")
    status, _, err = said(capsys, "log", *command)
    assert status == 2
    assert "a pipe or a device" in err


def test_reports_of_a_hull_named_with_a_picture_speak_no_warning(hull, capsys):
    with warnings.catch_warnings(record=True) as spoken:
        warnings.simplefilter("always")
        assert said(capsys, "log", "report", "4 port")[0] == 0
        assert said(capsys, "log", "report")[0] == 0
    assert not [one for one in spoken if "Glyph" in str(one.message)]


def test_every_part_of_a_strake_has_a_report_of_its_own(hull, capsys, tmp_path):
    for part in ("fore", "aft"):
        record(measured(0.5), db_path=hull.db_path, plank=f"4 port {part}", hull=hull)
        assert said(capsys, "log", "report", f"4 port {part}")[0] == 0
    assert {path.name for path in tmp_path.glob("*.html")} == {
        "fitcheck-strake-4-port-fore.html",
        "fitcheck-strake-4-port-aft.html",
    }


@given(st.lists(st.text(max_size=60).map(str.strip), min_size=2, max_size=2, unique=True))
def test_no_two_planks_share_a_file_name(parts):
    names = [PlankName(4, "port", part).in_a_file_name() for part in parts]
    assert names[0] != names[1]
    assert all(name.isascii() and "/" not in name and ".." not in name and len(name) < 60 for name in names)


def test_a_study_of_one_person_is_told_in_the_singular(hull, capsys):
    _, _, err = said(capsys, "log", "repeat", "4 port")
    assert "fit 1 of 4 port has 1 person with 1 set of photographs each" in err
