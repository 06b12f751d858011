"""Settings from what is typed: every option read at the rim, or one plain line that says what is wrong with it."""

from __future__ import annotations

import math

import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.advice.planing.planing_advice import advise
from fitcheck.cli.advice_options import advice_options
from fitcheck.cli.app import app
from fitcheck.cli.main import run
from fitcheck.cli.measure import joined_json
from fitcheck.cli.options import LENGTHS, bevel_of, settings_of, sized, swing_of
from fitcheck.contract.measurement import Measurement, Sample
from fitcheck.ground.lengths import parse_length
from fitcheck.ground.refusal import Reason, WrongCall
from tests.fitlog.made import HULL, made_hull
from tests.samples import PLAIN, TEAL

TOLD = {"reference": "id1", "thickness": "12.7mm", "lap": "1in"}


def tenths(low: float, high: float):
    return st.integers(math.ceil(low * 10), math.floor(high * 10)).map(lambda number: number / 10)


@pytest.mark.parametrize("option", LENGTHS)
@given(data=st.data())
def test_a_length_within_bounds_is_the_setting_and_outside_is_refused(option, data):
    name, least, most = LENGTHS[option]
    size = data.draw(tenths(-10.0, 300.0))
    told = {**TOLD, option: f"{size}mm"}
    lengths = {"thickness": 12.7, "lap": 25.4, "limit": 0.8} | {option: size}
    agree = lengths["lap"] >= lengths["thickness"] and lengths["limit"] < lengths["lap"]
    if least <= size <= most and agree:
        assert getattr(settings_of(told), name) == pytest.approx(size)
        return
    with pytest.raises(WrongCall):
        settings_of(told)


@pytest.mark.parametrize("text", ["1/2in", "0.5in", '1/2"', "12.7mm", "1.27cm", "0-0-4"])
def test_half_an_inch_is_half_an_inch_however_it_is_written(text):
    assert sized("thickness", text, 3.0, 60.0) == pytest.approx(12.7)


@given(tenths(0.0, 30.0), st.sampled_from(["deg", "°", "", " deg"]))
def test_a_bevel_reads_with_and_without_its_unit(angle, unit):
    assert bevel_of(f"{angle}{unit}") == pytest.approx(angle)


@pytest.mark.parametrize("text", ["-1deg", "31deg", "steep", "", "6rad", "nan", "inf", "6deg6"])
def test_a_bevel_that_cannot_be_is_refused(text):
    with pytest.raises(WrongCall):
        bevel_of(text)


@given(st.text(max_size=12))
def test_no_text_for_a_bevel_makes_it_stumble(text):
    try:
        bevel = bevel_of(text)
    except WrongCall:
        return
    assert 0.0 <= bevel <= 30.0


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_a_place_pointed_at_is_read_as_told(u, v):
    settings = settings_of({**TOLD, "line_at": [f"{u},{v}", "10, 20"]})
    assert settings.line_at_px == ((u, v), (10.0, 20.0))
    assert settings.edge_at_px == ()


@pytest.mark.parametrize("text", ["", "10", "10,20,30", "left,20", "10;20", "nan,3", "inf,2"])
def test_a_place_that_is_none_is_refused(text):
    with pytest.raises(WrongCall):
        settings_of({**TOLD, "edge_at": [text]})


@pytest.mark.parametrize("missing", ["reference", "thickness"])
def test_what_is_needed_is_asked_for(missing):
    with pytest.raises(WrongCall, match=f"--{missing} is needed"):
        settings_of({name: text for name, text in TOLD.items() if name != missing})


@pytest.mark.parametrize(
    "wrong", [{"keel": "left"}, {"units": "yd"}, {"fraction": 7}, {"reference": "postcard"}, {"lap": "25.4"}]
)
def test_a_word_that_is_not_known_is_refused(wrong):
    with pytest.raises(WrongCall):
        settings_of(TOLD | wrong)


def test_nothing_told_is_the_programs_own():
    settings = settings_of(TOLD)
    assert settings.limit_mm == pytest.approx(parse_length("1/32in"))
    assert (settings.keel, settings.units, settings.fraction) == ("auto", "in", 32)
    assert settings.bevel() == (6.0, 4.0), "an untold bevel is a usual one, widely doubted"
    assert settings_of({**TOLD, "bevel": "6deg"}).bevel() == (6.0, 1.0)


def commands(command, path=()):
    """Every command of the program with its words."""
    inner = getattr(command, "commands", None)
    if inner is None:
        yield path, command
        return
    for name, one in inner.items():
        yield from commands(one, (*path, name))


