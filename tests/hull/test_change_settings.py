"""Settings changed in their file: the value asked for, every other line as it was, and nothing unusable written."""

from __future__ import annotations

import pytest

from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.change_settings import change_settings
from fitcheck.hull.first_file import write_new_hull
from fitcheck.hull.more_strakes import with_strake
from fitcheck.hull.settings_file import load_hull


@pytest.fixture
def path(tmp_path):
    return write_new_hull(tmp_path, name="Invented", strakes=3).path


def changed_lines(path, values):
    before = path.read_text(encoding="utf-8").splitlines()
    change_settings(path, values)
    after = path.read_text(encoding="utf-8").splitlines()
    return [line for line in after if line not in before], [line for line in before if line not in after]


def test_a_setting_in_force_is_changed_and_keeps_its_comment(path):
    new, old = changed_lines(path, {("", "lap"): "7/8in"})
    assert new == ['lap = "7/8in"             # width of the lap']
    assert old == ['lap = "1in"             # width of the lap']
    assert load_hull(path).lap_mm == pytest.approx(22.225)


def test_one_that_stands_as_a_comment_comes_into_force_in_its_place(path):
    new, old = changed_lines(path, {("", "bevel"): "5deg", ("limits", "least_lap"): "3/4in"})
    assert (len(new), len(old)) == (2, 2)
    hull = load_hull(path)
    assert (hull.bevel_deg, hull.limits.least_lap_mm) == (5.0, 19.05)


def test_a_strake_s_own_goes_into_its_block(path):
    change_settings(path, {("strakes 2", "to"): "11ft", ("strakes 2", "thickness"): "3/8in"})
    hull = load_hull(path)
    assert [(one.number, one.to_mm, one.thickness_mm) for one in hull.strakes] == [
        (1, None, None),
        (2, pytest.approx(3352.8), pytest.approx(9.525)),
        (3, None, None),
    ]


def test_what_is_taken_out_is_as_usual_again(path):
    change_settings(path, {("limits", "edge"): None, ("", "bevel"): None})
    assert load_hull(path).limits.edge_mm == pytest.approx(25.4 / 32)
    change_settings(path, {("limits", "edge"): "1/16in"})
    assert load_hull(path).limits.edge_mm == pytest.approx(25.4 / 16)


def test_a_table_that_is_not_there_comes_to_the_end(tmp_path):
    path = tmp_path / "fitcheck.toml"
    path.write_text('name = "Bare"\nlap = "1in"\nthickness = "1/2in"\n', encoding="utf-8")
    change_settings(path, {("limits", "edge"): "1/16in", ("", "fraction"): 16})
    hull = load_hull(path)
    assert (hull.limits.edge_mm, hull.fraction) == (pytest.approx(25.4 / 16), 16)


@pytest.mark.parametrize(
    "values",
    [
        {("", "lap"): "25"},
        {("", "lap"): None},
        {("", "name"): ""},
        {("", "units"): "ell"},
        {("limits", "edge"): "2in"},
        {("strakes 1", "to"): "-1ft"},
    ],
)
def test_what_could_not_be_used_is_not_written(path, values):
    before = path.read_bytes()
    with pytest.raises(WrongCall, match="cannot be used"):
        change_settings(path, values)
    assert path.read_bytes() == before


@pytest.mark.parametrize("name", ['a "b" \\ c', "Øre # two", "[x]", "a\tb", "\x7f"])
def test_any_name_comes_back_as_it_was(path, name):
    change_settings(path, {("", "name"): name})
    assert load_hull(path).name == name


def test_a_value_over_several_lines_is_left_to_its_owner(path):
    text = path.read_text(encoding="utf-8").replace('name = "Invented"', 'name = """\nInvented"""')
    path.write_text(text, encoding="utf-8")
    with pytest.raises(WrongCall, match="written in a way that this cannot change"):
        change_settings(path, {("", "name"): "Other"})
    assert path.read_text(encoding="utf-8") == text


def test_a_strake_more_is_one_more_block_at_the_end(path):
    before = path.read_text(encoding="utf-8")
    with_strake(path, 9)
    assert path.read_text(encoding="utf-8").startswith(before.rstrip())
    assert [one.number for one in load_hull(path).strakes] == [1, 2, 3, 9]
    with pytest.raises(WrongCall, match="twice"):
        with_strake(path, 9)
    assert [one.number for one in load_hull(path).strakes] == [1, 2, 3, 9]
