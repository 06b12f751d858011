"""The house: imports go down only, no two files share a name, no room is a circle of rooms."""

from __future__ import annotations

import ast
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from fitcheck.reference.kinds import KINDS

HOUSE = Path(__file__).resolve().parent.parent / "fitcheck"
#: The floors from the ground up; a room may import those before it.
FLOORS = (
    "ground", "picture", "contract", "calibration", "hull", "advice", "reference", "lap", "one_photo", "plank",
    "fitlog", "report", "answering", "page", "cli",
)  # fmt: skip
#: Rooms within rooms, from the ground up.
WITHIN = {
    "lap": (
        "strip",
        "section",
        "past_values",
        "evidence",
        "line",
        "shown",
        "edge",
        "course",
        "square_on",
        "edge_on_band",
        "slit",
        "edge_on",
    ),
    "report": ("drawing", "edge", "gap", "record"),
}


@cache
def modules() -> dict[str, set[str]]:
    """Every module of the house by its dotted name, with what it imports of the house."""
    found = {}
    for path in sorted(HOUSE.rglob("*.py")):
        name = ".".join(path.relative_to(HOUSE).with_suffix("").parts)
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
                node.body = [ast.Pass()]  # names for the reader and the type checker; nothing is imported
        found[name] = {
            node.module.removeprefix("fitcheck.")
            for node in ast.walk(tree)
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("fitcheck.")
        }
    return found


def test_every_room_has_its_floor():
    assert {path.name for path in HOUSE.iterdir() if (path / "__init__.py").exists()} == set(FLOORS)


def test_imports_go_down_only():
    up = [
        f"{name} imports {other}"
        for name, others in modules().items()
        for other in others
        if name != "__init__" and FLOORS.index(other.split(".")[0]) > FLOORS.index(name.split(".")[0])
    ]
    assert not up


@pytest.mark.parametrize("room", WITHIN)
def test_imports_go_down_within_a_room(room):
    order = WITHIN[room]
    up = []
    for name, others in modules().items():
        if not name.startswith(f"{room}.") or name.endswith("__init__"):
            continue
        inner = [other.split(".")[1] for other in others if other.startswith(f"{room}.")]
        up += [f"{name} imports {other}" for other in inner if order.index(other) > order.index(name.split(".")[1])]
    assert not up


def test_no_modules_import_each_other_in_a_circle():
    left = {name: {other for other in others if other != name} for name, others in modules().items()}
    while left:
        free = [name for name, others in left.items() if not others & left.keys()]
        assert free, f"in a circle: {sorted(left)}"
        for name in free:
            del left[name]


def test_the_coverage_factors_stand_once():
    found = [
        path.name
        for path in HOUSE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and node.value in (1.96, 1.645)
    ]
    assert found == ["uncertainty.py"] * 2


def test_what_a_reference_is_is_asked_of_its_kind_and_its_name_is_compared_nowhere():
    """So that a new kind is one entry in ``fitcheck/reference/kinds.py``."""
    named = []
    for path in HOUSE.rglob("*.py"):
        if "reference" in path.relative_to(HOUSE).parts:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            parts = [node.left, *node.comparators] if isinstance(node, ast.Compare) else []
            parts += node.args if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "startswith" else []
            inner = [one for part in parts for one in ast.walk(part) if isinstance(one, ast.Constant)]
            named += [
                f"{path.name}:{one.lineno} {one.value}" for one in inner if one.value in (*KINDS, "rule", "rule-")
            ]
    assert not named


def test_what_is_typed_goes_on_as_typed_fields_not_as_whatever_the_command_has():
    called = [
        f"{path.name}:{node.lineno}"
        for path in HOUSE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("locals", "vars") and not node.args
    ]
    assert not called


def test_no_two_files_share_a_name():
    names = Counter(path.name for path in HOUSE.rglob("*.py") if path.name != "__init__.py")
    assert not [name for name, count in names.items() if count > 1]


def test_the_tests_stand_in_the_rooms_of_what_they_test():
    """A folder of tests is a room of the house, or one of those that serve the whole."""
    tests = Path(__file__).resolve().parent
    rooms = {path.parent.relative_to(tests) for path in tests.rglob("test_*.py")} - {Path()}
    rooms -= {Path(name) for name in ("mutate", "outside", "scenes", "training")}
    assert not [f"{room}" for room in sorted(rooms) if not (HOUSE / room / "__init__.py").exists()]
