"""The options: their help, what was promised of them, and what is refused before anything is measured."""

from __future__ import annotations

import pytest
import typer

from fitcheck.cli.app import app
from fitcheck.cli.main import run
from tests.samples import PLAIN, TEAL


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
    promised = "camera reference thickness lap bevel witness keel stations limit json out units plank"
    pointing = "line-at edge-at reference-at"
    assert {f"--{name}" for name in f"{promised} {pointing}".split()} <= options


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
    monkeypatch.setattr("fitcheck.cli.measure.measure_request", lambda *_: pytest.fail("it was measured"))
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