EVERY = {" ".join(path): command for path, command in commands(typer.main.get_command(app))}


@pytest.mark.parametrize("name", sorted(EVERY))
def test_the_help_of_every_command_names_and_explains_every_option(name):
    command = EVERY[name]
    context = typer.Context(command, info_name=f"fitcheck {name}")
    shown = " ".join(command.get_help(context).split())
    assert command.help or command.short_help
    for parameter in command.params:
        if parameter.param_type_name == "argument":
            continue
        assert parameter.opts[0] in shown
        if parameter.name != "help":
            assert parameter.help, f"{name} {parameter.opts[0]} has no word of help"


def test_the_commands_are_those_promised():
    assert {"demo", "print board", "print cards", "calibrate", "measure"} <= set(EVERY)
    options = {option for parameter in EVERY["measure"].params for option in parameter.opts}
    promised = "camera reference thickness lap bevel witness keel stations limit json out units plank line-at edge-at"
    assert {f"--{name}" for name in promised.split()} <= options


def test_several_answers_stand_one_after_another():
    good = Measurement("measured", {"keel": "down"}, samples=(Sample(0.0, 0.1, 0.2, "on"),), photos=({"name": "a"},))
    bad = Measurement("refused", {}, reasons=(Reason("no-line", "No line."),), photos=({"name": "b"},))
    alone, both, none = joined_json([good]), joined_json([bad, good]), joined_json([bad, bad])
    assert "measurements" not in alone
    assert both["state"] == "measured"
    assert [photo["state"] for photo in both["photos"]] == ["refused", "measured"]
    assert [one["state"] for one in both["measurements"]] == ["refused", "measured"]
    assert [reason["code"] for reason in both["reasons"]] == ["no-line"]
    assert none["state"] == "refused"


def test_a_swing_is_told_over_any_length():
    assert swing_of("1mm") == 1.0
    assert swing_of("1/8in over 10ft") == pytest.approx(25.4 / 8 / 3.048)
    assert swing_of("3mm over 3m") == pytest.approx(1.0)
    for wrong in ("1/8in over 0in", "1/8in over", "1/8in over ten feet", "over 10ft"):
        with pytest.raises(WrongCall):
            swing_of(wrong)


@pytest.mark.parametrize(
    ("option", "wrong", "choices"),
    [
        ("--ends", "loose", "free or held"),
        ("--prefer", "quick", "least-wood or shallowest"),
        ("--edge-line", "eat", "split, take or leave"),
        ("--may-swing", "1mm over 0in", "1/8in over 10ft"),
        ("--may-slide", "2m", "no plank moves so far"),
    ],
)
def test_a_choice_that_is_none_is_refused_before_anything_is_measured(monkeypatch, capsys, option, wrong, choices):
    monkeypatch.setattr("fitcheck.cli.measure._measure_all", lambda *_: pytest.fail("it was measured"))
    told = ["--camera", str(TEAL), "--reference", "id1", "--thickness", "1/2in", "--lap", "1in"]
    assert run(["measure", str(PLAIN), *told, option, wrong]) == 2
    error = capsys.readouterr().err
    assert option in error
    assert choices in error


def test_no_report_goes_into_the_working_folder_itself(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    for command in ("measure", "gap"):
        told = [str(PLAIN), "--camera", str(TEAL), "--reference", "id1", "--thickness", "1/2in", "--lap", "1in"]
        for folder in ("", "."):
            assert run([command, *told, "--out", folder]) == 2
            assert "--out names no folder" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_swing_told_over_ten_feet_is_the_swing_that_is_allowed():
    told = {"may_slide": None, "ends": "free", "prefer": "least-wood", "edge_line": "split", "hull": None}
    options = advice_options(may_swing="1/8in over 10ft", **told)
    assert options["may_swing_mm_per_m"] == pytest.approx(25.4 / 8 / 3.048)


def test_the_longest_stretch_without_an_answer_is_the_hulls(tmp_path):
    hull = made_hull(tmp_path, HULL.replace("[[strakes]]", '[limits]\nunseen = "30mm"\n\n[[strakes]]', 1))
    told = {"may_slide": None, "may_swing": None, "ends": "free", "prefer": "least-wood", "edge_line": "split"}
    seen = [
        Sample(x, None if 400 <= x <= 450 else 0.1, 0.2, "hidden" if 400 <= x <= 450 else "on")
        for x in range(0, 1000, 5)
    ]
    for options, verdict in (
        (advice_options(**told, hull=hull), "look again"),
        (advice_options(**told, hull=None), "good"),
    ):
        assert advise(seen, limit_mm=0.8, **options)["verdict"] == verdict
