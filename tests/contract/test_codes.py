"""The list of codes against the program's own text: what is given out is listed, what is listed is given out."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

import pytest

from fitcheck.calibration.match import identity_difference
from fitcheck.contract.codes import BOTH, REFUSALS, WARNINGS, codes_of
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.hull.settings_file import load_hull
from fitcheck.one_photo.edge import warnings_of
from fitcheck.picture.identity import CameraIdentity
from fitcheck.reference.rule.rule import TOLD

HOUSE = Path(__file__).resolve().parents[2] / "fitcheck"
LISTED = frozenset(codes_of(REFUSALS)) | frozenset(codes_of(WARNINGS))
#: What gives a code out, by the name it is called by; the code is its first argument.
GIVERS = ("Reason", "Refused", "left_out")
#: Where a code comes by a name: from a table that a test below looks through, or as an argument handed on.
BY_NAME = {
    "calibration/match.py": "identity_difference",
    "calibration/views.py": "_MIXED, and left_out's own argument",
    "fitlog/signing.py": "_EDGE_WORDS, _LAP_WORDS",
    "ground/refusal.py": "the refusal's own argument",
    "reference/rule/rule.py": "TOLD",
}


def trees() -> dict[str, ast.Module]:
    """Every file of the program, by its place in the house."""
    return {
        path.relative_to(HOUSE).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
        for path in sorted(HOUSE.rglob("*.py"))
    }


def given_out() -> list[tuple[str, str, ast.expr]]:
    """Every call that gives a code out: the file, what is called, and the code's expression."""
    found = []
    for place, tree in trees().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name | ast.Attribute) and node.args:
                name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr
                if name in GIVERS:
                    found.append((place, name, node.args[0]))
    return found


def texts() -> set[str]:
    """Every text in the program, but for the list of codes."""
    return {
        node.value
        for place, tree in trees().items()
        if place != "contract/codes.py"
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def test_every_code_spelled_out_is_listed_as_what_it_is():
    spelled = [(name, code.value) for _, name, code in given_out() if isinstance(code, ast.Constant)]
    assert len(spelled) > 100
    assert sorted({code for _, code in spelled} - LISTED) == []
    refusals = set(codes_of(REFUSALS))
    assert sorted({code for name, code in spelled if name in ("Refused", "left_out")} - refusals) == []


def another_reasons(code: ast.expr) -> bool:
    """Whether it is the code of a reason that was given out before: ``reason.code`` or ``reason["code"]``."""
    if isinstance(code, ast.Subscript):
        return isinstance(code.slice, ast.Constant) and code.slice.value == "code"
    return isinstance(code, ast.Attribute) and code.attr == "code"


def test_a_code_that_is_not_spelled_out_comes_from_where_it_is_known_to():
    others = [
        (place, code)
        for place, _, code in given_out()
        if not isinstance(code, ast.Constant) and not another_reasons(code)
    ]
    assert {place for place, _ in others} == set(BY_NAME)
    assert [ast.unparse(code) for _, code in others if not isinstance(code, ast.Name)] == []


def test_every_code_of_a_table_is_listed():
    from fitcheck.calibration import views
    from fitcheck.fitlog import signing

    refusals = set(codes_of(REFUSALS))
    assert {mixed for _, mixed in views._MIXED} <= refusals
    assert {row[0] for words in (signing._EDGE_WORDS, signing._LAP_WORDS) for row in words.values()} <= refusals
    assert set(TOLD) <= set(codes_of(WARNINGS))


@pytest.mark.parametrize("name", ["make", "model", "lens", "focal_mm", "focal_35mm_mm", "digital_zoom"])
def test_every_difference_of_two_cameras_is_listed(name):
    one, other = ("a", "b") if name in ("make", "model", "lens") else (4.0, 9.0)
    difference = identity_difference(CameraIdentity(**{name: one}), CameraIdentity(**{name: other}))
    assert difference is not None
    assert difference[0] in set(codes_of(REFUSALS))


def test_every_listed_code_is_used():
    assert sorted(LISTED - texts()) == []


@pytest.mark.parametrize("groups", [REFUSALS, WARNINGS], ids=["refusals", "warnings"])
def test_no_code_is_listed_twice(groups):
    assert [code for code, times in Counter(codes_of(groups)).items() if times > 1] == []


def test_what_is_both_refusal_and_warning_says_so():
    assert set(codes_of(REFUSALS)) & set(codes_of(WARNINGS)) == BOTH


def test_codes_are_words_joined_by_hyphens_and_each_asks_for_something():
    assert [code for code in LISTED if not all(part.isascii() and part.isalnum() for part in code.split("-"))] == []
    assert [group for group in (*REFUSALS, *WARNINGS) if not group.asks or group.asks.endswith(".")] == []


def test_an_unlisted_code_fails_at_once():
    with pytest.raises(AssertionError, match="no-such-code"):
        Reason("no-such-code", "Nothing.")
    with pytest.raises(AssertionError, match="bevel-not-told"):
        Refused("bevel-not-told", "A warning, and no refusal.")


def test_a_lap_that_is_unusual_has_one_code(tmp_path):
    path = tmp_path / "fitcheck.toml"
    path.write_text('name = "Teal"\nlap = "2in"\nthickness = "1/2in"\n', encoding="utf-8")
    told = warnings_of(Settings(reference="id1", thickness_mm=12.7, lap_mm=50.8, bevel_deg=6.0))
    written = load_hull(path).warnings()
    assert [one.code for one in (*told, *written)] == ["lap-unusual"] * 2
    assert [one.text for one in told] == [one.text.replace("fitcheck.toml", "--lap and --thickness") for one in written]
