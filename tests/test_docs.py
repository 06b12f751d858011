"""The documents against the program they describe: commands, options, codes, words, links and pictures cannot drift."""

from __future__ import annotations

import re
import shlex
import sys
from pathlib import Path

import pytest
import typer

from fitcheck.cli.app import app
from fitcheck.contract.measurement import STATES_WITH_VALUE, STATES_WITHOUT_VALUE
from fitcheck.reference.kinds import reference_kind
from fitcheck.report.drawing.cautions import CAUTIONS

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
SHOWN = re.sub(r"<!--.*?-->", "", README, flags=re.DOTALL)
DECISIONS = ROOT / "docs" / "decisions.md"
DOCUMENTS = [ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md", "docs/commands.md")] + [DECISIONS]
MOST_PICTURE_BYTES = 1_500_000
sys.path.insert(0, str(ROOT / "docs"))

import drawings  # noqa: E402
import make_tables  # noqa: E402


def spoken(text: str) -> str:
    """``text`` with its line breaks taken out."""
    return " ".join(text.split())


def called() -> list[str]:
    """Every command line in running text, as ``fitcheck measure IMG_0001.jpg …``."""
    return [spoken(one) for one in re.findall(r"`(fitcheck [^`]+)`", SHOWN)]


def test_the_readme_holds_just_the_two_commands_as_blocks():
    blocks = re.findall(r"^```.*?\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert [block.strip() for block in blocks] == [
        "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/fitcheck demo",
        "python3 -m venv .venv-test && .venv-test/bin/python -m pip install -q -e '.[test]' "
        "&& .venv-test/bin/python -m tests.check",
    ]
    assert blocks[1].strip() in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_the_tables_made_from_the_program_are_up_to_date():
    assert make_tables.readme(README) == README, "run python docs/make_tables.py"
    page = make_tables.COMMANDS.read_text(encoding="utf-8")
    assert make_tables.commands_page() == page, "run python docs/make_tables.py"


@pytest.mark.parametrize("line", called())
def test_every_command_in_the_readme_can_be_called_so(line):
    words = shlex.split(line)[1:]
    command = typer.main.get_command(app)
    while getattr(command, "commands", None) is not None and words and not words[0].startswith("-"):
        assert words[0] in command.commands, line
        command = command.commands[words.pop(0)]
    if getattr(command, "commands", None) is None and words:
        command.make_context(line, words, resilient_parsing=True)
    known = {name for one in command.params for name in (*one.opts, *one.secondary_opts)}
    assert {word for word in words if word.startswith("--")} <= known | {"--help"}, line


def test_every_option_named_in_the_readme_exists():
    every = {name for _, command in make_tables.commands() for one in command.params for name in one.opts}
    every |= {name for _, command in make_tables.commands() for one in command.params for name in one.secondary_opts}
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", SHOWN))
    assert len(named) > 15
    assert named - every == {"--help"}


@pytest.mark.parametrize("state", [*STATES_WITH_VALUE, *STATES_WITHOUT_VALUE])
def test_every_state_is_explained_and_drawn(state):
    assert re.search(rf"^\| {state} \|", README, re.MULTILINE)
    assert f">{state}</tspan>" in drawings.words()


@pytest.mark.parametrize("caution", CAUTIONS)
def test_the_readme_carries_every_caution_of_the_reports(caution):
    assert caution in spoken(README)


def test_the_references_of_the_readme_are_known():
    table = README.split("### References")[1].split("###")[0]
    kinds = re.findall(
        r"`([^`]+)`", "".join(line.split("|")[1] for line in table.splitlines() if line.startswith("| `"))
    )
    assert len(kinds) == 9
    for kind in kinds:
        reference_kind(kind)  # raises WrongCall for a kind the program does not know


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_links_lead_somewhere(document):
    text = document.read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        assert (document.parent / target).exists(), target


def test_pictures_are_shown_and_small():
    shown = {Path(name).name for name in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)}
    kept = list((ROOT / "docs" / "pictures").iterdir())
    assert shown == {path.name for path in kept}
    assert sum(path.stat().st_size for path in kept) < MOST_PICTURE_BYTES


@pytest.mark.parametrize("name", drawings.DRAWINGS)
def test_drawings_are_those_of_the_script(name):
    assert (ROOT / "docs" / "pictures" / name).read_text(encoding="utf-8") == drawings.DRAWINGS[name]()


@pytest.mark.parametrize("name", ["DEVELOPERS.md", "README.md", "docs/decisions.md"])
def test_files_named_in_running_text_exist(name):
    text = (ROOT / name).read_text(encoding="utf-8")
    named = re.findall(r"`((?:fitcheck|tests|docs)/[\w/.]+)`", text)
    assert [path for path in named if not (ROOT / path).exists()] == []


def test_files_named_without_their_folder_stand_once_in_the_house():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(\w+\.(?:py|html))`", text))
    assert len(named) > 30
    assert [one for one in sorted(named) if len(list((ROOT / "fitcheck").rglob(one))) != 1] == []


def decisions() -> dict[int, str]:
    """The text under every decision's heading, by its number."""
    text = DECISIONS.read_text(encoding="utf-8")
    parts = re.split(r"^### (\d+)\. .+ \(\d{4}-\d\d-\d\d\)$", text, flags=re.MULTILINE)
    return {int(number): spoken(under) for number, under in zip(parts[1::2], parts[2::2], strict=True)}


def said(words: str) -> set[tuple[int, int]]:
    """Which decision says ``words`` of which other one, in pairs."""
    return {
        (number, int(other)) for number, text in decisions().items() for other in re.findall(rf"{words} (\d+)", text)
    }


def test_decisions_are_numbered_and_dated():
    heads = re.findall(r"^### .*$", DECISIONS.read_text(encoding="utf-8"), re.MULTILINE)
    assert len(heads) == len(decisions()) >= 56
    assert list(decisions()) == list(range(1, len(heads) + 1))


@pytest.mark.parametrize(("new", "old"), [("Replaces", "Replaced by"), ("Replaces part of", "Replaced in part by")])
def test_a_decision_that_is_replaced_says_so_and_by_which(new, old):
    assert said(new)
    assert said(new) == {(later, earlier) for earlier, later in said(old)}
    assert all(later > earlier for later, earlier in said(new))


def test_the_short_list_holds_just_the_decisions_in_force():
    listed = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Decisions in force")[1]
    numbers = [int(one) for one in re.findall(r"^- \*\*(\d+)\*\* ", listed, re.MULTILINE)]
    assert sorted(numbers) == sorted(set(decisions()) - {old for _, old in said("Replaces")})
    assert [line for line in listed.splitlines() if len(line) > 125] == []
